/* What is done to a swing after it was sent: its marks corrected, set aside as not to be counted, given to another
 * student. Each is one edit of the swing's version; whatever was there before stays readable, but for what would tell
 * one student of another. */
#ifndef LEADSIDE_STORE_LESSONS_EDIT_H
#define LEADSIDE_STORE_LESSONS_EDIT_H

#include "store/lessons/swing.h"

#define STORE_EDIT_REASON 2000 /* bytes, at most */

/* What an edit rests on: nothing of it may have changed when it is written. */
struct store_edit_state {
    int64_t version;
    char student_id[UUID_TEXT], lesson_id[UUID_TEXT]; /* lesson_id "" = in none */
};

/* Who edits what, when and why. */
struct store_edit {
    char swing_id[UUID_TEXT];
    struct store_edit_state was;
    int64_t lesson_version; /* of was.lesson_id */
    struct store_edit_note note;
};

/* A document that was the swing's, before the present one or the present one itself. */
struct store_revision {
    char id[UUID_TEXT]; /* "" = the present one, whose bytes are the swing's */
    int64_t number;
    char made_by[UUID_TEXT];
    int64_t created;
    const char *reason;        /* NULL of the first */
    char report_id[UUID_TEXT]; /* the last report that was made of it; "" = it is gone */
    uint8_t document_hash[STORE_HASH];
    size_t document_size;
};

struct store_revision_list {
    struct store_revision *items; /* newest first, without the present one */
    size_t count;
    bool more;
};

struct store_swing_ids {
    char (*items)[UUID_TEXT];
    size_t count;
    bool more;
};

enum store_status store_edit_state(struct store_db *db, const char *swing_id,
                                   struct store_edit_state *out) STORE_CHECKED;

/* Before one of the three below, in the same job. STORE_STALE: the swing or its lesson is not what it was. */
enum store_status store_edit_begin(struct store_db *db, const struct store_edit *edit) STORE_CHECKED;
/* The document of swing (with recorded_at and hash; packed or not) takes the place of the present one, which is kept as
 * a revision. STORE_NOT_FOUND of a marker file. */
enum store_status store_edit_document(struct store_db *db, const struct store_edit *edit,
                                      const struct store_swing *swing) STORE_CHECKED;
/* It counts no longer, or again. */
enum store_status store_edit_void(struct store_db *db, const struct store_edit *edit, bool voided) STORE_CHECKED;
/* To another student, out of its lesson. The reports that were made for the former one, its own and the lesson's, speak
 * of that one's age and pain, or of both: they are gone, and answer (JSON) is what a repeated upload gets. Fixes of the
 * former student that were opened from it stay, and lose it. */
enum store_status store_edit_move(struct store_db *db, const struct store_edit *edit, const char *student_id,
                                  const char *answer) STORE_CHECKED;

/* The lesson's swings that count, oldest first. */
enum store_status store_edit_lesson_swings(struct store_db *db, const char *lesson_id, struct arena *arena,
                                           struct store_swing_ids *out) STORE_CHECKED;
/* STORE_PAGE_MAX at most. */
enum store_status store_revision_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                      struct store_revision_list *out) STORE_CHECKED;
/* The bytes of one of the list's, to be read in pieces. */
struct store_blob store_revision_blob(const struct store_revision *revision);

#endif

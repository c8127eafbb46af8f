/* Swings as they arrived, byte for byte, and every report ever made of a swing or a lesson. */
#ifndef LEADSIDE_STORE_LESSONS_SWING_H
#define LEADSIDE_STORE_LESSONS_SWING_H

#include "store/engine/blob.h"
#include "store/engine/store.h"

/* What was done to a swing after it was sent, by whom and why. */
struct store_edit_note {
    int64_t at; /* 0 = it was not */
    char by[UUID_TEXT];
    const char *reason;
};

struct store_swing {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    char uploaded_by[UUID_TEXT];
    char lesson_id[UUID_TEXT]; /* "" = not part of a lesson */
    int64_t recorded_at, received_at;
    const char *media_type; /* "application/json", "application/c3d", ...; NULL on the way in = the first */
    const char *reading;    /* "leadside.reading/1" of a marker file, kept with its map; NULL of a document */
    size_t reading_size;
    int64_t version, revision; /* reading only, like what follows: see store/lessons/edit.h */
    struct store_edit_note revised, voided, moved;
    const char
        *still; /* in lists alone: the address of a picture, at the top where there is one; NULL = none was sent */
    uint8_t document_hash[STORE_HASH];
    const char *document; /* document or marker file, as sent; NULL in lists */
    size_t document_size; /* filled in lists too */
    const char *packed;   /* on the way in: store_swing_pack; NULL = kept as it is */
    size_t packed_size;
};

struct store_swing_list {
    struct store_swing *items;
    size_t count;
    bool more;
};

/* Of exactly one: a swing or a lesson. */
struct store_report {
    char id[UUID_TEXT];
    char swing_id[UUID_TEXT], lesson_id[UUID_TEXT]; /* one of them "" */
    int64_t standard;                               /* number of the house standard that judged it */
    int64_t created;
    int64_t recorded_at; /* of its swing, on the way in: for the player's own spread */
    const char *json;
    size_t json_size;
    const char *packed; /* on the way in: store_report_pack; NULL = kept as it is */
    size_t packed_size;
    const char *measures; /* packed, to be kept beside it (store_measures_put); NULL = made when first asked for */
    size_t measures_size;
};

/* Makes what is kept smaller, on the caller's thread (of any reader) so that the writer need not; read back, both are
 * what they were. Nothing changes for what is too large, or when memory is short. */
void store_swing_pack(struct store_db *db, struct store_swing *swing, struct arena *arena);
void store_report_pack(struct store_db *db, struct store_report *report, struct arena *arena);

enum store_status store_swing_insert(struct store_db *db, const struct store_swing *swing) STORE_CHECKED;
/* With the document when want_document; without, its reading is there all the same. */
enum store_status store_swing_get(struct store_db *db, const char *id, bool want_document, struct arena *arena,
                                  struct store_swing *out) STORE_CHECKED;
/* The bytes of such a row, to be read in pieces. */
struct store_blob store_swing_blob(const struct store_swing *swing);
/* Whose swing is it? For rights. */
enum store_status store_swing_student(struct store_db *db, const char *id, char student_id[UUID_TEXT]) STORE_CHECKED;
/* Newest first, without documents; voided ones too. */
enum store_status store_swing_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                   struct arena *arena, struct store_swing_list *out) STORE_CHECKED;

/* Adds; never replaces. */
enum store_status store_report_insert(struct store_db *db, const struct store_report *report) STORE_CHECKED;
enum store_status store_report_get(struct store_db *db, const char *id, struct arena *arena,
                                   struct store_report *out) STORE_CHECKED;
/* The newest; of a lesson, as long as one of its swings counts. */
enum store_status store_report_of_swing(struct store_db *db, const char *swing_id, struct arena *arena,
                                        struct store_report *out) STORE_CHECKED;
enum store_status store_report_of_lesson(struct store_db *db, const char *lesson_id, struct arena *arena,
                                         struct store_report *out) STORE_CHECKED;
/* The newest of a swing, or of a lesson, by this version of the standard. */
enum store_status store_report_by_standard(struct store_db *db, bool lesson, const char *id, int64_t standard,
                                           struct arena *arena, struct store_report *out) STORE_CHECKED;

#endif

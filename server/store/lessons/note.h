/* What coaches write about a student. */
#ifndef LEADSIDE_STORE_LESSONS_NOTE_H
#define LEADSIDE_STORE_LESSONS_NOTE_H

#include "store/engine/store.h"

/* Who reads a note: bits. The head and the team always do. */
enum store_note_reader { STORE_NOTE_COACHES = 0, STORE_NOTE_STUDENT = 1, STORE_NOTE_GUARDIAN = 2 };

struct store_note {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    char author[UUID_TEXT];
    const char *text;
    unsigned readers; /* 0 = private to coaches; a note to a junior has STORE_NOTE_GUARDIAN */
    int64_t created;
};

struct store_note_list {
    struct store_note *items;
    size_t count;
    bool more;
};

enum store_status store_note_get(struct store_db *db, const char *id, struct arena *arena,
                                 struct store_note *out) STORE_CHECKED;
enum store_status store_note_insert(struct store_db *db, const struct store_note *note) STORE_CHECKED;
/* What a guardian reads: also all that the student does, whoever the student was called when it was written. */
#define STORE_NOTE_READ_BY_GUARDIAN ((unsigned)STORE_NOTE_STUDENT | STORE_NOTE_GUARDIAN)

/* Newest first; only those with one of the `readers` bits, or all when readers is STORE_NOTE_COACHES. */
enum store_status store_note_list(struct store_db *db, const char *student_id, unsigned readers,
                                  const struct store_page *page, struct arena *arena,
                                  struct store_note_list *out) STORE_CHECKED;

#endif

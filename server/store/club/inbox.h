/* What waits for the coaches of a student: until each of them has said that he has seen it. */
#ifndef LEADSIDE_STORE_CLUB_INBOX_H
#define LEADSIDE_STORE_CLUB_INBOX_H

#include "store/practice/homework.h"

/* The words and the pain stay with the tick; an item goes with its student. */
struct store_inbox {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    const char *kind; /* "comment", "pain" */
    bool urgent;      /* before all else: for the team; for a head where store_inbox_insert says so */
    int64_t created;
    /* Filled on reading alone: */
    const char *student_name;
    struct store_homework_done done; /* id "" = none */
    char drill_id[STORE_SLUG];
    const char *drill_name;
    const char *fault;
    int64_t paused_at; /* the homework's, now */
};

struct store_inbox_list {
    struct store_inbox *items;
    size_t count;
    bool more;
    int64_t waiting; /* all that the account has not seen, this page or not */
};

/* done.id is taken. Urgent for a head too when always_head, or when no coach in use is on the team. */
enum store_status store_inbox_insert(struct store_db *db, const struct store_inbox *item,
                                     bool always_head) STORE_CHECKED;
/* What the account has not seen, urgent first, then newest: of students whose team it is on, or, for a head, of all. */
enum store_status store_inbox_list(struct store_db *db, const char *account_id, bool head,
                                   const struct store_page *page, struct arena *arena,
                                   struct store_inbox_list *out) STORE_CHECKED;
/* Whose it is. */
enum store_status store_inbox_student(struct store_db *db, const char *id, char student_id[UUID_TEXT]) STORE_CHECKED;
/* Seen twice is STORE_OK. */
enum store_status store_inbox_see(struct store_db *db, const char *id, const char *account_id,
                                  int64_t now) STORE_CHECKED;

#endif

/* What waits for the coaches of a student, or for one account alone: until each of them has said that he has seen it.
 */
#ifndef LEADSIDE_STORE_CLUB_INBOX_H
#define LEADSIDE_STORE_CLUB_INBOX_H

#include "store/practice/homework.h"

/* The words and the pain stay with the tick, a note with its hand-over; an item goes with its student and with what it
 * is about. */
struct store_inbox {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    const char
        *kind;   /* "comment", "pain", "handover", "handover_accepted", "handover_declined", "fix_conflict",
                    "fix_changed", "retest_due", "coming_of_age", "of_age", "consent_request", "consent_answered" */
    bool urgent; /* before all else: for the team; for a head where store_inbox_insert says so */
    int64_t created;
    char account_id[UUID_TEXT]; /* for this one alone, on the team or not; "" = for the team. Not read again */
    char by_id[UUID_TEXT];      /* whose doing it is; "" = not said */
    int64_t due_at;             /* shown from then on; 0 = at once */
    char handover_id[UUID_TEXT], fix_id[UUID_TEXT], retest_id[UUID_TEXT]; /* what it is about; "" = not that */
    /* Filled on reading alone: */
    const char *student_name;
    const char *still;               /* the address of the newest picture that may be shown; NULL = none */
    const char *open_fault;          /* what is worked on first; NULL = nothing */
    struct store_homework_done done; /* id "" = none */
    char drill_id[STORE_SLUG];
    const char *drill_name;
    const char *fault;
    int64_t paused_at; /* the homework's, now */
    const char *by_name;
    const char *note;           /* what was said with it between coaches */
    const char *conflicts;      /* of the fix, when that is what it tells; a list as JSON */
    const char *fix_status;     /* now, where it is about a fix itself */
    char request_id[UUID_TEXT]; /* a consent that was asked for; "" = not that */
    const char *scope;
    int64_t asked_at;
    int answered;       /* 1 yes, -1 no, 0 not yet */
    int64_t adult_from; /* where it is about that day; 0 = not */
};

struct store_inbox_list {
    struct store_inbox *items;
    size_t count;
    bool more;
    int64_t waiting; /* all that the account has not seen, this page or not */
};

/* done.id is taken. Urgent for a head too when always_head, or when no coach in use is on the team. Nothing is kept for
 * an account that is gone. What somebody (by_id) tells the team is for the others: nothing is kept when there are none,
 * and it counts as seen by who told it. */
enum store_status store_inbox_insert(struct store_db *db, const struct store_inbox *item,
                                     bool always_head) STORE_CHECKED;
/* What the account has not seen by now, urgent first, then newest: of students whose team it is on, or, for a head, of
 * all; and what is for it alone. */
enum store_status store_inbox_list(struct store_db *db, const char *account_id, bool head, int64_t now,
                                   const struct store_page *page, struct arena *arena,
                                   struct store_inbox_list *out) STORE_CHECKED;
/* About whom it is, and for whom alone ("" = for the team). */
enum store_status store_inbox_whose(struct store_db *db, const char *id, char student_id[UUID_TEXT],
                                    char account_id[UUID_TEXT]) STORE_CHECKED;
/* Seen twice is STORE_OK. */
enum store_status store_inbox_see(struct store_db *db, const char *id, const char *account_id,
                                  int64_t now) STORE_CHECKED;
/* All that tells an account of one hand-over. */
enum store_status store_inbox_see_handover(struct store_db *db, const char *handover_id, const char *account_id,
                                           int64_t now) STORE_CHECKED;

#endif

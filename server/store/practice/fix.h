/* Fixes: faults a coach has decided to work on. At most two are open for a student, each fault once; the second waits
 * until the first has ended, unless a coach says why both run together. */
#ifndef LEADSIDE_STORE_PRACTICE_FIX_H
#define LEADSIDE_STORE_PRACTICE_FIX_H

#include "core/names.h"
#include "store/engine/store.h"

#define STORE_FIX_STATUS_NAMES(X)                                                                                      \
    X(STORE_FIX_OPEN, "open")                                                                                          \
    X(STORE_FIX_CLOSED, "closed")                                                                                      \
    X(STORE_FIX_CHANGED, "changed")

enum store_fix_status { STORE_FIX_STATUS_NAMES(NAMES_ENUM) STORE_FIX_STATUS_COUNT };

const char *store_fix_status_name(enum store_fix_status value);
bool store_fix_status_parse(const char *name, enum store_fix_status *out);

struct store_fix {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    const char *fault; /* core's name of it */
    char opened_by[UUID_TEXT];
    int64_t opened_at;
    enum store_fix_status status;
    int64_t ended_at;     /* 0 while open */
    const char *reason;   /* why opened; then why closed or changed */
    const char *overrule; /* why the coach did not take the suggested first fix; NULL = did */
    char baseline_swing[UUID_TEXT], baseline_lesson[UUID_TEXT]; /* what it is compared with; "" = none */
    bool waits;                                                 /* open, but not yet the student's: another is */
    const char *together;                                       /* why it runs beside another; NULL = it does not */
    const char *conflicts; /* what spoke against it when it was last opened, a list as JSON; NULL = nothing */
    int64_t version;
};

struct store_fix_list {
    struct store_fix *items;
    size_t count;
    bool more;
};

struct store_fix_event {
    int64_t at;
    char account_id[UUID_TEXT];
    enum store_fix_status status;
    const char *reason;
};

struct store_fix_history {
    struct store_fix_event *items;
    size_t count;
    bool more;
};

/* Opens one (status is taken as open) and writes its history. It waits when another is open and together is NULL (waits
 * as given is not looked at). STORE_CONFLICT: two are open already, or this fault is. */
enum store_status store_fix_insert(struct store_db *db, const struct store_fix *fix) STORE_CHECKED;
enum store_status store_fix_get(struct store_db *db, const char *id, struct arena *arena,
                                struct store_fix *out) STORE_CHECKED;
/* Newest first; all states, or open ones alone. */
enum store_status store_fix_list(struct store_db *db, const char *student_id, bool open_only,
                                 const struct store_page *page, struct arena *arena,
                                 struct store_fix_list *out) STORE_CHECKED;
/* Status, reason, overrule, baselines, waits, together, conflicts; ended_at is set to now when it leaves open, to 0
 * when it opens again (which may be STORE_CONFLICT; it then waits when another is open). The one that waited takes the
 * place of the last that ran, its days counted from now. Writes its history as `account_id`, with `why` as the reason
 * of this change (may be NULL). */
enum store_status store_fix_update(struct store_db *db, struct store_fix *fix, const char *why, const char *account_id,
                                   int64_t now) STORE_CHECKED;
/* Drills that stand: of one fix; of all the student's fixes that run now. */
enum store_status store_fix_drills(struct store_db *db, const char *id, int64_t *out) STORE_CHECKED;
enum store_status store_fix_running_drills(struct store_db *db, const char *student_id, int64_t *out) STORE_CHECKED;
/* Oldest first. */
enum store_status store_fix_history(struct store_db *db, const char *id, struct arena *arena,
                                    struct store_fix_history *out) STORE_CHECKED;

#endif

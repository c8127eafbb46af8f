/* Who did what, when: every write leaves a row. The writer refuses a job that changed rows and says nothing here. */
#ifndef LEADSIDE_STORE_CLUB_AUDIT_H
#define LEADSIDE_STORE_CLUB_AUDIT_H

#include "store/engine/store.h"

struct store_audit {
    char id[UUID_TEXT]; /* on the way in: "" = given by the store */
    int64_t at;
    char account_id[UUID_TEXT]; /* "" = the program itself (a command, a purge) */
    const char *action;         /* "student.create", "fix.close", ... */
    const char *object_kind;    /* "account", "student", "fix", "swing", ... */
    char object_id[STORE_SLUG];
    char student_id[UUID_TEXT]; /* whom it concerns; "" = nobody: detail is forgotten when that student is erased */
    const char *detail;         /* JSON or NULL */
};

struct store_audit_list {
    struct store_audit *items;
    size_t count;
    bool more;
};

/* `leadside check` expects a row naming every account, student and fix by object_id. */
enum store_status store_audit_add(struct store_db *db, const struct store_audit *audit) STORE_CHECKED;
/* The same, unless there is a row since `since` of that account doing the same with the same kind of thing of the same
 * student, and for juniors alone. Without a student: unless the account did the same since then. Waives otherwise. */
enum store_status store_audit_add_reading(struct store_db *db, const struct store_audit *audit,
                                          int64_t since) STORE_CHECKED;
/* This job has nothing worth a row (a session seen again, old answers forgotten). */
void store_audit_waive(struct store_db *db);
/* Newest first, heeding from and to: of one account's doing, about one student, or both; NULL = whoever. */
enum store_status store_audit_list(struct store_db *db, const char *account_id, const char *student_id,
                                   const struct store_page *page, struct arena *arena,
                                   struct store_audit_list *out) STORE_CHECKED;

#endif

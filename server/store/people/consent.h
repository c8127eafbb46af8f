/* Who agreed to what for a student, when, and when it was taken back. Every row stays until the student is erased; the
 * newest of a scope is the one that may count. */
#ifndef LEADSIDE_STORE_PEOPLE_CONSENT_H
#define LEADSIDE_STORE_PEOPLE_CONSENT_H

#include "store/engine/store.h"

#define STORE_CONSENT_SCOPES 3
/* "store_pictures", "share_with_club", "teach_with". */
extern const char *const store_consent_scopes[STORE_CONSENT_SCOPES];

struct store_consent {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    const char *scope;
    bool as_junior;      /* was the student a junior when it was recorded? Not stored by insert: the file knows */
    const char *said_by; /* NULL = nobody ever said yes: a no */
    char recorded_by[UUID_TEXT]; /* "" = not known: kept before there were such rows */
    int64_t given_at;            /* 0 = never */
    int64_t expires;             /* 0 = as long as nothing else is said */
    int64_t withdrawn_at;        /* 0 = not */
    char withdrawn_by[UUID_TEXT];
    bool counts; /* reading only: the newest of its scope, standing, and given in this stage of life */
};

struct store_consent_list {
    struct store_consent *items;
    size_t count;
    bool more;
};

/* The newest of its scope from now on. STORE_NOT_FOUND: no such student. */
enum store_status store_consent_insert(struct store_db *db, const struct store_consent *consent) STORE_CHECKED;
/* Newest first, at most STORE_PAGE_MAX. */
enum store_status store_consent_list(struct store_db *db, const char *student_id, struct arena *arena,
                                     struct store_consent_list *out) STORE_CHECKED;
/* Takes the newest of the scope back; its id. STORE_NOT_FOUND when there is none that isn't taken back already. */
enum store_status store_consent_withdraw(struct store_db *db, const char *student_id, const char *scope,
                                         const char *account_id, int64_t now, char id[UUID_TEXT]) STORE_CHECKED;
/* A yes that is asked for; answered with the next consent of the scope that is given or taken back. */
struct store_request {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    const char *scope;
    const char *note; /* for whoever is asked; may be NULL */
    char asked_by[UUID_TEXT];
    int64_t asked_at;
    /* Filled on reading alone: */
    const char *asked_by_name; /* NULL: the account is gone */
    int64_t answered_at;       /* 0 = not yet */
    int answer;                /* 1 yes, -1 no, 0 not yet */
};

struct store_request_list {
    struct store_request *items;
    size_t count;
    bool more;
};

/* STORE_CONFLICT: this scope is asked for already. */
enum store_status store_consent_ask(struct store_db *db, const struct store_request *request) STORE_CHECKED;
/* Newest first, at most STORE_PAGE_MAX. */
enum store_status store_consent_requests(struct store_db *db, const char *student_id, struct arena *arena,
                                         struct store_request_list *out) STORE_CHECKED;
/* May pictures of the student be kept and shown? STORE_NOT_FOUND: no such student. */
enum store_status store_consent_pictures(struct store_db *db, const char *student_id, bool *out) STORE_CHECKED;

#endif

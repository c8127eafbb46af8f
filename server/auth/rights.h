/* Who may do what. Pure: a route says which roles and how far they reach, the caller says how it is related to the
 * student in question, and the answer is one of a few words. */
#ifndef LEADSIDE_AUTH_RIGHTS_H
#define LEADSIDE_AUTH_RIGHTS_H

#include "auth/principal.h"

/* Sets of roles. Zero is no set: a route that forgot to say is refused by rights_declared. */
#define RIGHTS_HEAD (1U << STORE_HEAD)
#define RIGHTS_COACH (1U << STORE_COACH)
#define RIGHTS_STUDENT (1U << STORE_STUDENT)
#define RIGHTS_GUARDIAN (1U << STORE_GUARDIAN)
#define RIGHTS_STAFF (RIGHTS_HEAD | RIGHTS_COACH)
#define RIGHTS_FAMILY (RIGHTS_STUDENT | RIGHTS_GUARDIAN)
#define RIGHTS_EVERYONE (RIGHTS_STAFF | RIGHTS_FAMILY)
#define RIGHTS_NOBODY_SIGNED_IN (1U << STORE_ROLE_COUNT) /* open to the world: sign-in, health, pages */

enum rights_scope {
    RIGHTS_UNSET, /* refused at start */
    RIGHTS_OPEN,  /* no caller needed */
    RIGHTS_CLUB,  /* the role is enough */
    RIGHTS_TEAM,  /* the role, and a membership with the student the request is about */
    RIGHTS_SELF   /* the role, on what belongs to the caller's own account */
};

/* How the caller belongs to a student. */
enum rights_membership { RIGHTS_STRANGER, RIGHTS_OVERSEES, RIGHTS_ON_TEAM, RIGHTS_OWN, RIGHTS_STANDS_FOR };

enum rights_answer {
    RIGHTS_YES,
    RIGHTS_WHO,     /* 401: nobody is signed in */
    RIGHTS_NO,      /* 403: this role may not */
    RIGHTS_HIDDEN,  /* 404: a student the caller does not belong to; existence is not revealed */
    RIGHTS_PASSWORD /* 403: a password somebody else chose must be changed first */
};

/* Do roles and scope fit together (not unset, open exactly when nobody need be signed in)? */
bool rights_declared(unsigned roles, enum rights_scope scope);

/* principal NULL = nobody signed in. membership only matters with RIGHTS_TEAM. while_temporary: the few routes allowed
 * while the password is temporary. Role is judged before the membership, so a role that may not never learns what
 * exists. */
enum rights_answer rights_check(unsigned roles, enum rights_scope scope, const struct principal *principal,
                                enum rights_membership membership, bool while_temporary);

/* Looks the membership up: heads oversee everyone, coaches by team, students by being it, guardians by their links.
 * Does not ask whether the student exists. */
enum store_status rights_find_membership(struct store_db *db, const struct principal *principal, const char *student_id,
                                         enum rights_membership *out) STORE_CHECKED;

#endif

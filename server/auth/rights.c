/* The one decision about who may, and the look-up of the membership it needs. */
#include <string.h>

#include "auth/rights.h"
#include "store/people/student.h"

bool rights_declared(unsigned roles, enum rights_scope scope)
{
    switch (scope) {
    case RIGHTS_OPEN:
        return roles == RIGHTS_NOBODY_SIGNED_IN;
    case RIGHTS_CLUB:
    case RIGHTS_TEAM:
    case RIGHTS_SELF:
        return roles != 0 && (roles & ~RIGHTS_EVERYONE) == 0;
    case RIGHTS_UNSET:
        break;
    }
    return false;
}

/* Is this a membership that this role can have? A guard against a membership looked up for somebody else. */
static bool membership_fits(enum store_role role, enum rights_membership membership)
{
    switch (role) {
    case STORE_HEAD:
        return membership == RIGHTS_OVERSEES;
    case STORE_COACH:
        return membership == RIGHTS_ON_TEAM;
    case STORE_STUDENT:
        return membership == RIGHTS_OWN;
    case STORE_GUARDIAN:
        return membership == RIGHTS_STANDS_FOR;
    case STORE_ROLE_COUNT:
        break;
    }
    return false;
}

enum rights_answer rights_check(unsigned roles, enum rights_scope scope, const struct principal *principal,
                                enum rights_membership membership, bool while_temporary)
{
    if (!rights_declared(roles, scope)) {
        return RIGHTS_NO;
    }
    if (scope == RIGHTS_OPEN) {
        return RIGHTS_YES;
    }
    if (principal == NULL) {
        return RIGHTS_WHO;
    }
    if (principal->role < 0 || principal->role >= STORE_ROLE_COUNT || (roles & (1U << principal->role)) == 0) {
        return RIGHTS_NO;
    }
    if (principal->password_temporary && !while_temporary) {
        return RIGHTS_PASSWORD;
    }
    if (scope == RIGHTS_TEAM && !membership_fits(principal->role, membership)) {
        return RIGHTS_HIDDEN;
    }
    return RIGHTS_YES;
}

enum store_status rights_find_membership(struct store_db *db, const struct principal *principal, const char *student_id,
                                         enum rights_membership *out)
{
    enum store_status status = STORE_NOT_FOUND;
    enum rights_membership membership = RIGHTS_STRANGER;
    *out = RIGHTS_STRANGER;
    switch (principal->role) {
    case STORE_HEAD:
        membership = RIGHTS_OVERSEES;
        status = STORE_OK;
        break;
    case STORE_COACH:
        membership = RIGHTS_ON_TEAM;
        status = store_team_may(db, principal->account_id, student_id);
        break;
    case STORE_STUDENT:
        membership = RIGHTS_OWN;
        if (principal->student_id[0] != '\0' && strcmp(principal->student_id, student_id) == 0) {
            status = STORE_OK;
        }
        break;
    case STORE_GUARDIAN:
        membership = RIGHTS_STANDS_FOR;
        status = store_guardian_may(db, principal->account_id, student_id);
        break;
    case STORE_ROLE_COUNT:
        break;
    }
    if (status == STORE_OK) {
        *out = membership;
    }
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

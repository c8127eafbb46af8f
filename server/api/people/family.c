/* See family.h. */
#include "api/people/family.h"

#include <string.h>

#include "store/people/account.h"

/* The one junior that need not be named. NULL: answered. */
static const char *only_junior(struct call *call)
{
    struct store_id_list juniors;
    const enum store_status status =
        store_guardian_students(call->db, call->principal->account_id, call->arena, &juniors);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return NULL;
    }
    if (juniors.count == 0) {
        exchange_problem(call->exchange, 404, "nobody-to-see", NULL,
                         "You stand for nobody here any more: a guardian's view ends on the child's 18th birthday.");
        return NULL;
    }
    if (juniors.count > 1) {
        exchange_problem(call->exchange, 422, "student-needed", "student", "student: say for whom.");
        return NULL;
    }
    return juniors.items[0];
}

bool family_choose(struct call *call, const char *wanted)
{
    const struct principal *principal = call->principal;
    enum store_status status = STORE_OK;
    if (principal->role == STORE_STUDENT) {
        status = wanted == NULL || strcmp(wanted, principal->student_id) == 0 ? STORE_OK : STORE_NOT_FOUND;
        wanted = principal->student_id;
    } else if (wanted != NULL) {
        status = uuid_valid(wanted) ? store_guardian_may(call->db, principal->account_id, wanted) : STORE_NOT_FOUND;
    } else {
        wanted = only_junior(call);
        if (wanted == NULL) {
            return false;
        }
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    memcpy(call->student_id, wanted, UUID_TEXT);
    return true;
}

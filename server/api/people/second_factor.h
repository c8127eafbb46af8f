/* The second factor where somebody proves who that is: signing in, joining by a link, confirming. */
#ifndef LEADSIDE_API_PEOPLE_SECOND_FACTOR_H
#define LEADSIDE_API_PEOPLE_SECOND_FACTOR_H

#include "api/frame/call.h"

#define SECOND_FACTOR_CODE_MAX 40 /* bytes of a code as typed */

/* Before a code is looked at by the job of a write: is the wait after wrong ones over? Begins a try (call_try_begin),
 * which the write's answer ends. code NULL: nothing to count. False: answered 429. */
bool second_factor_may_try(struct call *call, const char *account_id, const char *code);

/* Inside a job: takes the code where the account has a second factor; STORE_OK at once where it has none. Otherwise a
 * refusal with this status: second-factor-needed (code NULL), wrong-code, or second-factor-unreadable. A recovery code
 * taken leaves a row of its own in the audit. */
enum store_status second_factor_take(struct store_db *db, struct write *write, const char *account_id, const char *code,
                                     int refused) STORE_CHECKED;

#endif

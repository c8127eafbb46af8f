/* An account as it is shown, for /v1/me, sign-in and the list of accounts. */
#ifndef LEADSIDE_API_PEOPLE_ACCOUNT_JSON_H
#define LEADSIDE_API_PEOPLE_ACCOUNT_JSON_H

#include "api/frame/call.h"
#include "store/people/account.h"
#include "wire/json/out.h"

/* The account's fields, inside an open object: id, role, name, sign_in, password_temporary, student_id, students
 * (guardians), disabled, created, version. Never the password. */
enum store_status account_json(struct json_out *out, struct store_db *db, struct arena *arena,
                               const struct store_account *account) STORE_CHECKED;

#endif

/* See account_json.h. */
#include "api/people/account_json.h"

#include "api/frame/answer.h"

enum store_status account_json(struct json_out *out, struct store_db *db, struct arena *arena,
                               const struct store_account *account)
{
    struct store_id_list students = {0};
    if (account->role == STORE_GUARDIAN) {
        enum store_status status = store_guardian_students(db, account->id, arena, &students);
        if (status != STORE_OK) {
            return status;
        }
    }
    json_out_text(out, "id", account->id);
    json_out_text(out, "role", store_role_name(account->role));
    json_out_text(out, "name", account->name);
    json_out_text(out, "sign_in", account->sign_in);
    json_out_bool(out, "password_temporary", account->password_temporary);
    json_out_bool(out, "second_factor", account->second_factor);
    answer_id(out, "student_id", account->student_id);
    if (account->role == STORE_GUARDIAN) {
        json_out_array(out, "students");
        for (size_t i = 0; i < students.count; i++) {
            json_out_text(out, NULL, students.items[i]);
        }
        json_out_end_array(out);
    }
    answer_time(out, "disabled", account->disabled);
    answer_time(out, "created", account->created);
    answer_time(out, "last_seen", account->last_seen);
    answer_integer(out, "version", account->version);
    return STORE_OK;
}

/* Which coaches a student has. Adding and removing twice is the same as once. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/handlers.h"
#include "store/people/account.h"

static enum store_status add_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    struct store_account account;
    enum store_status status = store_account_get(db, id, write->call.arena, &account);
    if (status == STORE_OK && (account.role > STORE_COACH || account.disabled != 0)) {
        return write_refuse(write, 422, "invalid", "account_id",
                            "account_id: only a coach or a head can be on a team.");
    }
    if (status == STORE_OK) {
        status = store_team_add(db, write->call.student_id, id, write->call.now);
    }
    answer_audit(write, "team.add", "account", id, write->call.student_id);
    return status;
}

static enum store_status remove_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    answer_audit(write, "team.remove", "account", id, write->call.student_id);
    return store_team_remove(db, write->call.student_id, id);
}

static void change(struct call *call, enum store_status (*job)(struct store_db *, struct write *))
{
    const char *id = exchange_capture(call->exchange, 1);
    if (id == NULL || !uuid_valid(id)) {
        call_problem_store(call, STORE_NOT_FOUND);
        return;
    }
    struct write *write = write_new(call, job, (void *)id);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}

void team_add(struct call *call)
{
    static const char *const keys[] = {NULL};
    struct body body;
    if (body_begin(&body, call, keys, true) && body_end(&body)) {
        change(call, add_job);
    }
}

void team_remove(struct call *call)
{
    change(call, remove_job);
}

/* Taking a tick back: one's own, for a while. What was told of pain stays: a coach may have acted on it. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/practice/handlers.h"
#include "base/ids.h"
#include "store/practice/homework.h"

#define UNDO_MS ((int64_t)10 * 60 * 1000) /* so long after it arrived */

static enum store_status undo_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    struct store_homework_done done;
    char oldest[UUID_TEXT];
    const enum store_status status = store_homework_done_get(db, id, write->call.arena, &done);
    if (status != STORE_OK) {
        return status;
    }
    if (strcmp(done.homework_id, exchange_capture(write->call.exchange, 0)) != 0 ||
        strcmp(done.account_id, write->call.principal->account_id) != 0) {
        return STORE_NOT_FOUND;
    }
    if (done.pain_area != 0) {
        return write_refuse(write, 409, "tick-told", NULL,
                            "What was told of pain stays. Tell your coach if it was not so.");
    }
    uuid7_least(write->call.now - UNDO_MS, oldest);
    if (strcmp(done.id, oldest) < 0) {
        return write_refuse(write, 409, "tick-kept", NULL, "A tick can be taken back within ten minutes.");
    }
    answer_audit(write, "homework.withdraw", "homework_done", done.id, write->call.student_id);
    return store_homework_done_remove(db, &done);
}

void homework_undo(struct call *call)
{
    char *id = arena_printf(call->arena, "%s", exchange_capture(call->exchange, 1));
    struct write *write = write_new(call, undo_job, id);
    if (write == NULL) {
        return;
    }
    write->status = 204;
    call_write(write);
}

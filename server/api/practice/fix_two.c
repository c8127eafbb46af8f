/* The bounds of two fixes and two drills, what the other coaches are told, and the answer of a write. */
#include "api/practice/fix_two.h"

#include <string.h>

#include "api/practice/fix_write.h"
#include "api/practice/homework_write.h"
#include "store/club/inbox.h"

enum store_status fix_two_answer(struct store_db *db, struct write *write, const char *id, int status)
{
    struct store_fix fix;
    struct json_out out;
    struct store_homework_list homework;
    struct arena *arena = write->call.arena;
    enum store_status result = store_fix_get(db, id, arena, &fix);
    if (result == STORE_OK) {
        result = store_homework_list(db, fix.student_id, false, homework_week_start(write->call.now), NULL, arena,
                                     &homework);
    }
    const struct rules_cache *rules = rules_borrow(write->call.api, db, write->call.rules_edits);
    json_out_start(&out, arena);
    if (result == STORE_OK) {
        result = rules == NULL ? STORE_ERROR : fix_write(&out, db, arena, &fix, &homework, rules->standard, true);
    }
    if (rules != NULL) {
        rules_return(write->call.api, rules);
    }
    if (result != STORE_OK) {
        return result;
    }
    write->etag = fix.version;
    return answer_write(write, &out, status) ? STORE_OK : STORE_NO_MEMORY;
}

enum store_status fix_two_refuse(struct store_db *db, struct write *write, const struct store_fix *fix)
{
    const struct store_page page = {.limit = FIX_DRILLS_MAX + 1};
    struct store_fix_list open;
    const enum store_status status = store_fix_list(db, fix->student_id, true, &page, write->call.arena, &open);
    if (status != STORE_OK) {
        return status;
    }
    for (size_t i = 0; i < open.count; i++) {
        if (strcmp(open.items[i].fault, fix->fault) == 0) {
            return write_refuse(write, 409, "fix-open", "fault", "A fix for this fault is open already: carry on.");
        }
    }
    return write_refuse(write, 409, "two-fixes-open", NULL,
                        "Two fixes are open already. Close or change one of them first.");
}

enum store_status fix_two_fit(struct store_db *db, struct write *write, const char *student_id, int *count,
                              bool may_leave_out)
{
    int64_t running = 0;
    const enum store_status status = store_fix_running_drills(db, student_id, &running);
    const int64_t room = FIX_DRILLS_MAX - running;
    if (status != STORE_OK || *count <= room) {
        return status;
    }
    if (!may_leave_out || room < 1) {
        return write_refuse(write, 409, "too-many-drills", "drills",
                            "At most two drills in all: take one off first, or let this fix wait its turn.");
    }
    *count = (int)room;
    return STORE_OK;
}

enum store_status fix_two_tell(struct store_db *db, const struct write *write, const struct store_fix *fix,
                               const char *kind)
{
    struct store_inbox item = {.kind = kind, .created = write->call.now};
    uuid7_new(item.id);
    memcpy(item.student_id, fix->student_id, UUID_TEXT);
    memcpy(item.by_id, write->call.principal->account_id, UUID_TEXT);
    memcpy(item.fix_id, fix->id, UUID_TEXT);
    return store_inbox_insert(db, &item, false);
}

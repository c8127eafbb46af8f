/* A coach leaves: the students go to others, what lets in ends, and nobody is left behind unseen. All of it in one
 * write.
 */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/handlers.h"
#include "api/people/handover_write.h"
#include "store/people/account.h"
#include "store/people/device.h"

#define HEIRS_MAX 2000

/* student_id "" = for everybody who is not named. */
struct heir {
    char student_id[UUID_TEXT], account_id[UUID_TEXT];
    bool used;
};

struct leaving {
    char id[UUID_TEXT];
    struct heir *heirs;
    int count;
    struct json_out out; /* of the answer: who went to whom */
};

/* The heir of a student: named, or for all; NULL when there is none. */
static struct heir *heir_find(const struct leaving *leaving, const char *student_id)
{
    struct heir *found = NULL;
    for (int i = 0; i < leaving->count; i++) {
        struct heir *heir = &leaving->heirs[i];
        if (strcmp(heir->student_id, student_id) == 0) {
            return heir;
        }
        found = heir->student_id[0] == '\0' ? heir : found;
    }
    return found;
}

static enum store_status heirs_check(struct store_db *db, struct write *write)
{
    const struct leaving *leaving = write->data;
    enum store_status status = STORE_OK;
    for (int i = 0; status == STORE_OK && i < leaving->count; i++) {
        status = strcmp(leaving->heirs[i].account_id, leaving->id) == 0
                     ? write_refuse(write, 422, "no-such-coach", "heirs", "Who leaves is nobody's heir.")
                     : handover_coach(db, write, leaving->heirs[i].account_id, "heirs");
    }
    return status;
}

/* Students whom nobody would have. */
static enum store_status left_refuse(struct write *write, const struct store_left_list *left)
{
    const struct leaving *leaving = write->data;
    struct json_out out;
    size_t length;
    int lacking = 0;
    json_out_start(&out, write->call.arena);
    json_out_array(&out, NULL);
    for (size_t i = 0; i < left->count; i++) {
        if (!left->items[i].covered && heir_find(leaving, left->items[i].id) == NULL) {
            json_out_object(&out, NULL);
            json_out_text(&out, "id", left->items[i].id);
            json_out_text(&out, "name", left->items[i].name);
            json_out_end_object(&out);
            lacking++;
        }
    }
    json_out_end_array(&out);
    if (lacking == 0) {
        return STORE_OK;
    }
    const char *list = json_out_finish(&out, &length);
    write->refused_more = list == NULL ? NULL : arena_printf(write->call.arena, "\"students\":%s", list);
    return write->refused_more == NULL
               ? STORE_NO_MEMORY
               : write_refuse(write, 409, "heirs-needed", "heirs",
                              "These students would have no coach (\"students\"): say who takes each of them.");
}

static enum store_status hand_on(struct store_db *db, struct write *write, const char *student_id, struct heir *heir)
{
    struct leaving *leaving = write->data;
    struct store_handover handover = {
        .created = write->call.now, .status = STORE_HANDOVER_ACCEPTED, .answered_at = write->call.now};
    struct store_audit audit = {.at = write->call.now, .action = "team.add", .object_kind = "account"};
    heir->used = true;
    uuid7_new(handover.id);
    memcpy(handover.student_id, student_id, UUID_TEXT);
    memcpy(handover.from_id, leaving->id, UUID_TEXT);
    memcpy(handover.to_id, heir->account_id, UUID_TEXT);
    memcpy(handover.answered_by, write->call.principal->account_id, UUID_TEXT);
    memcpy(audit.account_id, write->call.principal->account_id, UUID_TEXT);
    memcpy(audit.object_id, heir->account_id, UUID_TEXT);
    memcpy(audit.student_id, student_id, UUID_TEXT);
    enum store_status status = store_team_add(db, student_id, heir->account_id, write->call.now);
    status = status == STORE_OK ? store_handover_insert(db, &handover) : status;
    status =
        status == STORE_OK ? handover_tell(db, write, &handover, "handover", heir->account_id, leaving->id) : status;
    json_out_object(&leaving->out, NULL);
    json_out_text(&leaving->out, "student_id", student_id);
    json_out_text(&leaving->out, "account_id", heir->account_id);
    json_out_end_object(&leaving->out);
    return status == STORE_OK ? store_audit_add(db, &audit) : status;
}

static enum store_status students_hand_on(struct store_db *db, struct write *write)
{
    struct leaving *leaving = write->data;
    struct store_left_list left;
    enum store_status status = store_team_left(db, leaving->id, write->call.arena, &left);
    status = status == STORE_OK ? left_refuse(write, &left) : status;
    for (size_t i = 0; status == STORE_OK && i < left.count; i++) {
        struct heir *heir = heir_find(leaving, left.items[i].id);
        status = heir == NULL ? STORE_OK : hand_on(db, write, left.items[i].id, heir);
    }
    for (int i = 0; status == STORE_OK && i < leaving->count; i++) {
        if (!leaving->heirs[i].used && leaving->heirs[i].student_id[0] != '\0') {
            return write_refuse(write, 422, "not-of-the-team", "heirs",
                                "heirs names a student whose team this coach is not on.");
        }
    }
    return status == STORE_OK ? store_team_leave(db, leaving->id) : status;
}

/* What was offered to who leaves is declined, and whoever offered it hears of it. */
static enum store_status offers_decline(struct store_db *db, struct write *write)
{
    const struct leaving *leaving = write->data;
    struct store_handover_list list = {.more = true};
    enum store_status status = STORE_OK;
    while (status == STORE_OK && list.more) {
        status = store_handover_offered(db, leaving->id, write->call.arena, &list);
        for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
            struct store_handover *offer = &list.items[i];
            offer->status = STORE_HANDOVER_DECLINED;
            offer->answered_at = write->call.now;
            memcpy(offer->answered_by, write->call.principal->account_id, UUID_TEXT);
            status = store_handover_answer(db, offer);
            status = status == STORE_OK
                         ? handover_tell(db, write, offer, "handover_declined", offer->from_id, leaving->id)
                         : status;
        }
    }
    return status;
}

/* Sessions, invitations and feeds go with the account's use; tablets are ended one by one, each on the ledger. */
static enum store_status doors_close(struct store_db *db, struct write *write, struct store_account *account,
                                     int64_t *tablets)
{
    struct store_id_list devices;
    enum store_status status = store_device_enrolled(db, account->id, write->call.arena, &devices);
    for (size_t i = 0; status == STORE_OK && i < devices.count; i++) {
        struct store_device device;
        status = store_device_get(db, devices.items[i], write->call.arena, &device);
        device.revoked = write->call.now;
        status = status == STORE_OK ? store_device_update(db, &device) : status;
    }
    *tablets = status == STORE_OK ? (int64_t)devices.count : 0;
    account->disabled = account->disabled != 0 ? account->disabled : write->call.now;
    return status == STORE_OK ? store_account_update(db, account) : status;
}

static enum store_status leave_job(struct store_db *db, struct write *write)
{
    struct leaving *leaving = write->data;
    struct store_account account;
    int64_t heads = 0;
    int64_t tablets = 0;
    enum store_status status = store_account_get(db, leaving->id, write->call.arena, &account);
    if (status == STORE_OK && account.role > STORE_COACH) {
        return write_refuse(write, 409, "not-a-coach", NULL,
                            "Only a coach or a head leaves so; others are put out of use.");
    }
    json_out_start(&leaving->out, write->call.arena);
    json_out_object(&leaving->out, NULL);
    json_out_text(&leaving->out, "account_id", leaving->id);
    json_out_array(&leaving->out, "students");
    status = status == STORE_OK ? heirs_check(db, write) : status;
    status = status == STORE_OK ? students_hand_on(db, write) : status;
    status = status == STORE_OK ? offers_decline(db, write) : status;
    status = status == STORE_OK ? doors_close(db, write, &account, &tablets) : status;
    status = status == STORE_OK ? store_account_count_heads(db, &heads) : status;
    if (status == STORE_OK && heads == 0) {
        return write_refuse(write, 409, "last-head", NULL, "The last head professional must stay.");
    }
    json_out_end_array(&leaving->out);
    answer_integer(&leaving->out, "devices_ended", tablets);
    json_out_end_object(&leaving->out);
    return status != STORE_OK || answer_write(write, &leaving->out, 200) ? status : STORE_NO_MEMORY;
}

static bool take_heir(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"student_id", "account_id", NULL};
    struct heir *heirs = to;
    struct heir *heir = &heirs[index];
    if (!tree_keys(tree, keys) || !tree_uuid(tree, "student_id", false, heir->student_id) ||
        !tree_uuid(tree, "account_id", true, heir->account_id)) {
        return false;
    }
    for (int i = 0; i < index; i++) {
        if (strcmp(heirs[i].student_id, heir->student_id) == 0) {
            return tree_refuse(tree, "student_id", "has an heir already");
        }
    }
    return true;
}

static bool heirs_read(struct call *call, struct leaving *leaving)
{
    static const char *const keys[] = {"heirs", NULL};
    struct body body;
    if (!body_begin(&body, call, keys, true)) {
        return false;
    }
    (void)tree_list(&body.in, "heirs", true, HEIRS_MAX, NULL, take_heir, leaving->heirs, &leaving->count);
    return body_end(&body);
}

void accounts_leave(struct call *call)
{
    const char *id = exchange_capture(call->exchange, 0);
    struct leaving *leaving = arena_alloc(call->arena, sizeof *leaving);
    if (!uuid_valid(id)) {
        call_problem_store(call, STORE_NOT_FOUND);
        return;
    }
    if (strcmp(id, call->principal->account_id) == 0) {
        exchange_problem(call->exchange, 409, "oneself", NULL,
                         "Nobody takes himself out: another head professional does it.");
        return;
    }
    if (leaving != NULL) {
        leaving->heirs = arena_alloc(call->arena, HEIRS_MAX * sizeof *leaving->heirs);
    }
    if (leaving == NULL || leaving->heirs == NULL) {
        answer_no_memory(call);
        return;
    }
    memcpy(leaving->id, id, UUID_TEXT);
    if (!heirs_read(call, leaving)) {
        return;
    }
    struct write *write = write_new(call, leave_job, leaving);
    if (write != NULL) {
        answer_audit(write, "account.leave", "account", leaving->id, "");
        call_write(write);
    }
}

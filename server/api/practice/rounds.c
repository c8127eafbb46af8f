/* Rounds on the course: a tally of what the ball did, by whoever of the family or the team kept it. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/practice/handlers.h"
#include "core/swing.h"
#include "store/practice/round.h"

#define HOLES_MAX 9
#define SHOTS_MAX 150
#define CLOCK_SLACK_MS ((int64_t)10 * 60 * 1000) /* how far a phone's clock may run ahead */
#define REMOVE_MS (7 * DAY_MS)                   /* so long may who made it take it away again */

struct shot {
    int hole;
    enum flight_side start, curve;
    enum strike strike;
};

struct making {
    struct store_round round;
    struct shot shots[SHOTS_MAX];
};

/* ---- reading ---- */

static bool side_read(struct tree *tree, const char *key, enum flight_side *out)
{
    const char *name = NULL;
    return tree_text_borrow(tree, key, true, 32, &name) &&
           (flight_side_parse(name, out) ||
            tree_refuse(tree, key, "\"%s\" is not left, straight, right or unknown", name));
}

static bool take_shot(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"hole", "start", "curve", "strike", NULL};
    struct making *making = to;
    struct shot *shot = &making->shots[index];
    const char *strike = NULL;
    return tree_keys(tree, keys) && tree_integer(tree, "hole", true, 1, HOLES_MAX, &shot->hole) &&
           side_read(tree, "start", &shot->start) && side_read(tree, "curve", &shot->curve) &&
           tree_text_borrow(tree, "strike", true, 32, &strike) &&
           (strike_parse(strike, &shot->strike) ||
            tree_refuse(tree, "strike", "\"%s\" is not a kind of strike", strike));
}

static bool round_read(struct call *call, struct making *making)
{
    static const char *const keys[] = {"played_at", "shots", NULL};
    struct store_round *round = &making->round;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    round->played_at = call->now;
    if (tree_time(&body.in, "played_at", false, &round->played_at) && round->played_at > call->now + CLOCK_SLACK_MS) {
        (void)tree_refuse(&body.in, "played_at", "lies in the future");
    }
    if (tree_list(&body.in, "shots", true, SHOTS_MAX, "must be a list of up to 150 shots", take_shot, making,
                  &round->count) &&
        round->count == 0) {
        (void)tree_refuse(&body.in, "shots", "a round has one shot at least");
    }
    return body_end(&body);
}

/* ---- writing ---- */

static void shots_write(struct json_out *out, const struct making *making)
{
    json_out_array(out, NULL);
    for (int i = 0; i < making->round.count; i++) {
        const struct shot *shot = &making->shots[i];
        json_out_object(out, NULL);
        answer_integer(out, "hole", shot->hole);
        json_out_text(out, "start", flight_side_name(shot->start));
        json_out_text(out, "curve", flight_side_name(shot->curve));
        json_out_text(out, "strike", strike_name(shot->strike));
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static int holes_of(const struct making *making)
{
    unsigned seen = 0;
    int holes = 0;
    for (int i = 0; i < making->round.count; i++) {
        const unsigned bit = 1U << making->shots[i].hole;
        holes += (seen & bit) == 0;
        seen |= bit;
    }
    return holes;
}

static void round_write(struct json_out *out, const struct store_round *round, bool with_shots)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", round->id);
    json_out_text(out, "student_id", round->student_id);
    json_out_text(out, "made_by", round->made_by);
    answer_time(out, "played_at", round->played_at);
    answer_time(out, "created", round->created);
    answer_integer(out, "holes", round->holes);
    answer_integer(out, "count", round->count);
    if (with_shots) {
        json_out_raw(out, "shots", round->shots, strlen(round->shots));
    }
    json_out_end_object(out);
}

/* ---- the routes ---- */

static enum store_status create_job(struct store_db *db, struct write *write)
{
    const struct making *making = write->data;
    answer_audit(write, "round.create", "round", making->round.id, making->round.student_id);
    return store_round_insert(db, &making->round);
}

void rounds_create(struct call *call)
{
    struct making *making = arena_alloc(call->arena, sizeof *making);
    struct json_out out;
    size_t length = 0;
    if (making == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_round *round = &making->round;
    if (!round_read(call, making)) {
        return;
    }
    uuid7_new(round->id);
    memcpy(round->student_id, call->student_id, UUID_TEXT);
    memcpy(round->made_by, call->principal->account_id, UUID_TEXT);
    round->created = call->now;
    round->holes = holes_of(making);
    json_out_start(&out, call->arena);
    shots_write(&out, making);
    round->shots = json_out_finish(&out, &length);
    struct write *write = round->shots == NULL ? NULL : write_new(call, create_job, making);
    if (write == NULL) {
        if (round->shots == NULL) {
            answer_no_memory(call);
        }
        return;
    }
    write->location = arena_printf(call->arena, "/v1/rounds/%s", round->id);
    json_out_start(&out, call->arena);
    round_write(&out, round, true);
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

void rounds_list(struct call *call)
{
    struct store_page page;
    struct store_round_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    const enum store_status status = store_round_list(call->db, call->student_id, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "rounds")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        round_write(&out, &list.items[i], false);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void rounds_get(struct call *call)
{
    struct store_round round;
    struct json_out out;
    const enum store_status status =
        store_round_get(call->db, exchange_capture(call->exchange, 0), call->arena, &round);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    round_write(&out, &round, true);
    answer_json(call, &out, 0);
}

static enum store_status remove_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    struct store_round round;
    const enum store_status status = store_round_get(db, id, write->call.arena, &round);
    if (status != STORE_OK) {
        return status;
    }
    const struct principal *who = write->call.principal;
    if (who->role != STORE_HEAD && strcmp(round.made_by, who->account_id) != 0) {
        return write_refuse(write, 403, "not-allowed", NULL, "Who kept the round may take it away, and the head.");
    }
    if (who->role != STORE_HEAD && write->call.now - round.created > REMOVE_MS) {
        return write_refuse(write, 409, "round-kept", NULL, "A round can be taken away for a week; then the head can.");
    }
    answer_audit(write, "round.remove", "round", round.id, round.student_id);
    return store_round_remove(db, &round);
}

void rounds_remove(struct call *call)
{
    char *id = arena_printf(call->arena, "%s", exchange_capture(call->exchange, 0));
    struct write *write = write_new(call, remove_job, id);
    if (write == NULL) {
        return;
    }
    write->status = 204;
    call_write(write);
}

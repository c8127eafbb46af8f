/* What would change if the club's standard did: the swings of the last half year judged by the standard in force and by
 * the one that is tried, on a thread for such work. Nothing is stored. */
#include <stdio.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/lessons/scoring.h"
#include "api/lessons/swing_load.h"
#include "core/score.h"
#include "store/lessons/swing.h"
#include "wire/rules/standard_read.h"

#define TRY_DAYS 180
#define TRY_SWINGS_MAX 2000 /* about half a second of one core for documents without motion */
#define TRY_SECONDS 10      /* whatever they are */
#define TRY_PAGE 4          /* documents in memory at once */

struct trial {
    struct call *call; /* the heavy thread's */
    struct standard *tried;
    struct wire_error error; /* why it can't be read */
    bool unread_standard;
    enum store_status status;
    struct json_out out;
    const struct rules_cache *rules;
    struct swing_document document;
    struct report now, then;
    char student_id[UUID_TEXT]; /* whose player this is; "" = nobody's yet */
    struct score_player player;
    int swings, unread, first_changed;
    bool complete;
    int64_t until_ns;
    int present_now[FAULT_COUNT], present_then[FAULT_COUNT], gained[FAULT_COUNT], lost[FAULT_COUNT];
};

/* Ids rise with time: the smallest that could have been given at a moment. */
static void id_at(int64_t ms, char out[UUID_TEXT])
{
    const unsigned long long time = ms < 0 ? 0 : (unsigned long long)ms & 0xffffffffffffULL;
    (void)snprintf(out, UUID_TEXT, "%08llx-%04llx-7000-8000-000000000000", time >> 16, time & 0xffff);
}

static void compare(struct trial *trial)
{
    for (int i = 0; i < FAULT_COUNT; i++) {
        const bool now = trial->now.faults[i].verdict == VERDICT_PRESENT;
        const bool then = trial->then.faults[i].verdict == VERDICT_PRESENT;
        trial->present_now[i] += now;
        trial->present_then[i] += then;
        trial->gained[i] += then && !now;
        trial->lost[i] += now && !then;
    }
    const struct first_fixes *a = &trial->now.fixes;
    const struct first_fixes *b = &trial->then.fixes;
    trial->first_changed += a->count != b->count || (a->count > 0 && a->items[0].fault != b->items[0].fault);
    trial->swings++;
}

static enum store_status judge(struct trial *trial, const struct store_swing *swing, struct arena *arena)
{
    struct wire_error error;
    if (strcmp(trial->student_id, swing->student_id) != 0) {
        struct store_student student;
        const enum store_status status = store_student_get(trial->call->db, swing->student_id, arena, &student);
        if (status != STORE_OK) {
            return status;
        }
        scoring_player(&student, trial->call->now, &trial->player);
        memcpy(trial->student_id, swing->student_id, UUID_TEXT);
    }
    /* Motion takes much more memory than its file: given back after each. */
    struct arena *own = arena_new(0);
    if (own == NULL) {
        return STORE_NO_MEMORY;
    }
    if (swing_load(swing, own, &trial->document, &error)) {
        const struct swing *one[] = {&trial->document.swing};
        score_swings(one, 1, trial->rules->standard, &trial->player, NULL, 0, &trial->now);
        score_swings(one, 1, trial->tried, &trial->player, NULL, 0, &trial->then);
        compare(trial);
    } else {
        trial->unread++;
    }
    arena_free(own);
    return STORE_OK;
}

static bool enough(const struct trial *trial)
{
    return trial->swings >= TRY_SWINGS_MAX || clock_monotonic_ns() >= trial->until_ns ||
           atomic_load(&trial->call->api->refusing);
}

/* One page of documents has its own memory. */
static enum store_status judge_page(struct trial *trial, char after[UUID_TEXT])
{
    const struct store_page page = {.after = after, .limit = TRY_PAGE};
    struct store_swing_list list;
    struct arena *arena = arena_new(0);
    enum store_status status =
        arena == NULL ? STORE_NO_MEMORY : store_swing_list_all(trial->call->db, &page, arena, &list);
    const bool read = status == STORE_OK;
    for (size_t i = 0; status == STORE_OK && i < list.count && !enough(trial); i++) {
        status = judge(trial, &list.items[i], arena);
        memcpy(after, list.items[i].id, UUID_TEXT);
    }
    trial->complete = read && !list.more && !enough(trial);
    if (status == STORE_OK && !list.more) {
        after[0] = '\0';
    }
    arena_free(arena);
    return status;
}

static void trial_write(struct trial *trial, struct json_out *out)
{
    json_out_start(out, trial->call->arena);
    json_out_object(out, NULL);
    json_out_text(out, "tried", trial->tried->version);
    answer_integer(out, "in_force", trial->rules->number);
    answer_integer(out, "days", TRY_DAYS);
    answer_integer(out, "swings", trial->swings);
    answer_integer(out, "unread", trial->unread);
    json_out_bool(out, "complete", trial->complete);
    answer_integer(out, "first_fix_changed", trial->first_changed);
    json_out_array(out, "faults");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (trial->present_now[i] + trial->present_then[i] == 0) {
            continue;
        }
        json_out_object(out, NULL);
        json_out_text(out, "fault", fault_name((enum fault_id)i));
        answer_integer(out, "present_now", trial->present_now[i]);
        answer_integer(out, "present_then", trial->present_then[i]);
        answer_integer(out, "gained", trial->gained[i]);
        answer_integer(out, "lost", trial->lost[i]);
        json_out_end_object(out);
    }
    json_out_end_array(out);
    json_out_end_object(out);
}

/* On a heavy thread. */
static void trial_run(struct call *call, void *data)
{
    size_t length;
    char after[UUID_TEXT];
    struct trial *trial = data;
    const char *body = exchange_body(call->exchange, &length);
    trial->call = call;
    trial->unread_standard = !standard_read(body, length, call->arena, trial->tried, &trial->error);
    if (trial->unread_standard) {
        return;
    }
    trial->until_ns = clock_monotonic_ns() + INT64_C(1000000000) * TRY_SECONDS;
    id_at(call->now - TRY_DAYS * DAY_MS, after);
    while (trial->status == STORE_OK && after[0] != '\0' && !enough(trial)) {
        trial->status = judge_page(trial, after);
    }
    if (trial->status == STORE_OK) {
        trial->status = atomic_load(&call->api->refusing) ? STORE_CLOSED : STORE_OK;
        trial_write(trial, &trial->out);
    }
}

static void trial_reply(struct call *call, enum store_status status, void *data)
{
    struct trial *trial = data;
    status = status == STORE_OK ? trial->status : status;
    rules_return(call->api, trial->rules);
    if (trial->unread_standard) {
        exchange_problem(call->exchange, 422, "invalid-standard", trial->error.path, "%s", trial->error.what);
    } else if (status != STORE_OK) {
        call_problem_store(call, status);
    } else {
        answer_json(call, &trial->out, 0);
    }
}

void standard_try(struct call *call)
{
    struct trial *trial = arena_alloc(call->arena, sizeof *trial);
    if (trial == NULL || (trial->tried = arena_alloc(call->arena, sizeof *trial->tried)) == NULL) {
        answer_no_memory(call);
        return;
    }
    trial->rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (trial->rules == NULL) {
        call_problem_store(call, STORE_ERROR);
    } else if (!call_heavy(call, HEAVY_TRIAL, trial_run, trial_reply, trial, NULL)) {
        rules_return(call->api, trial->rules);
    }
}

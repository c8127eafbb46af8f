/* The range beside the course: what the ball did in stored swings and in rounds, counted by day (core/transfer.h). */
#include "core/transfer.h"

#include <jansson.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/practice/handlers.h"
#include "store/practice/progress.h"
#include "store/practice/round.h"
#include "wire/json/load.h"
#include "wire/report/pack.h"

#define ROUNDS_MAX 20
#define SHOTS_MAX 240 /* of the course; the newest rounds that hold no more */

_Static_assert(STORE_PAGE_MAX + ROUNDS_MAX <= TRANSFER_DAYS_MAX, "a day each, at worst");
_Static_assert(STORE_PAGE_MAX <= COUNTS_ROW_MAX && SHOTS_MAX <= COUNTS_ROW_MAX, "rows that can be tested");

struct gathered {
    struct call *call;
    const struct standard *standard;
    bool left_handed;
    struct transfer_day days[TRANSFER_DAYS_MAX];
    int64_t dates[TRANSFER_DAYS_MAX];
    int count, rounds, swings;
    struct report_kept kept;
};

static struct transfer_day *day_of(struct gathered *all, enum transfer_place place, int64_t at)
{
    const int64_t date = at / DAY_MS;
    for (int i = 0; i < all->count; i++) {
        if (all->days[i].place == place && all->dates[i] == date) {
            return &all->days[i];
        }
    }
    all->dates[all->count] = date;
    all->days[all->count] = (struct transfer_day){.place = place};
    return &all->days[all->count++];
}

/* ---- the course ---- */

static void sides_take(const json_t *of, struct flight_class *out)
{
    const char *start = json_string_value(json_object_get(of, "start"));
    const char *curve = json_string_value(json_object_get(of, "curve"));
    const char *strike = json_string_value(json_object_get(of, "strike"));
    *out = (struct flight_class){.start = FLIGHT_UNKNOWN, .curve = FLIGHT_UNKNOWN, .strike = STRIKE_UNKNOWN};
    (void)(start != NULL && flight_side_parse(start, &out->start));
    (void)(curve != NULL && flight_side_parse(curve, &out->curve));
    (void)(strike != NULL && strike_parse(strike, &out->strike));
}

static enum store_status course_gather(struct gathered *all)
{
    struct call *call = all->call;
    const struct store_page page = {.limit = ROUNDS_MAX};
    struct store_round_list list = {0};
    const enum store_status status = store_round_list(call->db, call->student_id, &page, call->arena, &list);
    int shots = 0;
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        const struct store_round *round = &list.items[i];
        shots += round->count;
        if (shots > SHOTS_MAX) {
            break;
        }
        json_t *root = json_load(round->shots, strlen(round->shots), 0, NULL);
        struct transfer_day *day = day_of(all, TRANSFER_COURSE, round->played_at);
        for (size_t k = 0; k < json_array_size(root); k++) {
            struct flight_class shot;
            sides_take(json_array_get(root, k), &shot);
            transfer_count(day, &shot);
        }
        json_decref(root);
        all->rounds++;
    }
    return status;
}

/* ---- the range ---- */

static enum flight_side turned(enum flight_side side, bool turn)
{
    return !turn ? side : side == FLIGHT_LEFT ? FLIGHT_RIGHT : side == FLIGHT_RIGHT ? FLIGHT_LEFT : side;
}

/* Of a report whose kept numbers don't tell: from its text. */
static enum store_status report_flight(struct gathered *all, const struct store_progress *row, struct flight_class *out)
{
    const char *json = NULL;
    size_t size = 0;
    struct arena *own = arena_new(0);
    const enum store_status status =
        own == NULL ? STORE_NO_MEMORY : store_progress_report(all->call->db, row->report, own, &json, &size);
    json_t *root = status == STORE_OK && json != NULL ? json_load(json, size, 0, NULL) : NULL;
    sides_take(json_object_get(root, "flight"), out);
    json_decref(root);
    arena_free(own);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

/* What was seen of the ball, by eye where it was, else from the numbers; as it was, not as for a right-hander. */
static enum store_status flight_read(struct gathered *all, const struct store_progress *row, struct flight_class *out)
{
    enum store_status status = STORE_OK;
    const struct score_kept *kept = &all->kept.kept;
    *out = (struct flight_class){.start = FLIGHT_UNKNOWN, .curve = FLIGHT_UNKNOWN, .strike = STRIKE_UNKNOWN};
    if (!report_unpack_kept(row->packed, row->packed_size, &all->kept)) {
        status = report_flight(all, row, out);
    } else if (kept->has_flight) {
        *out = flight_classify(&kept->flight, all->standard, kept->club);
        out->curve = kept->flight.curve != FLIGHT_UNKNOWN ? kept->flight.curve : out->curve;
    }
    out->start = turned(out->start, all->left_handed);
    out->curve = turned(out->curve, all->left_handed);
    return status;
}

static enum store_status range_gather(struct gathered *all)
{
    struct call *call = all->call;
    struct store_progress_list list;
    enum store_status status = store_progress_all(call->db, call->student_id, STORE_PAGE_MAX, call->arena, &list);
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        struct flight_class shot;
        status = flight_read(all, &list.items[i], &shot);
        if (shot.start != FLIGHT_UNKNOWN || shot.curve != FLIGHT_UNKNOWN || shot.strike != STRIKE_UNKNOWN) {
            transfer_count(day_of(all, TRANSFER_RANGE, list.items[i].at), &shot);
            all->swings++;
        }
    }
    return status;
}

/* ---- the answer ---- */

static void counts_write(struct json_out *out, const char *key, enum transfer_aspect aspect,
                         const struct counts_row *row)
{
    json_out_object(out, key);
    answer_integer(out, "of", counts_total(row));
    for (int i = 0; transfer_class_name(aspect, i) != NULL; i++) {
        answer_integer(out, transfer_class_name(aspect, i), row->of[i]);
    }
    json_out_end_object(out);
}

static void finding_write(struct json_out *out, enum transfer_aspect aspect, const struct transfer_finding *finding)
{
    json_out_object(out, NULL);
    json_out_text(out, "aspect", transfer_aspect_name(aspect));
    json_out_text(out, "verdict", transfer_verdict_name(finding->verdict));
    for (int place = 0; place < TRANSFER_PLACE_COUNT; place++) {
        counts_write(out, transfer_place_name((enum transfer_place)place), aspect, &finding->counts[place]);
    }
    if (finding->verdict == TRANSFER_TOO_FEW) {
        json_out_null(out, "stands_out");
        json_out_null(out, "difference");
        json_out_null(out, "p");
    } else {
        json_out_text(out, "stands_out", transfer_class_name(aspect, finding->stands_out));
        json_out_object(out, "difference");
        json_out_number(out, "value", finding->difference.value, 3);
        json_out_number(out, "low", finding->difference.low, 3);
        json_out_number(out, "high", finding->difference.high, 3);
        json_out_end_object(out);
        json_out_number(out, "p", finding->p, 4);
    }
    json_out_end_object(out);
}

static void transfer_write(struct json_out *out, const struct gathered *all)
{
    struct transfer transfer;
    transfer_compare(all->days, all->count, &transfer);
    json_out_object(out, NULL);
    json_out_text(out, "verdict", transfer_verdict_name(transfer.verdict));
    json_out_object(out, "needed");
    answer_integer(out, "shots", TRANSFER_SHOTS_MIN);
    answer_integer(out, "days", TRANSFER_DAYS_MIN);
    json_out_end_object(out);
    json_out_object(out, "course");
    answer_integer(out, "rounds", all->rounds);
    answer_integer(out, "days", transfer.days[TRANSFER_COURSE]);
    json_out_end_object(out);
    json_out_object(out, "range");
    answer_integer(out, "swings", all->swings);
    answer_integer(out, "days", transfer.days[TRANSFER_RANGE]);
    json_out_end_object(out);
    json_out_number(out, "same_day", transfer.same_day, 3);
    json_out_array(out, "aspects");
    for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
        finding_write(out, (enum transfer_aspect)a, &transfer.findings[a]);
    }
    json_out_end_array(out);
    json_out_end_object(out);
}

static enum store_status gather(struct gathered *all)
{
    struct store_student student;
    enum store_status status = store_student_get(all->call->db, all->call->student_id, all->call->arena, &student);
    all->left_handed = status == STORE_OK && strcmp(student.hand, "left") == 0;
    status = status == STORE_OK ? course_gather(all) : status;
    return status == STORE_OK ? range_gather(all) : status;
}

void transfer_get(struct call *call)
{
    struct json_out out;
    struct gathered *all = arena_alloc(call->arena, sizeof *all);
    if (all == NULL) {
        answer_no_memory(call);
        return;
    }
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    all->call = call;
    all->standard = rules == NULL ? NULL : rules->standard;
    const enum store_status status = rules == NULL ? STORE_ERROR : gather(all);
    if (rules != NULL) {
        rules_return(call->api, rules);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    transfer_write(&out, all);
    answer_json(call, &out, 0);
}

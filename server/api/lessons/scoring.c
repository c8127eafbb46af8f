/* From a stored student and read documents to a report's text. */
#include "api/lessons/scoring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/answer.h"
#include "core/score.h"
#include "store/lessons/swing.h"
#include "store/practice/progress.h"
#include "wire/report/pack.h"
#include "wire/report/pick.h"
#include "wire/report/player.h"

void scoring_player(const struct store_student *student, int64_t now, struct score_player *out)
{
    const struct player_known known = {.birth_date = student->birth_date,
                                       .birth_year = student->birth_year,
                                       .junior = student->junior,
                                       .sex = student->sex,
                                       .pain = student->pain,
                                       .height_m = {student->has_height, student->height_m}};
    player_score(&known, now, out);
}

bool scoring_start(struct call *call, struct scored_student *out)
{
    const enum store_status status = store_student_get(call->db, call->student_id, call->arena, &out->student);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    scoring_player(&out->student, call->now, &out->player);
    return true;
}

bool scoring_standard_asked(struct call *call, int64_t *out)
{
    const char *asked = exchange_query(call->exchange, "standard");
    *out = asked == NULL ? 0 : call_number(asked);
    if (asked != NULL && *out == 0) {
        exchange_problem(call->exchange, 422, "invalid", "standard", "standard must be the number of a version.");
        return false;
    }
    return true;
}

bool scoring_may_keep(struct call *call, const struct scored_student *scored)
{
    if (scored->student.junior && scored->student.consent_at == 0) {
        exchange_problem(call->exchange, 409, "consent-missing", NULL,
                         "A guardian's consent must be recorded before any swing of a junior is stored.");
        return false;
    }
    return true;
}

/* Swings of one day and one kind of club: a lesson, mostly, with the camera as it stood. */
struct spread_day {
    int64_t day;
    enum club_class club;
    int n[MEASURE_COUNT];
    double sum[MEASURE_COUNT];
};

/* Sums over the reports; what lies between days (learning, a camera set up anew) is no part of the spread. */
struct spread {
    struct spread_day days[SCORING_OWN_SWINGS_MAX + 1];
    int count;
    double squares[MEASURE_COUNT], noise[MEASURE_COUNT];
    enum measure_item items[MEASURE_COUNT]; /* all of them */
};

static struct spread_day *spread_day(struct spread *spread, int64_t day, enum club_class club)
{
    int i = 0;
    while (i < spread->count && (spread->days[i].day != day || spread->days[i].club != club)) {
        i++;
    }
    if (i == spread->count) {
        spread->days[spread->count++] = (struct spread_day){.day = day, .club = club};
    }
    return &spread->days[i];
}

static void spread_add(struct spread *spread, int64_t at, enum club_class club, const struct report_pick *picks)
{
    struct spread_day *day = spread_day(spread, at / DAY_MS, club);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &picks[i].measure;
        if (measure->observed) {
            day->n[i]++;
            day->sum[i] += measure->value;
            spread->squares[i] += measure->value * measure->value;
            spread->noise[i] += measure->sd_random * measure->sd_random;
        }
    }
}

static void spread_text(const char *json, size_t size, int64_t at, unsigned clubs, struct spread *spread)
{
    struct report_pick picks[MEASURE_COUNT];
    enum club_class held;
    if (report_pick(json, size, spread->items, MEASURE_COUNT, picks, &held) && (clubs >> held & 1U)) {
        spread_add(spread, at, held, picks);
    }
}

/* One swing's measures: from what is kept with its report, else, for an older one, from its text. */
static enum store_status spread_read(struct store_db *db, const struct store_progress *row, unsigned clubs,
                                     struct spread *spread)
{
    struct report_pick picks[MEASURE_COUNT];
    enum club_class held;
    const enum report_unpacked answer =
        report_unpack(row->packed, row->packed_size, spread->items, MEASURE_COUNT, picks, &held);
    if (answer == REPORT_UNPACKED && (clubs >> held & 1U)) {
        spread_add(spread, row->at, held, picks);
    }
    if (answer != REPORT_STALE) {
        return STORE_OK;
    }
    const char *json = NULL;
    size_t size = 0;
    struct arena *own = arena_new(0);
    const enum store_status status =
        own == NULL ? STORE_NO_MEMORY : store_progress_report(db, row->report, own, &json, &size);
    if (status == STORE_OK && json != NULL) {
        spread_text(json, size, row->at, clubs, spread);
    }
    arena_free(own);
    return status;
}

/* The player's own sd of a measure; not given where too few swings share a day, or measuring explains all of it: then
 * the standard's figure is the safer one. */
static struct maybe spread_within(const struct spread *spread, int item)
{
    double squares = spread->squares[item];
    int n = 0;
    int free = 0;
    for (int i = 0; i < spread->count; i++) {
        const struct spread_day *day = &spread->days[i];
        if (day->n[item] > 0) {
            n += day->n[item];
            free += day->n[item] - 1;
            squares -= day->sum[item] * day->sum[item] / day->n[item];
        }
    }
    if (free < SCORING_OWN_SWINGS - 1) {
        return (struct maybe){.given = false};
    }
    const double own = squares / free - spread->noise[item] / n;
    return own > 0 ? (struct maybe){.given = true, .value = sqrt(own)} : (struct maybe){.given = false};
}

enum store_status scoring_own_spread(struct store_db *db, struct arena *arena, const char *student_id, unsigned clubs,
                                     const struct store_report *instead, struct score_player *player)
{
    struct store_progress_list list = {.count = 0};
    struct spread *spread = arena_alloc(arena, sizeof *spread);
    enum store_status status =
        spread == NULL ? STORE_NO_MEMORY : store_progress_all(db, student_id, SCORING_OWN_SWINGS_MAX, arena, &list);
    for (int i = 0; i < MEASURE_COUNT && spread != NULL; i++) {
        spread->items[i] = (enum measure_item)i;
    }
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        if (instead == NULL || strcmp(list.items[i].swing_id, instead->swing_id) != 0) {
            status = spread_read(db, &list.items[i], clubs, spread);
        }
    }
    if (status == STORE_OK && instead != NULL && instead->json != NULL) {
        spread_text(instead->json, instead->json_size, instead->recorded_at, clubs, spread);
    }
    if (status != STORE_OK) {
        return status;
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct maybe own = spread_within(spread, i);
        player->spread[i] = own.given ? own : player->spread[i];
    }
    return STORE_OK;
}

/* The report's text and which standard it is by; the rest of the context is filled in. */
static bool report_out(const struct report *report, const struct scored_student *scored,
                       const struct rules_cache *rules, struct report_context *context, struct arena *arena,
                       struct store_report *out)
{
    const char *const note = player_hand_note(scored->student.hand, context->hand);
    context->standard_number = rules->number;
    context->age_years = scored->player.age_years;
    context->pain = scored->player.pain;
    context->notes = &note;
    context->note_count = note == NULL ? 0 : 1;
    out->standard = rules->number;
    out->json =
        report_write(report, rules->standard, rules->drills, rules->drill_count, context, arena, &out->json_size);
    context->notes = NULL;
    context->note_count = 0;
    return out->json != NULL;
}

bool scoring_report(const struct scored_student *scored, const struct rules_cache *rules,
                    struct swing_document *const *documents, int count, struct arena *arena, struct store_report *out)
{
    const struct swing *swings[SCORE_SWINGS_MAX];
    const struct marker_match *markers[SCORE_SWINGS_MAX];
    struct report *report = arena_take(arena, sizeof *report);
    if (report == NULL || count < 1 || count > SCORE_SWINGS_MAX) {
        return false;
    }
    struct report_context context = {
        .hand = documents[0]->swing.hand, .recorded_at = documents[0]->recorded_at, .markers = markers};
    for (int i = 0; i < count; i++) {
        swings[i] = &documents[i]->swing;
        markers[i] = documents[i]->markers;
    }
    score_swings(swings, count, rules->standard, &scored->player, rules->drills, rules->drill_count, report);
    if (!report_out(report, scored, rules, &context, arena, out)) {
        return false;
    }
    out->measures = report_pack(report, count == 1 ? swings[0] : NULL, &context, arena, &out->measures_size);
    return out->measures != NULL;
}

bool scoring_again(const struct scored_student *scored, const struct rules_cache *rules, const struct report_kept *kept,
                   int count, struct arena *arena, struct store_report *out)
{
    const struct score_kept *swings[SCORE_SWINGS_MAX];
    struct report *report = arena_take(arena, sizeof *report);
    struct report_context context = {.hand = kept->hand, .recorded_at = kept->recorded_at};
    if (report == NULL || count < 1 || count > SCORE_SWINGS_MAX) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        swings[i] = &kept[i].kept;
    }
    score_again(swings, count, rules->standard, &scored->player, rules->drills, rules->drill_count, report);
    if (!report_out(report, scored, rules, &context, arena, out)) {
        return false;
    }
    if (count > 1) {
        out->measures = report_pack(report, NULL, &context, arena, &out->measures_size);
    }
    return count == 1 || out->measures != NULL;
}

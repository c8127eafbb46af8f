/* From a stored student and read documents to a report's text. */
#include "api/lessons/scoring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/score.h"
#include "store/lessons/swing.h"
#include "wire/report/pack.h"
#include "wire/report/pick.h"
#include "wire/report/player.h"

void scoring_player(const struct store_student *student, int64_t now, struct score_player *out)
{
    const struct player_known known = {.birth_date = student->birth_date,
                                       .birth_year = student->birth_year,
                                       .junior = student->junior,
                                       .sex = student->sex,
                                       .pain = student->pain};
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

bool scoring_may_keep(struct call *call, const struct scored_student *scored)
{
    if (scored->student.junior && scored->student.consent_at == 0) {
        exchange_problem(call->exchange, 409, "consent-missing", NULL,
                         "A guardian's consent must be recorded before any swing of a junior is stored.");
        return false;
    }
    return true;
}

/* Sums over the reports of one measure. */
struct spread {
    int n;
    double sum, squares, noise;
};

static void spread_read(const struct store_report *report, enum club_class club, struct spread spreads[MEASURE_COUNT])
{
    enum measure_item items[MEASURE_COUNT];
    struct report_pick picks[MEASURE_COUNT];
    enum club_class held;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        items[i] = (enum measure_item)i;
    }
    if (!report_pick(report->json, report->json_size, items, MEASURE_COUNT, picks, &held) || held != club) {
        return;
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &picks[i].measure;
        if (measure->observed) {
            spreads[i].n++;
            spreads[i].sum += measure->value;
            spreads[i].squares += measure->value * measure->value;
            spreads[i].noise += measure->sd_random * measure->sd_random;
        }
    }
}

enum store_status scoring_own_spread(struct store_db *db, struct arena *arena, const char *student_id,
                                     enum club_class club, const struct store_report *instead,
                                     struct score_player *player)
{
    const struct store_page page = {.limit = SCORING_OWN_SWINGS_MAX};
    struct store_report_list list;
    struct spread spreads[MEASURE_COUNT] = {{0}};
    const enum store_status status = store_report_list_student(db, student_id, &page, arena, &list);
    if (status != STORE_OK) {
        return status;
    }
    for (size_t i = 0; i < list.count; i++) {
        if (instead == NULL || strcmp(list.items[i].swing_id, instead->swing_id) != 0) {
            spread_read(&list.items[i], club, spreads);
        }
    }
    if (instead != NULL && instead->json != NULL) {
        spread_read(instead, club, spreads);
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct spread *s = &spreads[i];
        if (s->n < SCORING_OWN_SWINGS) {
            continue;
        }
        const double seen = (s->squares - s->sum * s->sum / s->n) / (s->n - 1);
        const double own = seen - s->noise / s->n;
        if (own > 0) { /* otherwise measuring explains all of it, and the standard's figure is the safer one */
            player->spread[i] = (struct maybe){.given = true, .value = sqrt(own)};
        }
    }
    return STORE_OK;
}

bool scoring_report(const struct scored_student *scored, const struct rules_cache *rules,
                    struct swing_document *const *documents, int count, struct arena *arena, struct store_report *out)
{
    const struct swing *swings[SCORE_SWINGS_MAX];
    const struct marker_match *markers[SCORE_SWINGS_MAX];
    struct report *report = arena_alloc(arena, sizeof *report);
    if (report == NULL || count < 1 || count > SCORE_SWINGS_MAX) {
        return false;
    }
    struct report_context context = {.hand = documents[0]->swing.hand,
                                     .recorded_at = documents[0]->recorded_at,
                                     .standard_number = rules->number,
                                     .age_years = scored->player.age_years,
                                     .pain = scored->player.pain,
                                     .markers = markers};
    const char *const note = player_hand_note(scored->student.hand, context.hand);
    context.notes = &note;
    context.note_count = note == NULL ? 0 : 1;
    for (int i = 0; i < count; i++) {
        swings[i] = &documents[i]->swing;
        markers[i] = documents[i]->markers;
    }
    score_swings(swings, count, rules->standard, &scored->player, rules->drills, rules->drill_count, report);
    out->standard = rules->number;
    out->json =
        report_write(report, rules->standard, rules->drills, rules->drill_count, &context, arena, &out->json_size);
    out->measures = report_pack(report, arena, &out->measures_size);
    return out->json != NULL && out->measures != NULL;
}

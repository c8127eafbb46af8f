/* The invented golfer against the scoring: an independent pose and camera model in, the dialled fault out. */
#include <criterion/criterion.h>

#include "core/score.h"
#include "demo/document.c"
#include "demo/player.c"
#include "wire/rules/standard_read.h"
#include "wire/swing/read.h"

static struct standard standard; /* what judge went by */

static struct swing_document documents[5];

/* Scores `count` swings of one player with marks of noise_px. */
static void judge(const struct demo_player *player, double noise_px, int count, struct report *report)
{
    struct arena *arena = arena_new(0);
    struct demo_random random = {11};
    struct demo_setup setup;
    const struct swing *swings[5];
    demo_setup_usual(&setup);
    setup.noise_px = noise_px;
    for (int i = 0; i < count; i++) {
        struct wire_error error;
        size_t length;
        char *json = demo_document(player, &setup, "2026-05-02T09:14:05Z", &random, arena, &length);
        cr_assert(swing_read(json, length, arena, &documents[i], &error), "%s: %s", error.path, error.what);
        swings[i] = &documents[i].swing;
    }
    standard = *standard_default(arena);
    struct score_player who = {.age_years = -1};
    score_swings(swings, count, &standard, &who, NULL, 0, report);
    arena_free(arena);
}

Test(player, a_sound_swing_shows_no_fault_in_either_hand)
{
    for (int hand = 0; hand < 2; hand++) {
        struct demo_player player;
        struct report report;
        demo_player_sound(&player, 1.75, (enum hand)hand, CLUB_IRON);
        judge(&player, 2.0, 3, &report);
        int judged = 0;
        for (int i = 0; i < FAULT_COUNT; i++) {
            cr_assert_neq(report.faults[i].verdict, VERDICT_PRESENT, "%s", fault_name((enum fault_id)i));
            judged += report.faults[i].verdict == VERDICT_ABSENT;
        }
        cr_assert_geq(judged, 18, "only %d faults could be ruled out", judged);
        cr_assert_eq(report.fixes.count, 0);
    }
}

Test(player, every_dialled_fault_is_found_and_comes_first)
{
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (i == FAULT_BODY_OUT_OF_ORDER) {
            continue; /* pictures can't show it */
        }
        for (int hand = 0; hand < 2; hand++) {
            struct demo_player player;
            struct report report;
            demo_player_sound(&player, 1.75, (enum hand)hand, CLUB_IRON);
            demo_player_dial(&player, (enum fault_id)i, 1.0);
            judge(&player, 2.0, 3, &report);
            cr_assert_eq(report.faults[i].verdict, VERDICT_PRESENT, "%s, hand %d: score %.2f, p %.2f",
                         fault_name((enum fault_id)i), hand, report.faults[i].score, report.faults[i].p);
            if (standard.faults[i].evidence == EVIDENCE_CONTESTED) { /* no ball, and nothing that it explains */
                cr_assert_eq(report.fixes.count, 0, "%s, hand %d", fault_name((enum fault_id)i), hand);
                cr_assert(report.fixes.leave_alone[i], "%s, hand %d", fault_name((enum fault_id)i), hand);
                continue;
            }
            cr_assert_geq(report.fixes.count, 1);
            cr_assert_eq(report.fixes.items[0].fault, (enum fault_id)i, "%s before %s",
                         fault_name(report.fixes.items[0].fault), fault_name((enum fault_id)i));
        }
    }
}

Test(player, measures_come_back_as_dialled)
{
    struct demo_player player;
    struct report report;
    demo_player_sound(&player, 1.80, HAND_LEFT, CLUB_IRON);
    player.plan_back = -12;
    player.plan_down = 9;
    player.cross_top = 10;
    player.spine_tilt = 33;
    judge(&player, 0.0, 1, &report);
    const struct {
        enum measure_item item;
        double value, within;
    } rows[] = {{MEASURE_SHAFT_DIRECTION_SHAFT_BACK, -12, 4},
                {MEASURE_SHAFT_DIRECTION_SHAFT_DOWN, 9, 4},
                {MEASURE_SHAFT_CROSS_TOP, 10, 5},
                {MEASURE_SPINE_TILT_ADDRESS, 33, 3},
                {MEASURE_TEMPO, 3, 0.2},
                {MEASURE_LEAD_ELBOW_BEND_SHAFT_THROUGH, 8, 6}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct measure *measure = &report.measures.items[rows[i].item];
        cr_assert(measure->observed, "%s", measure_info(rows[i].item)->name);
        cr_assert_float_eq(measure->value, rows[i].value, rows[i].within, "%s: %g, dialled %g",
                           measure_info(rows[i].item)->name, measure->value, rows[i].value);
    }
}

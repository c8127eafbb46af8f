/* The motion analysis on a figure that moves by closed formulas: instants, places, speeds, and what it must refuse. */
#include <criterion/criterion.h>

#include "core/measure/measure.h"
#include "core/motion/axes.h"
#include "tests/core/moving_figure.h"

static struct figure figure;
static struct motion_summary summary;

static struct figure *plain(double rate)
{
    figure.rate = rate;
    figure.seconds = 3.2;
    figure.begin = 1.0;
    figure.size = 1.0;
    figure.noise = 0.0;
    figure.practice = 0.0;
    figure.waggle = false;
    return &figure;
}

static bool analyse_record(const struct motion_record *record)
{
    size_t bytes = motion_work_bytes(record);
    void *work = malloc(bytes == 0 ? 1 : bytes);
    memset(work, 0xff, bytes); /* NaN: what lent memory held before must not show */
    bool good = motion_analyse(record, work, &summary);
    free(work);
    return good;
}

static bool analyse(void)
{
    struct motion_record record = figure_view(&figure);
    return analyse_record(&record);
}

static const struct motion_finding *finding(enum motion_issue issue)
{
    for (int i = 0; i < summary.finding_count; i++) {
        if (summary.findings[i].issue == issue) {
            return &summary.findings[i];
        }
    }
    return NULL;
}

/* Instant at which a function of time falls through zero or rises through it, by bisection. */
static double root(double (*f)(double), double a, double b)
{
    bool below = f(a) < 0.0;
    for (int i = 0; i < 60; i++) {
        double m = 0.5 * (a + b);
        *((f(m) < 0.0) == below ? &a : &b) = m;
    }
    return figure.begin + 0.5 * (a + b);
}

static double shaft_height(double t)
{
    struct vec3 p[POINT_COUNT];
    figure_pose(t, t, 1.0, p);
    return p[POINT_CLUBHEAD].y - p[POINT_GRIP].y;
}

static double lead_height(double t)
{
    struct vec3 p[POINT_COUNT];
    figure_pose(t, t, 1.0, p);
    return p[POINT_LEAD_WRIST].y - p[POINT_LEAD_SHOULDER].y;
}

static double trail_height(double t)
{
    struct vec3 p[POINT_COUNT];
    figure_pose(t, t, 1.0, p);
    return p[POINT_TRAIL_WRIST].y - p[POINT_TRAIL_SHOULDER].y;
}

static void near_time(enum checkpoint checkpoint, double expected, double within)
{
    cr_assert(summary.events[checkpoint].found, "%s is not found", checkpoint_name(checkpoint));
    cr_assert(fabs(summary.events[checkpoint].time_s - expected) <= within, "%s: %.4f s, not %.4f",
              checkpoint_name(checkpoint), summary.events[checkpoint].time_s, expected);
}

static void instants_hold(double slack)
{
    double top = FIGURE_TOP, meet = FIGURE_IMPACT;
    near_time(CHECKPOINT_SHAFT_BACK, root(shaft_height, 0.1, 0.6), 0.002 + slack);
    near_time(CHECKPOINT_ARM_BACK, root(lead_height, 0.1, top), 0.002 + slack);
    near_time(CHECKPOINT_TOP, figure.begin + top, 0.012 + slack);
    near_time(CHECKPOINT_ARM_DOWN, root(lead_height, top, meet), 0.002 + slack);
    near_time(CHECKPOINT_SHAFT_DOWN, root(shaft_height, top, meet), 0.002 + slack);
    near_time(CHECKPOINT_IMPACT, figure.begin + meet, 0.0005 + slack);
    near_time(CHECKPOINT_SHAFT_THROUGH, root(shaft_height, meet, meet + 0.12), 0.002 + slack);
    near_time(CHECKPOINT_ARM_THROUGH, root(trail_height, meet, meet + 0.25), 0.003 + slack);
    near_time(CHECKPOINT_FINISH, figure.begin + 1.39, 0.12);
    double late = summary.events[CHECKPOINT_ADDRESS].time_s - figure.begin;
    cr_assert(late > 0.0 && late < 0.15, "the start is %.3f s late", late);
}

Test(motion, finds_every_checkpoint_at_every_rate)
{
    static const double rates[] = {60, 100, 120, 240, 500, 1000};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        figure_record(plain(rates[i]));
        cr_assert(analyse(), "%g Hz", rates[i]);
        cr_assert(summary.has_club && summary.by_impact && summary.swing_count == 1);
        instants_hold(rates[i] < 100 ? 0.006 : 0.0);
        cr_assert_null(finding(MOTION_NO_IMPACT));
    }
}

Test(motion, holds_with_noise_and_for_any_size)
{
    static const double sizes[] = {0.65, 0.8, 1.0, 1.15};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        plain(240)->size = sizes[i];
        figure.noise = 0.0015;
        figure_record(&figure);
        cr_assert(analyse(), "size %g", sizes[i]);
        instants_hold(0.006);
        cr_assert(summary.noise_m > 0.0005 && summary.noise_m < 0.0015, "noise read as %g m", summary.noise_m);
    }
}

Test(motion, plane_and_club)
{
    figure_record(plain(240));
    cr_assert(analyse());
    cr_assert(fabs(summary.plane_slope_deg - FIGURE_SLOPE_DEG) < 0.2, "slope %g", summary.plane_slope_deg);
    cr_assert(fabs(summary.plane_direction_deg) < 0.3, "direction %g", summary.plane_direction_deg);
    cr_assert(summary.plane_rms_m < 0.002);
    cr_assert(fabs(summary.club_length - FIGURE_CLUB) < 0.01, "club %g", summary.club_length);
}

Test(motion, waggles_are_not_the_start)
{
    plain(240)->waggle = true;
    figure.begin = 2.0;
    figure.seconds = 4.2;
    figure_record(&figure);
    cr_assert(analyse());
    instants_hold(0.0);
}

Test(motion, of_two_swings_the_one_that_passes_the_ball_is_taken)
{
    plain(120)->practice = 0.8;
    figure.begin = 4.5;
    figure.seconds = 7.0;
    figure_record(&figure);
    cr_assert(analyse());
    cr_assert(summary.swing_count == 2 && summary.by_impact);
    cr_assert_not_null(finding(MOTION_OTHER_SWINGS));
    instants_hold(0.004);
}

Test(motion, without_a_ball_the_fastest_is_taken_and_said)
{
    plain(120)->practice = 0.8;
    figure.begin = 4.5;
    figure.seconds = 7.0;
    figure_record(&figure);
    struct motion_record record = figure_view(&figure);
    record.at[POINT_BALL] = NULL;
    cr_assert(analyse_record(&record));
    cr_assert(!summary.by_impact && summary.swing_count == 2);
    cr_assert(summary.events[CHECKPOINT_IMPACT].found); /* the clubhead passes where it stood */
}

Test(motion, speeds_peak_in_their_order)
{
    figure_record(plain(240));
    cr_assert(analyse());
    double expected[] = {FIGURE_TOP + 0.16, FIGURE_TOP + 0.21};
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        cr_assert(summary.peaks[s].found, "%s has no peak", motion_segment_name((enum motion_segment)s));
        cr_assert(summary.curve_known[s], "%s has no curve", motion_segment_name((enum motion_segment)s));
    }
    for (int s = MOTION_PELVIS; s <= MOTION_CHEST; s++) {
        cr_assert(fabs(summary.peaks[s].time_s - figure.begin - expected[s]) < 0.008, "%s at %g",
                  motion_segment_name((enum motion_segment)s), summary.peaks[s].time_s);
    }
    /* Minimum jerk: the fastest is 15/8 of the mean. About a trunk that leans, a turn about the upright is less. */
    double pelvis = 110.0 / 0.42 * 1.875, chest = 180.0 / 0.46 * 1.875;
    cr_assert(summary.peaks[MOTION_PELVIS].speed_deg_s < pelvis + 5 &&
              summary.peaks[MOTION_PELVIS].speed_deg_s > 0.8 * pelvis);
    cr_assert(summary.peaks[MOTION_CHEST].speed_deg_s < chest + 5 &&
              summary.peaks[MOTION_CHEST].speed_deg_s > 0.8 * chest);
    cr_assert(summary.peaks[MOTION_PELVIS].time_s < summary.peaks[MOTION_CHEST].time_s);
    cr_assert(fabs(summary.peaks[MOTION_CLUB].speed_deg_s - 510.0 / 0.54 * 1.875) < 60.0);
}

Test(motion, a_pelvis_that_only_turns_away_has_no_peak)
{
    figure_record(plain(240));
    for (int i = 0; i < figure.count; i++) {
        /* Away at 60 deg/s, now faster and now slower: the speed toward the target tops out below zero. */
        double t = i / figure.rate - figure.begin;
        double away = 60.0 * t + 0.5 * sin(2.0 * VEC_PI * 8.0 * t);
        figure.at[POINT_LEAD_HIP][i] = figure_turned(vec_make(0.0, 0.95, -0.12), 0.13, away);
        figure.at[POINT_TRAIL_HIP][i] = figure_turned(vec_make(0.0, 0.95, -0.12), -0.13, away);
    }
    cr_assert(analyse());
    cr_assert(summary.curve_known[MOTION_PELVIS]);
    cr_assert_not(summary.peaks[MOTION_PELVIS].found, "%g deg/s", summary.peaks[MOTION_PELVIS].speed_deg_s);
    cr_assert(summary.peaks[MOTION_CHEST].found && summary.peaks[MOTION_CHEST].speed_deg_s > 0.0);
}

Test(motion, what_is_still_gaining_where_the_search_ends_has_no_peak)
{
    figure_record(plain(240));
    for (int i = 0; i < figure.count; i++) {
        /* The chest turns ever faster until long after impact, with a ripple of its speed on the way down. */
        double t = i / figure.rate - figure.begin;
        double gone = fmax(0.0, t - FIGURE_TOP);
        double ripple = gone < 1.0 / 6.0 ? 3.0 * sin(2.0 * VEC_PI * 6.0 * gone) : 0.0;
        double turn = figure_chest(fmin(t, FIGURE_TOP)) - 60.0 * gone - 600.0 * gone * gone - ripple;
        figure.at[POINT_LEAD_SHOULDER][i] = figure_turned(vec_make(0.0, 1.40, 0.12), 0.19, turn);
        figure.at[POINT_TRAIL_SHOULDER][i] = figure_turned(vec_make(0.0, 1.40, 0.12), -0.19, turn);
    }
    cr_assert(analyse());
    const struct motion_peak *chest = &summary.peaks[MOTION_CHEST];
    cr_assert(!chest->found && chest->late, "told as fastest at %g s, %g deg/s", chest->time_s, chest->speed_deg_s);
    double impact = summary.events[CHECKPOINT_IMPACT].time_s;
    cr_assert(chest->time_s > impact + 0.03 && chest->time_s <= impact + 0.05 + 1.0 / 240);
    cr_assert(summary.peaks[MOTION_PELVIS].found && !summary.peaks[MOTION_PELVIS].late);
}

Test(motion, what_moves_after_the_finish_is_no_follow_through)
{
    figure_record(plain(240));
    cr_assert(analyse());
    cr_assert(summary.events[CHECKPOINT_ARM_THROUGH].found);
    for (int i = 0; i < figure.count; i++) {
        /* The trail hand hangs until the swing is held, and is lifted then: waving, say. */
        double t = i / figure.rate - figure.begin;
        figure.at[POINT_TRAIL_WRIST][i].y = 1.2 + 0.4 * figure_step(t, 1.65, 1.85);
    }
    cr_assert(analyse());
    cr_assert(summary.events[CHECKPOINT_FINISH].found);
    cr_assert(summary.events[CHECKPOINT_FINISH].time_s < figure.begin + 1.65);
    cr_assert_not(summary.events[CHECKPOINT_ARM_THROUGH].found, "at %g, after the finish at %g",
                  summary.events[CHECKPOINT_ARM_THROUGH].time_s, summary.events[CHECKPOINT_FINISH].time_s);
}

Test(motion, measures_come_from_places)
{
    static struct swing swing;
    static struct measure_set set;
    static struct camera_findings findings;
    figure_record(plain(240));
    cr_assert(analyse());
    swing.motion = &summary;
    measure_swing(&swing, &set, &findings);
    const struct {
        enum measure_item item;
        double value, within;
    } rows[] = {{MEASURE_CHEST_TURN_TOP, 90.0, 1.5},           {MEASURE_PELVIS_TURN_TOP, 44.0, 2.5},
                {MEASURE_SPINE_TILT_ADDRESS, 22.55, 0.3},      {MEASURE_SHAFT_DIRECTION_SHAFT_BACK, 0.0, 1.0},
                {MEASURE_SHAFT_CROSS_TOP, 0.0, 1.5},           {MEASURE_SHAFT_DIRECTION_SHAFT_DOWN, 0.0, 1.0},
                {MEASURE_SHAFT_DIRECTION_SHAFT_THROUGH, 0, 1}, {MEASURE_HIPS_TO_BALL_IMPACT, 0.0, 0.003},
                {MEASURE_SPINE_CHANGE_IMPACT, 0.0, 0.5},       {MEASURE_LEAD_ELBOW_BEND_IMPACT, 0.0, 1.0},
                {MEASURE_SHAFT_STEEPNESS_ARM_DOWN, 0, 1.},     {MEASURE_BODY_ORDER, 0.0, 0.0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct measure *m = &set.items[rows[i].item];
        cr_assert(m->observed, "%s is not observed", measure_info(rows[i].item)->name);
        cr_assert(fabs(m->value - rows[i].value) <= rows[i].within, "%s: %g, not %g", measure_info(rows[i].item)->name,
                  m->value, rows[i].value);
        cr_assert_eq(m->source, MEASURE_SOURCE_MOTION);
        cr_assert(measure_sd(m) >= 0.0 && isfinite(measure_sd(m)));
    }
    double tempo = set.items[MEASURE_TEMPO].value;
    cr_assert(tempo > 2.5 && tempo < FIGURE_TOP / (FIGURE_IMPACT - FIGURE_TOP), "tempo %g", tempo);
    cr_assert(set.items[MEASURE_ORDER_BACK].observed && set.items[MEASURE_ORDER_DOWN].observed);
}

Test(motion, without_a_club_nothing_of_it_is_guessed)
{
    static struct swing swing;
    static struct measure_set set;
    static struct camera_findings findings;
    figure_record(plain(120));
    struct motion_record record = figure_view(&figure);
    record.at[POINT_CLUBHEAD] = record.at[POINT_BUTT] = NULL;
    cr_assert(analyse_record(&record));
    cr_assert_not(summary.has_club);
    cr_assert_not_null(finding(MOTION_NO_IMPACT));
    static const enum checkpoint none[] = {CHECKPOINT_SHAFT_BACK, CHECKPOINT_SHAFT_DOWN, CHECKPOINT_IMPACT,
                                           CHECKPOINT_SHAFT_THROUGH};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        cr_assert_not(summary.events[none[i]].found);
    }
    near_time(CHECKPOINT_TOP, figure.begin + FIGURE_TOP, 0.02);
    near_time(CHECKPOINT_ARM_DOWN, root(lead_height, FIGURE_TOP, FIGURE_IMPACT), 0.004);
    swing.motion = &summary;
    measure_swing(&swing, &set, &findings);
    cr_assert_not(set.items[MEASURE_TEMPO].observed);
    cr_assert_not(set.items[MEASURE_SHAFT_CROSS_TOP].observed);
    cr_assert(set.items[MEASURE_CHEST_TURN_TOP].observed && set.items[MEASURE_ORDER_BACK].observed);
}

Test(motion, short_gaps_are_filled_and_long_ones_named)
{
    figure_record(plain(240));
    for (int i = 400; i < 420; i++) {
        figure.seen[POINT_LEAD_WRIST][i] = false; /* 0.083 s */
    }
    cr_assert(analyse());
    cr_assert_null(finding(MOTION_GAP));
    instants_hold(0.004);
    for (int i = 400; i < 450; i++) {
        figure.seen[POINT_LEAD_WRIST][i] = false; /* 0.21 s, over the top */
    }
    cr_assert(analyse());
    cr_assert(finding(MOTION_GAP) != NULL && finding(MOTION_GAP)->point == POINT_LEAD_WRIST);
    cr_assert(fabs(finding(MOTION_GAP)->value - 50.0 / 240) < 0.001);
    cr_assert_not(summary.places[CHECKPOINT_TOP][POINT_LEAD_WRIST].seen);
    cr_assert_not(summary.peaks[MOTION_LEAD_ARM].found);
}

Test(motion, a_record_that_begins_after_the_take_away_has_no_address)
{
    figure_record(plain(120));
    for (double late = 0.25; late < 0.7; late += 0.1) {
        int drop = (int)((figure.begin + late) * figure.rate);
        struct motion_record record = figure_view(&figure);
        for (int k = 0; k < POINT_COUNT; k++) {
            record.at[k] += drop;
            record.seen[k] += drop;
        }
        record.count -= drop;
        cr_assert(analyse_record(&record));
        cr_assert_not(summary.events[CHECKPOINT_ADDRESS].found, "address at %.3f s of a record %.2f s late",
                      summary.events[CHECKPOINT_ADDRESS].time_s, late);
        cr_assert_not_null(finding(MOTION_NO_STILLNESS));
    }
}

Test(motion, repeated_frames_are_gaps)
{
    figure_record(plain(240));
    for (int i = 3; i < figure.count; i += 4) {
        for (int k = 0; k < POINT_COUNT; k++) {
            figure.at[k][i] = figure.at[k][i - 1];
        }
    }
    cr_assert(analyse());
    cr_assert(finding(MOTION_REPEATED) != NULL && fabs(finding(MOTION_REPEATED)->value - 0.25) < 0.06);
    instants_hold(0.004);
}

Test(motion, refuses_what_is_no_swing)
{
    figure_record(plain(240));
    struct motion_record record = figure_view(&figure);
    record.count = 3;
    cr_assert_not(analyse_record(&record));
    cr_assert(finding(MOTION_TOO_SHORT) != NULL && finding(MOTION_TOO_SHORT)->fault);
    static const double rates[] = {0.0, -240.0, 19.9, 2000.5, 1e6, 1e12, INFINITY, NAN};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) { /* the filter's padding is laid out for the range */
        record = figure_view(&figure);
        record.rate_hz = rates[i];
        cr_assert_eq(motion_work_bytes(&record), 0, "%g Hz", rates[i]);
        cr_assert_not(analyse_record(&record), "%g Hz", rates[i]);
        cr_assert(finding(MOTION_TOO_SHORT) != NULL && finding(MOTION_TOO_SHORT)->fault, "%g Hz", rates[i]);
        cr_assert_eq(finding(MOTION_TOO_SHORT)->value, 0.0, "%g Hz", rates[i]);
    }

    record = figure_view(&figure);
    record.count = (int)(0.9 * figure.rate); /* all before the start */
    cr_assert_not(analyse_record(&record));
    cr_assert(finding(MOTION_NO_SWING) != NULL);

    for (int i = 0; i < figure.count; i++) {
        for (int k = 0; k < POINT_COUNT; k++) {
            figure.seen[k][i] = false;
        }
    }
    cr_assert_not(analyse());
    cr_assert(finding(MOTION_NO_HANDS) != NULL);
}

static void turn_all(double x, double z, bool swap)
{
    figure_record(plain(240));
    for (int i = 0; i < figure.count; i++) {
        for (int k = 0; k < POINT_COUNT; k++) {
            figure.at[k][i].x *= x;
            figure.at[k][i].z *= z;
        }
        for (int k = POINT_LEAD_SHOULDER; swap && k < POINT_GRIP; k += 2) {
            struct vec3 p = figure.at[k][i];
            figure.at[k][i] = figure.at[k + 1][i];
            figure.at[k + 1][i] = p;
        }
    }
}

Test(motion, the_ball_is_not_met_before_the_top)
{
    figure_record(plain(240));
    int early = (int)((figure.begin + FIGURE_TOP - 0.02) * figure.rate);
    for (int i = 0; i < figure.count; i++) {
        /* The club is a third of a second ahead of the hands, and the ball lies where it passes before their top. */
        struct vec3 p[POINT_COUNT];
        double t = i / figure.rate - figure.begin;
        figure_pose(t, t + 0.34, figure.size, p);
        figure.at[POINT_CLUBHEAD][i] = p[POINT_CLUBHEAD];
        figure.at[POINT_BUTT][i] = p[POINT_BUTT];
    }
    for (int i = 0; i < figure.count; i++) {
        figure.at[POINT_BALL][i] = figure.at[POINT_CLUBHEAD][early];
    }
    cr_assert(analyse());
    cr_assert(summary.events[CHECKPOINT_TOP].found);
    cr_assert(!summary.events[CHECKPOINT_IMPACT].found ||
                  summary.events[CHECKPOINT_IMPACT].time_s > summary.events[CHECKPOINT_TOP].time_s,
              "impact at %g, top at %g", summary.events[CHECKPOINT_IMPACT].time_s,
              summary.events[CHECKPOINT_TOP].time_s);
}

Test(motion, hands_that_never_come_down_are_no_swing)
{
    figure_record(plain(240));
    for (int i = 0; i < figure.count; i++) {
        /* Up, a stop, up some more, and away sideways above the place of the stop. */
        double t = i / figure.rate - 1.5;
        double up =
            0.3 * figure_step(t, -0.6, -0.05) + 0.2 * figure_step(t, 0.0, 0.12) - 0.1 * figure_step(t, 0.12, 0.3);
        up += 0.2 * fmax(0.0, fmin(t + 0.6, 1.0));
        figure.at[POINT_GRIP][i] = vec_make(3.0 * figure_step(t, 0.12, 0.5), 1.0 + up, 0.5);
    }
    cr_assert_not(analyse());
    cr_assert(finding(MOTION_NO_SWING) != NULL && finding(MOTION_NO_SWING)->fault);
    cr_assert_not(summary.events[CHECKPOINT_TOP].found);
    cr_assert_not(summary.hands_low.found);
}

Test(motion, refuses_a_player_who_stands_wrongly)
{
    turn_all(-1.0, -1.0, false); /* the target lies behind */
    cr_assert_not(analyse());
    cr_assert_not_null(finding(MOTION_FACES_AWAY));
    turn_all(1.0, 1.0, true); /* lead and trail exchanged */
    cr_assert_not(analyse());
    cr_assert_not_null(finding(MOTION_SIDES_SWAPPED));
    turn_all(1.0, -1.0, false); /* a mirrored file */
    cr_assert_not(analyse());
    cr_assert_not_null(finding(MOTION_SIDES_SWAPPED));
    plain(240)->size = 1000.0; /* millimetres taken as metres */
    figure_record(&figure);
    cr_assert_not(analyse());
    cr_assert_not_null(finding(MOTION_NOT_A_BODY));
}

Test(motion, a_marker_off_the_club_is_no_clubhead)
{
    figure_record(plain(240));
    for (int i = 0; i < figure.count; i++) {
        figure.at[POINT_CLUBHEAD][i].y += 0.08 * sin(i * 0.05);
    }
    cr_assert(analyse());
    cr_assert(finding(MOTION_CLUB_LENGTH) != NULL && finding(MOTION_CLUB_LENGTH)->fault);
    cr_assert_not(summary.has_club);
    cr_assert_not(summary.events[CHECKPOINT_SHAFT_DOWN].found);
}

Test(motion, axes_turn_and_mirror)
{
    struct vec3 p[2] = {{1.0, 2.0, 3.0}, {-4.0, 5.0, -6.0}};
    motion_axes_turn((struct motion_axes){LAB_PLUS_Z, LAB_MINUS_Y}, false, p, 2);
    cr_assert(p[0].x == -2.0 && p[0].y == 3.0 && p[0].z == -1.0);
    motion_axes_turn((struct motion_axes){LAB_PLUS_Y, LAB_PLUS_X}, true, p, 2);
    cr_assert(p[0].x == -2.0 && p[0].y == 3.0 && p[0].z == 1.0);
    cr_assert_not(motion_axes_valid((struct motion_axes){LAB_PLUS_Z, LAB_MINUS_Z}));
    figure_record(plain(60));
    struct motion_record record = figure_view(&figure);
    enum lab_axis axis;
    cr_assert(motion_axes_find_up(&record, &axis) && axis == LAB_PLUS_Y);
    cr_assert(motion_axes_hint_target(&record, LAB_PLUS_Y, &axis) && axis == LAB_PLUS_X);
    for (int i = 0; i < LAB_AXIS_COUNT; i++) {
        cr_assert(lab_axis_parse(lab_axis_name((enum lab_axis)i), &axis) && (int)axis == i);
    }
    cr_assert_not(lab_axis_parse("up", &axis));
}

Test(motion, names)
{
    for (int i = 0; i < MOTION_ISSUE_COUNT; i++) {
        cr_assert_not_null(motion_issue_name((enum motion_issue)i));
    }
    cr_assert_null(motion_issue_name(MOTION_ISSUE_COUNT));
    cr_assert_str_eq(motion_segment_name(MOTION_LEAD_ARM), "lead_arm");
    cr_assert_null(motion_segment_name(MOTION_SEGMENT_COUNT));
}

/* The standard's own rules: what is refused, which range applies, how severe a value is. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "tests/core/small_standard.h"

typedef void (*spoil)(struct standard *standard);

static void no_version(struct standard *s)
{
    s->version = NULL;
}
static void nan_limit(struct standard *s)
{
    s->ranges[0].range.ok_low.value = NAN;
}
static void infinite_limit(struct standard *s)
{
    s->ranges[0].range.strong_high.value = INFINITY;
}
static void ok_outside_strong(struct standard *s)
{
    s->ranges[0].range.ok_low.value = -30;
}
static void strong_equals_ok(struct standard *s)
{
    s->ranges[0].range.strong_high.value = 15;
}
static void no_ok(struct standard *s)
{
    s->ranges[0].range = (struct measure_range){.ok_low = {false, 0}};
}
static void double_range(struct standard *s)
{
    s->ranges[s->range_count++] = s->ranges[1];
}
static void no_fallback(struct standard *s)
{
    s->ranges[1].sex = SEX_FEMALE;
}
static void unknown_item(struct standard *s)
{
    s->ranges[1].item = MEASURE_COUNT;
}
static void one_view_index(struct standard *s)
{
    s->ranges[1].item = MEASURE_ORDER_BACK_DTL;
}
static void negative_spread(struct standard *s)
{
    s->spread[3] = -1;
}
static void nan_spread(struct standard *s)
{
    s->spread[3] = NAN;
}
static void importance(struct standard *s)
{
    s->faults[FAULT_INSIDE_TAKEAWAY].importance = 1.1;
}
static void nan_weight(struct standard *s)
{
    s->faults[FAULT_INSIDE_TAKEAWAY].signs[0].weight = NAN;
}
static void no_required(struct standard *s)
{
    s->faults[FAULT_INSIDE_TAKEAWAY].signs[0].required = false;
}
static void blind_side(struct standard *s)
{
    s->ranges[0].range.strong_low.given = false;
}
static void unranged_sign(struct standard *s)
{
    s->faults[FAULT_INSIDE_TAKEAWAY].signs[0].item = MEASURE_TEMPO;
}
static void unknown_cause(struct standard *s)
{
    s->causes[0].to = FAULT_HIPS_SLIDE_AWAY;
}
static void whole_share(struct standard *s)
{
    s->causes[0].share = 1;
}
static void nan_share(struct standard *s)
{
    s->causes[0].share = NAN;
}
static void self_cause(struct standard *s)
{
    s->causes[0].to = FAULT_INSIDE_TAKEAWAY;
}
static void circle(struct standard *s)
{
    s->causes[s->cause_count++] = (struct cause){FAULT_ACROSS_THE_LINE, FAULT_OUTSIDE_TAKEAWAY, 0.1};
    s->causes[s->cause_count++] = (struct cause){FAULT_OUTSIDE_TAKEAWAY, FAULT_INSIDE_TAKEAWAY, 0.1};
}
static void double_cause(struct standard *s)
{
    s->causes[s->cause_count++] = s->causes[0];
}
static void no_flight(struct standard *s)
{
    s->typical[0].curve = FLIGHT_UNKNOWN;
}
static void match(struct standard *s)
{
    s->typical[0].match = 1.5;
}
static void face_share(struct standard *s)
{
    s->face_share[CLUB_CLASS_WEDGE] = 0;
}
static void ease(struct standard *s)
{
    s->ease[STAGE_TOP] = INFINITY;
}
static void threshold(struct standard *s)
{
    s->threshold = 1;
}
static void verdicts(struct standard *s)
{
    s->p_absent = 0.9;
}

Test(standard, what_is_not_sane_is_refused)
{
    static const struct {
        spoil spoil;
        const char *where;
    } rows[] = {
        {no_version, "version"},
        {nan_limit, "ranges"},
        {infinite_limit, "ranges"},
        {ok_outside_strong, "ranges"},
        {strong_equals_ok, "ranges"},
        {no_ok, "ranges"},
        {double_range, "ranges"},
        {no_fallback, "ranges"},
        {unknown_item, "ranges"},
        {one_view_index, "ranges"},
        {negative_spread, "spread"},
        {nan_spread, "spread"},
        {importance, "faults"},
        {nan_weight, "faults"},
        {no_required, "faults"},
        {blind_side, "faults"},
        {unranged_sign, "faults"},
        {unknown_cause, "causes"},
        {whole_share, "causes"},
        {nan_share, "causes"},
        {self_cause, "causes"},
        {circle, "causes"},
        {double_cause, "causes"},
        {no_flight, "ball_flight"},
        {match, "ball_flight"},
        {face_share, "face_share"},
        {ease, "ease"},
        {threshold, "threshold"},
        {verdicts, "verdict"},
    };
    struct standard standard;
    struct standard_error why;
    small_standard(&standard);
    cr_assert(standard_validate(&standard, &why));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        small_standard(&standard);
        rows[i].spoil(&standard);
        why = (struct standard_error){"", 0, ""};
        cr_assert_not(standard_validate(&standard, &why), "row %zu was taken", i);
        cr_assert_str_eq(why.where, rows[i].where, "row %zu: %s", i, why.what);
        cr_assert_gt(strlen(why.what), 0u);
    }
}

Test(standard, the_most_specific_range_wins)
{
    struct standard standard;
    small_standard(&standard);
    const struct range_rule base = standard.ranges[0];
    static const struct {
        enum club_class club;
        enum sex sex;
        enum age_band age;
        double ok_high;
    } added[] = {
        {CLUB_CLASS_WOOD, SEX_ANY, AGE_ANY, 20},       {CLUB_CLASS_ANY, SEX_FEMALE, AGE_ANY, 21},
        {CLUB_CLASS_ANY, SEX_ANY, AGE_JUNIOR, 22},     {CLUB_CLASS_ANY, SEX_FEMALE, AGE_JUNIOR, 23},
        {CLUB_CLASS_WOOD, SEX_FEMALE, AGE_JUNIOR, 24},
    };
    for (size_t i = 0; i < 5; i++) {
        struct range_rule rule = base;
        rule.club = added[i].club;
        rule.sex = added[i].sex;
        rule.age = added[i].age;
        rule.range.ok_high.value = added[i].ok_high;
        standard.ranges[standard.range_count++] = rule;
    }
    cr_assert(standard_validate(&standard, NULL));
    static const struct {
        enum club_class club;
        enum sex sex;
        enum age_band age;
        double ok_high;
    } rows[] = {
        {CLUB_CLASS_ANY, SEX_ANY, AGE_ANY, 15},        {CLUB_CLASS_IRON, SEX_MALE, AGE_ADULT, 15},
        {CLUB_CLASS_WOOD, SEX_MALE, AGE_ADULT, 20},    {CLUB_CLASS_IRON, SEX_FEMALE, AGE_ADULT, 21},
        {CLUB_CLASS_IRON, SEX_MALE, AGE_JUNIOR, 22},   {CLUB_CLASS_IRON, SEX_FEMALE, AGE_JUNIOR, 23},
        {CLUB_CLASS_WOOD, SEX_FEMALE, AGE_JUNIOR, 24}, {CLUB_CLASS_WOOD, SEX_FEMALE, AGE_SENIOR, 20},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct player who = {.club = rows[i].club, .sex = rows[i].sex, .age = rows[i].age};
        const struct judged_range rule = standard_range(&standard, MEASURE_SHAFT_DIRECTION_SHAFT_BACK, &who);
        cr_assert_eq(rule.range.ok_high.value, rows[i].ok_high, "row %zu: %g", i, rule.range.ok_high.value);
    }
}

Test(standard, a_length_goes_by_the_players_height)
{
    static const struct {
        enum age_band age;
        double height; /* 0 = not stated */
        double factor; /* 0 = for adults only */
        enum range_whom whom;
        double sd; /* that the height adds to 0.2 m */
    } rows[] = {{AGE_ADULT, 0, 1, WHOM_ADULTS, .011},    {AGE_ANY, 0, 1, WHOM_ADULTS, .011},
                {AGE_ADULT, 1.72, 1, WHOM_HEIGHT, 0},    {AGE_ADULT, 1.978, 1.15, WHOM_HEIGHT, 0},
                {AGE_SENIOR, 1.548, .9, WHOM_HEIGHT, 0}, {AGE_JUNIOR, 0, 0, WHOM_ADULTS, .011},
                {AGE_JUNIOR, 1.376, .8, WHOM_HEIGHT, 0}, {AGE_JUNIOR, 1.19, 0, WHOM_ADULTS, 0}};
    static const int clubs[CLUB_CLASS_COUNT] = {[CLUB_CLASS_IRON] = 1, [CLUB_CLASS_WEDGE] = 2};
    struct standard standard = {.range_count = 2};
    standard.ranges[0] = (struct range_rule){.item = MEASURE_HANDS_GAP_ADDRESS,
                                             .range = {.ok_low = {true, .08}, .strong_low = {true, .02}},
                                             .evidence = EVIDENCE_PUBLISHED};
    standard.ranges[1] = (struct range_rule){.item = MEASURE_SPINE_TILT_ADDRESS, .range = range_make(18, 30, 45, 58)};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct player who = {.age = rows[i].age, .height_m = {rows[i].height > 0, rows[i].height}};
        const struct judged_range each[] = {standard_range(&standard, MEASURE_HANDS_GAP_ADDRESS, &who),
                                            standard_mean_range(&standard, MEASURE_HANDS_GAP_ADDRESS, clubs, &who)};
        for (int k = 0; k < 2; k++) {
            cr_assert_eq(each[k].given, rows[i].factor > 0, "row %zu", i);
            cr_assert_eq(each[k].adult_only, rows[i].factor == 0, "row %zu", i);
            cr_assert_float_eq(each[k].range.ok_low.value, .08 * rows[i].factor, 1e-12, "row %zu", i);
            cr_assert_float_eq(each[k].range.strong_low.value, .02 * rows[i].factor, 1e-12, "row %zu", i);
            cr_assert(!each[k].range.ok_high.given && each[k].whom == rows[i].whom, "row %zu", i);
        }
        /* carried over to another height it is no longer what was published */
        cr_assert(each[0].whom != WHOM_HEIGHT || each[0].evidence == EVIDENCE_COMMON_PRACTICE, "row %zu", i);
        cr_assert_float_eq(standard_height_sd(MEASURE_HANDS_GAP_ADDRESS, &who, -.2), rows[i].sd, 1e-12, "row %zu", i);
        cr_assert_eq(standard_height_sd(MEASURE_SPINE_TILT_ADDRESS, &who, 40), 0, "row %zu", i);
        const struct judged_range angle = standard_range(&standard, MEASURE_SPINE_TILT_ADDRESS, &who);
        cr_assert(angle.given && angle.range.ok_low.value == 30, "row %zu", i);
        cr_assert_eq(angle.whom, rows[i].age == AGE_JUNIOR || rows[i].age == AGE_SENIOR ? WHOM_GUIDE : WHOM_ADULTS);
    }
    standard.ranges[2] = standard.ranges[0];
    standard.ranges[2].age = AGE_JUNIOR;
    standard.range_count = 3;
    const struct player child = {.age = AGE_JUNIOR, .height_m = {true, 1.3}};
    const struct judged_range own = standard_range(&standard, MEASURE_HANDS_GAP_ADDRESS, &child);
    cr_assert(own.given && own.whom == WHOM_OWN && own.range.ok_low.value == .08,
              "a club's own range for juniors stands");
}

Test(standard, severity_is_linear_between_ok_and_strong)
{
    struct measure_range range = range_make(-25, -6, 15, 40);
    static const struct {
        enum sign_side side;
        double value, severity;
    } rows[] = {
        {SIDE_LOW, 0, 0},   {SIDE_LOW, -6, 0},    {SIDE_LOW, -15.5, 0.5}, {SIDE_LOW, -25, 1}, {SIDE_LOW, -90, 1},
        {SIDE_HIGH, 15, 0}, {SIDE_HIGH, 20, 0.2}, {SIDE_HIGH, 40, 1},     {SIDE_HIGH, 41, 1}, {SIDE_HIGH, -90, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_float_eq(range_severity(&range, rows[i].side, rows[i].value), rows[i].severity, 1e-12, "row %zu", i);
    }
    range.strong_low.given = false;
    cr_assert_eq(range_severity(&range, SIDE_LOW, -90), 0);
}

Test(standard, names_go_both_ways)
{
    for (int i = 0; i < FAULT_COUNT; i++) {
        enum fault_id back = FAULT_COUNT;
        cr_assert(fault_parse(fault_name((enum fault_id)i), &back));
        cr_assert_eq((int)back, i);
    }
    for (int i = 0; i < STAGE_COUNT; i++) {
        enum fault_stage back = STAGE_COUNT;
        cr_assert(stage_parse(stage_name((enum fault_stage)i), &back));
        cr_assert_eq((int)back, i);
    }
    enum evidence evidence;
    enum fault_id fault;
    cr_assert(evidence_parse("contested", &evidence) && evidence == EVIDENCE_CONTESTED);
    cr_assert_not(fault_parse("yips", &fault));
    cr_assert_not(fault_parse(NULL, &fault));
    cr_assert_null(fault_name(FAULT_COUNT));
    cr_assert_eq(age_band_of(-1), AGE_ANY);
    cr_assert_eq(age_band_of(17), AGE_JUNIOR);
    cr_assert_eq(age_band_of(18), AGE_ADULT);
    cr_assert_eq(age_band_of(60), AGE_SENIOR);
    cr_assert_eq(club_class_of(CLUB_HYBRID), CLUB_CLASS_WOOD);
    cr_assert_eq(club_class_of(CLUB_UNKNOWN), CLUB_CLASS_ANY);
}

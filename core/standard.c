/* The house standard: which range applies, how severe a value is, and whether a standard is sane at all. */
#include "core/standard.h"

#include <math.h>
#include <stddef.h>

NAMES(fault, enum fault_id, FAULT_CATALOGUE);
NAMES_PARSE(fault, enum fault_id, FAULT_CATALOGUE);
NAMES(stage, enum fault_stage, STAGE_NAMES);
NAMES_PARSE(stage, enum fault_stage, STAGE_NAMES);
NAMES(club_class, enum club_class, CLUB_CLASS_NAMES);
NAMES_PARSE(club_class, enum club_class, CLUB_CLASS_NAMES);
NAMES(sex, enum sex, SEX_NAMES);
NAMES_PARSE(sex, enum sex, SEX_NAMES);
NAMES(age_band, enum age_band, AGE_BAND_NAMES);
NAMES_PARSE(age_band, enum age_band, AGE_BAND_NAMES);
NAMES(evidence, enum evidence, EVIDENCE_NAMES);
NAMES_PARSE(evidence, enum evidence, EVIDENCE_NAMES);
NAMES(range_whom, enum range_whom, RANGE_WHOM_NAMES);

static bool refuse(struct standard_error *error, const char *where, int index, const char *what)
{
    if (error != NULL) {
        *error = (struct standard_error){where, index, what};
    }
    return false;
}

static bool in(int value, int count)
{
    return value >= 0 && value < count;
}

static bool same_class(const struct range_rule *a, const struct range_rule *b)
{
    return a->item == b->item && a->club == b->club && a->sex == b->sex && a->age == b->age;
}

static bool unqualified(const struct range_rule *rule)
{
    return rule->club == CLUB_CLASS_ANY && rule->sex == SEX_ANY && rule->age == AGE_ANY;
}

static bool finite_or_absent(const struct maybe *value)
{
    return !value->given || isfinite(value->value);
}

/* NULL when the range is sane. */
static const char *range_wrong(const struct measure_range *range)
{
    if (!finite_or_absent(&range->ok_low) || !finite_or_absent(&range->ok_high) ||
        !finite_or_absent(&range->strong_low) || !finite_or_absent(&range->strong_high)) {
        return "a limit is not a finite number";
    }
    if (!range->ok_low.given && !range->ok_high.given) {
        return "a range needs ok_low or ok_high";
    }
    if (range->ok_low.given && range->ok_high.given && range->ok_low.value > range->ok_high.value) {
        return "ok_low is above ok_high";
    }
    if (range->strong_low.given && (!range->ok_low.given || range->strong_low.value >= range->ok_low.value)) {
        return "strong_low must lie below ok_low";
    }
    if (range->strong_high.given && (!range->ok_high.given || range->strong_high.value <= range->ok_high.value)) {
        return "strong_high must lie above ok_high";
    }
    return NULL;
}

static const char *rule_wrong(const struct standard *standard, int index)
{
    const struct range_rule *rule = &standard->ranges[index];
    if (!in((int)rule->item, MEASURE_COUNT)) {
        return "no such measure";
    }
    if (measure_info(rule->item)->nature & IS_SHOWN_ONLY) {
        return "a one-view order index is shown, never scored";
    }
    if (!in((int)rule->club, CLUB_CLASS_COUNT) || !in((int)rule->sex, SEX_COUNT) ||
        !in((int)rule->age, AGE_BAND_COUNT) || !in((int)rule->evidence, EVIDENCE_COUNT)) {
        return "an unknown club, sex, age or evidence";
    }
    const char *what = range_wrong(&rule->range);
    bool fallback = false;
    for (int i = 0; what == NULL && i < standard->range_count; i++) {
        const struct range_rule *other = &standard->ranges[i];
        if (i < index && same_class(other, rule)) {
            what = "the same measure, club, sex and age again";
        }
        fallback = fallback || (other->item == rule->item && unqualified(other));
    }
    if (what == NULL && !fallback) {
        what = "a range for some needs one for everybody to fall back on";
    }
    return what;
}

static bool ranges_sane(const struct standard *standard, struct standard_error *error)
{
    if (standard->range_count < 0 || standard->range_count > RANGE_RULES_MAX) {
        return refuse(error, "ranges", 0, "too many ranges");
    }
    for (int i = 0; i < standard->range_count; i++) {
        const char *what = rule_wrong(standard, i);
        if (what != NULL) {
            return refuse(error, "ranges", i, what);
        }
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (!isfinite(standard->spread[i]) || standard->spread[i] < 0) {
            return refuse(error, "spread", i, "a spread must be a finite number, 0 or more");
        }
    }
    return true;
}

static bool shows(const struct measure_range *range, enum sign_side side)
{
    return side == SIDE_LOW ? range->strong_low.given : range->strong_high.given;
}

static const char *sign_wrong(const struct standard *standard, const struct fault_rule *fault, int index)
{
    const struct fault_sign *sign = &fault->signs[index];
    if (!in((int)sign->item, MEASURE_COUNT) || (sign->side != SIDE_LOW && sign->side != SIDE_HIGH)) {
        return "a sign with an unknown measure or side";
    }
    if (!isfinite(sign->weight) || sign->weight <= 0 || sign->weight > 100) {
        return "a sign's weight must be above 0 and at most 100";
    }
    for (int i = 0; i < index; i++) {
        if (fault->signs[i].item == sign->item && fault->signs[i].side == sign->side) {
            return "the same sign twice";
        }
    }
    bool shown = false;
    for (int i = 0; i < standard->range_count; i++) {
        const struct range_rule *rule = &standard->ranges[i];
        if (rule->item == sign->item && !shows(&rule->range, sign->side)) {
            return "a sign on a side whose range has no strong end";
        }
        shown = shown || rule->item == sign->item;
    }
    return shown ? NULL : "a sign without a range";
}

static const char *fault_wrong(const struct standard *standard, const struct fault_rule *fault)
{
    if (!isfinite(fault->importance) || fault->importance < 0 || fault->importance > 1) {
        return "importance must be 0 to 1";
    }
    if (!in((int)fault->stage, STAGE_COUNT) || !in((int)fault->evidence, EVIDENCE_COUNT)) {
        return "an unknown stage or evidence";
    }
    if (fault->sign_count < 1 || fault->sign_count > SIGNS_MAX) {
        return "a fault needs 1 to 6 signs";
    }
    bool required = false;
    for (int i = 0; i < fault->sign_count; i++) {
        const char *what = sign_wrong(standard, fault, i);
        if (what != NULL) {
            return what;
        }
        required = required || fault->signs[i].required;
    }
    return required ? NULL : "a fault needs a required sign";
}

/* Takes away, again and again, the faults that nothing left explains; what cannot be taken away stands in a circle. */
static int cause_in_cycle(const struct standard *standard)
{
    bool gone[FAULT_COUNT] = {false};
    for (bool more = true; more;) {
        bool caused[FAULT_COUNT] = {false};
        for (int i = 0; i < standard->cause_count; i++) {
            if (!gone[standard->causes[i].from]) {
                caused[standard->causes[i].to] = true;
            }
        }
        more = false;
        for (int f = 0; f < FAULT_COUNT; f++) {
            if (!gone[f] && !caused[f]) {
                gone[f] = true;
                more = true;
            }
        }
    }
    for (int i = 0; i < standard->cause_count; i++) {
        if (!gone[standard->causes[i].from] && !gone[standard->causes[i].to]) {
            return i;
        }
    }
    return -1;
}

static bool causes_sane(const struct standard *standard, struct standard_error *error)
{
    if (standard->cause_count < 0 || standard->cause_count > CAUSES_MAX) {
        return refuse(error, "causes", 0, "too many causes");
    }
    for (int i = 0; i < standard->cause_count; i++) {
        const struct cause *cause = &standard->causes[i];
        if (!in((int)cause->from, FAULT_COUNT) || !in((int)cause->to, FAULT_COUNT) ||
            !standard->faults[cause->from].defined || !standard->faults[cause->to].defined) {
            return refuse(error, "causes", i, "a cause must join two faults of this standard");
        }
        if (!isfinite(cause->share) || cause->share <= 0 || cause->share >= 1) {
            return refuse(error, "causes", i, "a share must lie between 0 and 1, both left out");
        }
        for (int k = 0; k < i; k++) {
            if (standard->causes[k].from == cause->from && standard->causes[k].to == cause->to) {
                return refuse(error, "causes", i, "the same cause twice");
            }
        }
    }
    int cycle = cause_in_cycle(standard);
    return cycle < 0 || refuse(error, "causes", cycle, "causes go round in a circle");
}

static bool typical_sane(const struct standard *standard, struct standard_error *error)
{
    if (standard->typical_count < 0 || standard->typical_count > TYPICAL_MAX) {
        return refuse(error, "ball_flight", 0, "too many entries");
    }
    for (int i = 0; i < standard->typical_count; i++) {
        const struct typical *typical = &standard->typical[i];
        if (!in((int)typical->fault, FAULT_COUNT) || !standard->faults[typical->fault].defined) {
            return refuse(error, "ball_flight", i, "not a fault of this standard");
        }
        if (!in((int)typical->start, FLIGHT_SIDE_COUNT) || !in((int)typical->curve, FLIGHT_SIDE_COUNT) ||
            !in((int)typical->strike, STRIKE_COUNT)) {
            return refuse(error, "ball_flight", i, "an unknown start, curve or strike");
        }
        if (typical->start == FLIGHT_UNKNOWN && typical->curve == FLIGHT_UNKNOWN && typical->strike == STRIKE_UNKNOWN) {
            return refuse(error, "ball_flight", i, "start, curve or strike must be said");
        }
        if (!isfinite(typical->match) || typical->match <= 0 || typical->match > 1) {
            return refuse(error, "ball_flight", i, "match must be above 0 and at most 1");
        }
    }
    return true;
}

static bool limits_sane(const struct standard *standard, struct standard_error *error)
{
    for (int i = 0; i < CLUB_CLASS_COUNT; i++) {
        double share = standard->face_share[i];
        if (!isfinite(share) || share <= 0 || share > 1) {
            return refuse(error, "face_share", i, "the face's share must be above 0 and at most 1");
        }
    }
    for (int i = 0; i < STAGE_COUNT; i++) {
        if (!isfinite(standard->ease[i]) || standard->ease[i] <= 0 || standard->ease[i] > 10) {
            return refuse(error, "ease", i, "ease must be above 0 and at most 10");
        }
    }
    if (!isfinite(standard->threshold) || standard->threshold <= 0 || standard->threshold >= 1) {
        return refuse(error, "threshold", 0, "the threshold must lie between 0 and 1, both left out");
    }
    if (standard->balance_age < 18 || standard->balance_age > 120) {
        return refuse(error, "balance", 0, "the age from which balance needs care must be 18 to 120");
    }
    if (!isfinite(standard->p_present) || !isfinite(standard->p_absent) || standard->p_absent <= 0 ||
        standard->p_present >= 1 || standard->p_absent >= standard->p_present) {
        return refuse(error, "verdict", 0, "0 < absent_to < present_from < 1 must hold");
    }
    return true;
}

bool standard_validate(const struct standard *standard, struct standard_error *error)
{
    if (standard->version == NULL || standard->version[0] == '\0') {
        return refuse(error, "version", 0, "a standard needs a version");
    }
    if (!limits_sane(standard, error) || !ranges_sane(standard, error)) {
        return false;
    }
    for (int i = 0; i < FAULT_COUNT; i++) {
        const char *what = standard->faults[i].defined ? fault_wrong(standard, &standard->faults[i]) : NULL;
        if (what != NULL) {
            return refuse(error, "faults", i, what);
        }
    }
    return causes_sane(standard, error) && typical_sane(standard, error);
}

/* The most specific one, of those for the player's own age band where only they count; NULL when there is none. */
static const struct range_rule *rule_of(const struct standard *standard, enum measure_item item,
                                        const struct player *player, bool own)
{
    const struct range_rule *best = NULL;
    int best_rank = -1;
    for (int i = 0; i < standard->range_count; i++) {
        const struct range_rule *rule = &standard->ranges[i];
        bool fits = rule->item == item && (rule->club == CLUB_CLASS_ANY || rule->club == player->club) &&
                    (rule->sex == SEX_ANY || rule->sex == player->sex) &&
                    (rule->age == player->age || (rule->age == AGE_ANY && !own));
        int rank =
            (rule->club != CLUB_CLASS_ANY ? 4 : 0) + (rule->sex != SEX_ANY ? 2 : 0) + (rule->age != AGE_ANY ? 1 : 0);
        if (fits && rank > best_rank) {
            best = rule;
            best_rank = rank;
        }
    }
    return best;
}

static bool is_length(enum measure_item item)
{
    return measure_info(item)->unit == UNIT_METRE;
}

static struct maybe times(struct maybe end, double factor)
{
    return end.given ? (struct maybe){true, end.value * factor} : end;
}

struct judged_range standard_range(const struct standard *standard, enum measure_item item, const struct player *player)
{
    const bool length = is_length(item);
    const bool junior = player->age == AGE_JUNIOR;
    const struct range_rule *own = length && junior ? rule_of(standard, item, player, true) : NULL;
    const struct range_rule *rule = own != NULL ? own : rule_of(standard, item, player, false);
    if (rule == NULL) {
        return (struct judged_range){.given = false};
    }
    struct judged_range out = {.given = true, .range = rule->range, .evidence = rule->evidence};
    if (rule->age != AGE_ANY || !length) {
        out.whom = rule->age != AGE_ANY ? WHOM_OWN : junior || player->age == AGE_SENIOR ? WHOM_GUIDE : WHOM_ADULTS;
        return out;
    }
    if (player->height_m.given && player->height_m.value >= STANDARD_HEIGHT_LEAST_M) {
        const double factor = player->height_m.value / STANDARD_HEIGHT_M;
        out.range =
            (struct measure_range){times(rule->range.ok_low, factor), times(rule->range.ok_high, factor),
                                   times(rule->range.strong_low, factor), times(rule->range.strong_high, factor)};
        out.whom = WHOM_HEIGHT;
        out.evidence = out.evidence == EVIDENCE_CONTESTED ? EVIDENCE_CONTESTED : EVIDENCE_COMMON_PRACTICE;
        return out;
    }
    out.wants_height = !player->height_m.given;
    return junior || player->height_m.given
               ? (struct judged_range){.adult_only = true, .wants_height = out.wants_height}
               : out;
}

double standard_height_sd(enum measure_item item, const struct player *player, double value)
{
    return is_length(item) && !player->height_m.given ? STANDARD_HEIGHT_SPREAD * fabs(value) : 0;
}

static void add_end(struct maybe *sum, struct maybe end, int times)
{
    sum->given = sum->given && end.given;
    sum->value += times * end.value;
}

static struct maybe end_mean(struct maybe sum, int count)
{
    return sum.given ? (struct maybe){true, sum.value / count} : (struct maybe){false, 0};
}

struct judged_range standard_mean_range(const struct standard *standard, enum measure_item item,
                                        const int swings[CLUB_CLASS_COUNT], const struct player *player)
{
    const struct maybe none = {true, 0};
    struct measure_range sum = {none, none, none, none};
    struct player of = *player;
    of.club = CLUB_CLASS_ANY;
    struct judged_range one = standard_range(standard, item, &of);
    int kinds = 0;
    int count = 0;
    for (int c = 0; c < CLUB_CLASS_COUNT; c++) {
        of.club = (enum club_class)c;
        const struct judged_range range =
            swings[c] > 0 ? standard_range(standard, item, &of) : (struct judged_range){.given = false};
        if (!range.given) {
            continue;
        }
        one.evidence = kinds == 0 || range.evidence == EVIDENCE_CONTESTED || range.evidence == one.evidence
                           ? range.evidence
                       : one.evidence == EVIDENCE_CONTESTED ? one.evidence
                                                            : EVIDENCE_COMMON_PRACTICE;
        one.given = true;
        one.adult_only = false;
        one.whom = range.whom;
        one.wants_height = range.wants_height;
        one.range = range.range;
        kinds++;
        count += swings[c];
        add_end(&sum.ok_low, range.range.ok_low, swings[c]);
        add_end(&sum.ok_high, range.range.ok_high, swings[c]);
        add_end(&sum.strong_low, range.range.strong_low, swings[c]);
        add_end(&sum.strong_high, range.range.strong_high, swings[c]);
    }
    if (kinds > 1) {
        one.range = (struct measure_range){end_mean(sum.ok_low, count), end_mean(sum.ok_high, count),
                                           end_mean(sum.strong_low, count), end_mean(sum.strong_high, count)};
    }
    return one;
}

double range_severity(const struct measure_range *range, enum sign_side side, double value)
{
    const struct maybe *ok = side == SIDE_LOW ? &range->ok_low : &range->ok_high;
    const struct maybe *strong = side == SIDE_LOW ? &range->strong_low : &range->strong_high;
    if (!ok->given || !strong->given) {
        return 0;
    }
    double severity = (value - ok->value) / (strong->value - ok->value);
    return severity <= 0 ? 0 : severity >= 1 ? 1 : severity;
}

enum club_class club_class_of(enum club_kind kind)
{
    switch (kind) {
    case CLUB_DRIVER:
    case CLUB_WOOD:
    case CLUB_HYBRID:
        return CLUB_CLASS_WOOD;
    case CLUB_IRON:
        return CLUB_CLASS_IRON;
    case CLUB_WEDGE:
        return CLUB_CLASS_WEDGE;
    case CLUB_UNKNOWN:
    case CLUB_KIND_COUNT:
        break;
    }
    return CLUB_CLASS_ANY;
}

enum age_band age_band_of(int age_years)
{
    if (age_years < 0) {
        return AGE_ANY;
    }
    if (age_years < 18) {
        return AGE_JUNIOR;
    }
    return age_years < 60 ? AGE_ADULT : AGE_SENIOR;
}

/* The choices behind a report's sentences. */
#include "wire/report/codes.h"

#include <math.h>

#define SHARE_SAID 0.1
#define SHARE_HALF 0.3
#define SHARE_MOST 0.6
#define OF_AGE 18

const char *codes_share(double share)
{
    return share < SHARE_SAID ? NULL : share < SHARE_HALF ? "part" : share < SHARE_MOST ? "half" : "mostly";
}

const char *codes_scope(const struct report *report)
{
    return report->habit ? "habit" : report->swing_count == 1 ? "one_swing" : "two_swings";
}

const struct sign_result *codes_loudest(const struct fault_result *fault)
{
    const struct sign_result *best = NULL;
    for (int i = 0; fault->basis != BASIS_SEEN && i < fault->sign_count; i++) {
        const struct sign_result *sign = &fault->signs[i];
        if (sign->observed && (best == NULL || sign->weight * sign->severity > best->weight * best->severity)) {
            best = sign;
        }
    }
    return best;
}

const struct first_fix *codes_cause(const struct report *report, enum fault_id fault)
{
    const struct first_fix *cause = NULL;
    for (int i = 0; i < report->fixes.count; i++) {
        const struct first_fix *fix = &report->fixes.items[i];
        if (fix->explains[fault] >= SHARE_SAID && (cause == NULL || fix->explains[fault] > cause->explains[fault])) {
            cause = fix;
        }
    }
    return cause;
}

const char *codes_leave(const struct report *report, const struct standard *standard, enum fault_id fault)
{
    return codes_cause(report, fault) != NULL                       ? "explained"
           : standard->faults[fault].evidence == EVIDENCE_CONTESTED ? "contested"
                                                                    : "matters_less";
}

const char *codes_mark(const struct mark_finding *finding)
{
    switch (finding->kind) {
    case MARK_SIDES_EXCHANGED:
        return finding->checkpoint == CHECKPOINT_NONE ? "sides_exchanged_view"
               : finding->point >= POINT_COUNT        ? "sides_exchanged_all"
                                                      : "sides_exchanged";
    case MARK_ENDS_EXCHANGED:
        return finding->point == POINT_BUTT ? "butt_exchanged" : "ends_exchanged";
    default:
        return mark_kind_name(finding->kind);
    }
}

int codes_lag(const struct motion_peak *early, const struct motion_peak *late)
{
    const double lag = late->time_s - early->time_s;
    const double error = CODES_SURE * motion_lag_sd(early, late);
    return lag > error ? 1 : lag < -error ? -1 : 0;
}

struct codes_word codes_word(const struct drill *drill, unsigned pain, bool unsteady)
{
    const unsigned ruled_out = drill->contraindicated & pain;
    return (struct codes_word){ruled_out, drill->loads & pain & ~ruled_out, drill->balance && unsteady};
}

const char *codes_no_drill(const struct practice_pick *picks, int count)
{
    return count == 0 ? "none_fits" : picks[0].needs_confirmation ? "needs_word" : NULL;
}

int codes_cautions(const struct drill *const *given, int given_count, int age_years, unsigned pain,
                   enum codes_caution out[CAUTION_COUNT])
{
    bool rehearsal = false;
    bool balance = false;
    bool club = false;
    for (int i = 0; i < given_count; i++) {
        rehearsal = rehearsal || !given[i]->ball;
        balance = balance || given[i]->balance || (given[i]->kit & KIT_SUPPORT) != 0;
        club = club || (given[i]->kit & KIT_CLUB) != 0;
    }
    const bool junior = age_years >= 0 && age_years < OF_AGE;
    const bool said[CAUTION_COUNT] = {[CAUTION_WARM_UP] = true,
                                      [CAUTION_STOP_ON_PAIN] = true,
                                      [CAUTION_CLEAR_SPACE] = true,
                                      [CAUTION_NO_BALL] = rehearsal,
                                      [CAUTION_SUPPORT] = balance,
                                      [CAUTION_BUILD_UP] = true,
                                      [CAUTION_OWN_SIZE] =
                                          club && age_years >= 0 && age_years < PRACTICE_GROWN_CLUB_AGE,
                                      [CAUTION_ADULT] = junior,
                                      [CAUTION_HOURS] = junior,
                                      [CAUTION_SORE] = pain != 0,
                                      [CAUTION_NOT_TREATMENT] = true};
    int count = 0;
    for (int i = 0; i < CAUTION_COUNT; i++) {
        if (said[i]) {
            out[count++] = (enum codes_caution)i;
        }
    }
    return count;
}

void codes_areas_write(struct json_out *out, const char *key, unsigned areas)
{
    json_out_array(out, key);
    for (int i = 0; i < AREA_BITS; i++) {
        if (areas & 1U << i) {
            json_out_text(out, NULL, area_name((enum area)(1U << i)));
        }
    }
    json_out_end_array(out);
}

const char *codes_caution_name(enum codes_caution caution)
{
    static const char *const codes[CAUTION_COUNT] = {[CAUTION_WARM_UP] = "warm_up",
                                                     [CAUTION_STOP_ON_PAIN] = "stop_on_pain",
                                                     [CAUTION_CLEAR_SPACE] = "room",
                                                     [CAUTION_NO_BALL] = "no_ball",
                                                     [CAUTION_SUPPORT] = "support",
                                                     [CAUTION_BUILD_UP] = "build_up",
                                                     [CAUTION_OWN_SIZE] = "own_size",
                                                     [CAUTION_ADULT] = "adult_with_you",
                                                     [CAUTION_HOURS] = "hours",
                                                     [CAUTION_SORE] = "sore",
                                                     [CAUTION_NOT_TREATMENT] = "not_treatment"};
    return codes[caution];
}

void codes_cautions_write(struct json_out *out, const struct drill *const *given, int given_count, int age_years,
                          unsigned pain)
{
    enum codes_caution cautions[CAUTION_COUNT];
    const int count = codes_cautions(given, given_count, age_years, pain, cautions);
    json_out_array(out, "cautions");
    for (int i = 0; i < count; i++) {
        const char *code = codes_caution_name(cautions[i]);
        if (cautions[i] != CAUTION_HOURS && cautions[i] != CAUTION_SORE) {
            json_out_text(out, NULL, code);
            continue;
        }
        json_out_object(out, NULL);
        json_out_text(out, "code", code);
        if (cautions[i] == CAUTION_HOURS) {
            json_out_number(out, "hours", age_years, 0);
        } else {
            codes_areas_write(out, "areas", pain);
        }
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

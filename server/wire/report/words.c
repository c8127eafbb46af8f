/* The sentences of a report: numbers with their errors, why a fix was chosen, what to leave alone. */
#include "wire/report/words.h"

#include <math.h>

const char *words_measure(const struct speaker *say, enum measure_item item)
{
    const struct measure_info *info = measure_info(item);
    const char *what = words_say_code(say, "measure.", info->name);
    return info->checkpoint == CHECKPOINT_NONE
               ? what
               : words_say(say, "measure.at", "what", what, "when", words_checkpoint(say, info->checkpoint), NULL);
}

const char *words_fault(const struct speaker *say, enum fault_id fault)
{
    return words_say_code(say, "fault.", fault_name(fault));
}

const char *words_plain(const struct speaker *say, enum fault_id fault, enum hand hand)
{
    const char *key = arena_printf(say->arena, "plain.%s", fault_name(fault));
    const char *left = words_say(say, "plain.side.left", NULL);
    const char *right = words_say(say, "plain.side.right", NULL);
    return key == NULL ? NULL
                       : words_say(say, key, "lead", hand == HAND_LEFT ? right : left, "trail",
                                   hand == HAND_LEFT ? left : right, NULL);
}

const char *words_fault_of(const struct speaker *say, const struct standard *standard, enum fault_id fault)
{
    const char *name = words_fault(say, fault);
    return standard->faults[fault].evidence == EVIDENCE_CONTESTED
               ? words_say(say, "fault.contested", "fault", name, NULL)
               : name;
}

const char *words_checkpoint(const struct speaker *say, enum checkpoint checkpoint)
{
    return words_say_code(say, "checkpoint.", checkpoint_name(checkpoint));
}

static const char *in_unit(const struct speaker *say, enum measure_item item, double value)
{
    switch (measure_info(item)->unit) {
    case UNIT_DEG:
    case UNIT_PERCENT: {
        const char *number = words_number(say, value, 0);
        const char *unit = measure_info(item)->unit == UNIT_DEG ? "°" : " %";
        return number == NULL ? NULL : arena_printf(say->arena, "%s%s", number, unit);
    }
    case UNIT_METRE: {
        const char *number = words_number(say, 100 * value, 0);
        return number == NULL ? NULL : arena_printf(say->arena, "%s cm", number);
    }
    case UNIT_NUMBER:
        return words_number(say, value, 0);
    default:
        return words_number(say, value, 2);
    }
}

const char *words_value(const struct speaker *say, enum measure_item item, double value, double sd)
{
    const enum unit unit = measure_info(item)->unit;
    const double least = unit == UNIT_DEG || unit == UNIT_PERCENT ? 1 : 0.01;
    const char *number = in_unit(say, item, value);
    const char *error = unit == UNIT_NUMBER ? words_number(say, fmax(CODES_SURE * sd, 0.1), 1)
                                            : in_unit(say, item, fmax(CODES_SURE * sd, least));
    return number == NULL || error == NULL ? NULL : arena_printf(say->arena, "%s ± %s", number, error);
}

const char *words_range(const struct speaker *say, enum measure_item item, const struct measure_range *range)
{
    bool low = range->ok_low.given && range->strong_low.given;
    bool high = range->ok_high.given && range->strong_high.given;
    const char *least = in_unit(say, item, range->ok_low.value);
    const char *most = in_unit(say, item, range->ok_high.value);
    if (low && high) {
        return words_say(say, "measure.between", "low", least, "high", most, NULL);
    }
    return low    ? words_say(say, "measure.from", "value", least, NULL)
           : high ? words_say(say, "measure.to", "value", most, NULL)
                  : "";
}

#define MIDDLE_HALF 1.349 /* sds that the middle half of normal values spans */

/* Fine is only certain when all that the error allows is fine, a severity when none of it is. Where even the middle of
 * the range would more likely be missed than not, not even "probably" is said. */
const char *words_rating(const struct speaker *say, const struct measure *measure, const struct measure_range *range,
                         double severity)
{
    const bool low = range->ok_low.given && range->strong_low.given;
    const bool high = range->ok_high.given && range->strong_high.given;
    const double error = CODES_SURE * measure_sd(measure);
    const double value = measure->value;
    const double floor = low ? range->ok_low.value : -INFINITY;
    const double ceiling = high ? range->ok_high.value : INFINITY;
    const bool inside = value - error >= floor && value + error <= ceiling;
    if (value >= floor && value <= ceiling && ceiling - floor >= MIDDLE_HALF * measure_sd(measure)) {
        return words_say(say, inside ? "measure.fine" : "measure.probably", NULL);
    }
    if ((value >= floor && value <= ceiling) || severity_word(severity) == SEVERITY_NONE) {
        return words_say(say, "measure.unsure", NULL);
    }
    const char *word = words_say_code(say, "severity.", severity_word_name(severity_word(severity)));
    const bool outside = value + error < floor || value - error > ceiling;
    return outside ? word : words_say(say, "measure.perhaps", "word", word, NULL);
}

/* "We are 97 % sure of it. Your club points too far behind you. Shaft direction, top: -24° ± 5°. Fine: -6° to 15°.
 * Rating: strong.": how sure of the fault, what the player is told, and what was measured with its own rating. */
static const char *evidence_of(const struct speaker *say, const struct report *report, enum fault_id id, enum hand hand)
{
    const struct fault_result *fault = &report->faults[id];
    const struct sign_result *sign = codes_loudest(fault);
    const char *word = words_say_code(say, "severity.", severity_word_name(fault->word));
    const char *plain = words_plain(say, id, hand);
    if (sign == NULL) {
        const char *rating = words_say(say, "score.rating", "word", word, NULL);
        const char *seen = words_say(say, "report.sureness.seen", NULL);
        return rating == NULL || seen == NULL || plain == NULL
                   ? NULL
                   : arena_printf(say->arena, "%s %s %s", seen, plain, rating);
    }
    const struct measure *measure = &report->measures.items[sign->item];
    const char *range = words_range(say, sign->item, &sign->range);
    const char *value =
        words_say(say, "report.evidence", "what", words_capital(say, words_measure(say, sign->item)), "value",
                  words_value(say, sign->item, measure->value, measure_sd(measure)), "range", range, NULL);
    const char *rating =
        words_say(say, "score.rating", "word", words_rating(say, measure, &sign->range, sign->severity), NULL);
    const char *sure = words_say(say, fault->p > 0.99 ? "report.sureness.all" : "report.sureness", "sure",
                                 arena_printf(say->arena, "%.0f %%", fault->p > 0.99 ? 99 : 100 * fault->p), NULL);
    return value == NULL || rating == NULL || sure == NULL || plain == NULL
               ? NULL
               : arena_printf(say->arena, "%s %s %s %s", sure, plain, value, rating);
}

/* " We think it also causes: a (mostly) and b (in part)." or "". */
static const char *explains(const struct speaker *say, const struct standard *standard, const struct first_fix *fix)
{
    const char *phrases[FAULT_COUNT];
    int count = 0;
    for (int i = 0; i < FAULT_COUNT; i++) {
        const char *code = codes_share(fix->explains[i]);
        if (code != NULL) {
            const char *key = arena_printf(say->arena, "report.share.%s", code);
            const char *fault = words_fault_of(say, standard, (enum fault_id)i);
            phrases[count++] = key == NULL ? NULL : words_say(say, key, "fault", fault, NULL);
        }
    }
    const char *list = words_list(say, phrases, count, false);
    const char *said = count == 0 ? "" : words_say(say, "report.explains", "list", list, NULL);
    return said == NULL || count == 0 ? said : arena_printf(say->arena, " %s", said);
}

/* Only these parts of what the ball did. */
static struct flight_class parts_of(const struct flight_class *flight, unsigned parts)
{
    return (struct flight_class){.start = parts & FLIGHT_PART_START ? flight->start : FLIGHT_UNKNOWN,
                                 .curve = parts & FLIGHT_PART_CURVE ? flight->curve : FLIGHT_UNKNOWN,
                                 .strike = parts & FLIGHT_PART_STRIKE ? flight->strike : STRIKE_UNKNOWN};
}

/* What of the ball fits a fault and what speaks against it, each with a space before it; "" for neither. */
static const char *ball_of(const struct speaker *say, const struct report *report, enum fault_id fault, enum hand hand)
{
    const struct flight_class with = parts_of(&report->flight, report->faults[fault].ball.with);
    const char *list = words_flight(say, &with, hand);
    const char *fits = list == NULL || list[0] == '\0' ? list : words_say(say, "report.ball", "list", list, NULL);
    const char *against = words_against(say, report, fault, hand);
    return fits == NULL || against == NULL ? NULL
                                           : arena_printf(say->arena, "%s%s%s%s", fits[0] == '\0' ? "" : " ", fits,
                                                          against[0] == '\0' ? "" : " ", against);
}

const char *words_why(const struct speaker *say, const struct report *report, const struct standard *standard,
                      int index, enum hand hand)
{
    const struct first_fix *fix = &report->fixes.items[index];
    const char *name = words_capital(say, words_fault_of(say, standard, fix->fault));
    const char *evidence = evidence_of(say, report, fix->fault, hand);
    const char *causes = explains(say, standard, fix);
    const char *ball = ball_of(say, report, fix->fault, hand);
    if (name == NULL || evidence == NULL || causes == NULL || ball == NULL) {
        return NULL;
    }
    const bool thought = causes[0] != '\0' || ball[0] != '\0';
    const char *experience = thought ? words_say(say, "report.experience", NULL) : "";
    return experience == NULL ? NULL
                              : arena_printf(say->arena, "%s. %s%s%s%s%s", name, evidence, causes, ball,
                                             thought ? " " : "", experience);
}

const char *words_leave_alone(const struct speaker *say, const struct report *report, const struct standard *standard,
                              enum fault_id fault)
{
    const char *name = words_capital(say, words_fault_of(say, standard, fault));
    const struct first_fix *cause = codes_cause(report, fault);
    const char *code = cause == NULL ? codes_leave(report, standard, fault) : codes_share(cause->explains[fault]);
    const char *key = arena_printf(say->arena, "report.leave.%s", code);
    const char *from = cause == NULL ? "" : words_fault_of(say, standard, cause->fault);
    return key == NULL ? NULL : words_say(say, key, "fault", name, "cause", from, NULL);
}

static const char *side(const struct speaker *say, double value)
{
    return words_say(say, value < 0 ? "flight.left" : "flight.right", NULL);
}

/* What was found, without the view. */
static const char *camera_found(const struct speaker *say, const struct camera_finding *f)
{
    const char *degrees = words_number(say, fabs(f->value), 0);
    const char *metres = words_number(say, fabs(f->value), 1);
    switch (f->issue) {
    case CAMERA_YAW:
        return words_say(say, "camera.yaw", "value", degrees, "side", side(say, f->value), "move",
                         words_number(say, fabs(f->turn_right_deg), 0), "other", side(say, f->turn_right_deg), NULL);
    case CAMERA_OFF_LINE:
        return words_say(say, "camera.off_line", "value", metres, "side", side(say, f->value), "move",
                         words_number(say, fabs(f->move_right_m), 1), "other", side(say, f->move_right_m), NULL);
    case CAMERA_ROLL_SLIGHT:
    case CAMERA_ROLL:
        return words_say(
            say, "camera.roll", "value", metres, "move", words_number(say, fabs(f->roll_clockwise_deg), 1), "way",
            words_say(say, f->roll_clockwise_deg < 0 ? "camera.way.anticlockwise" : "camera.way.clockwise", NULL),
            NULL);
    case CAMERA_CLIPPED:
        return f->value >= 0 && f->value < CHECKPOINT_COUNT
                   ? words_say(say, "camera.clipped", "checkpoint",
                               words_checkpoint(say, (enum checkpoint)(int)f->value), NULL)
                   : words_say(say, "camera.long", NULL);
    default: {
        const bool front = f->issue == CAMERA_NO_REFERENCE && f->kind == VIEW_FACE_ON;
        const char *key =
            front ? "camera.no_reference.front" : arena_printf(say->arena, "camera.%s", camera_issue_name(f->issue));
        return key == NULL
                   ? NULL
                   : words_say(say, key, "value", metres, "move", words_number(say, fabs(f->move_up_m), 1), NULL);
    }
    }
}

const char *words_camera(const struct speaker *say, const struct camera_finding *finding)
{
    return words_say(say, finding->kind == VIEW_DOWN_THE_LINE ? "camera.down_the_line" : "camera.face_on", "what",
                     camera_found(say, finding), NULL);
}

const char *words_mark(const struct speaker *say, const struct mark_finding *finding)
{
    const char *what =
        words_say(say, arena_printf(say->arena, "mark.%s", codes_mark(finding)), "point",
                  finding->point < POINT_COUNT ? words_say_code(say, "point.", point_name(finding->point)) : "",
                  "checkpoint", finding->checkpoint < CHECKPOINT_NONE ? words_checkpoint(say, finding->checkpoint) : "",
                  "by", words_number(say, fabs(finding->by), 0), NULL);
    return words_say(say, finding->view_kind == VIEW_DOWN_THE_LINE ? "camera.down_the_line" : "camera.face_on", "what",
                     what, NULL);
}

const char *words_settle(const struct speaker *say, unsigned settle)
{
    const char *phrases[SETTLE_BITS];
    int count = 0;
    for (int i = 0; i < SETTLE_BITS; i++) {
        if (settle & 1U << i) {
            phrases[count++] = words_say_code(say, "settle.", settle_name((enum settle)(1U << i)));
        }
    }
    return words_list(say, phrases, count, true);
}

const char *words_scope(const struct speaker *say, const struct report *report)
{
    const char *key = arena_printf(say->arena, "report.scope.%s", codes_scope(report));
    return key == NULL ? NULL : words_say(say, key, "n", arena_printf(say->arena, "%d", report->swing_count), NULL);
}

/* As the player sees it: the core's right is a left-hander's left. */
static const char *flight_part(const struct speaker *say, const char *key, enum flight_side where, enum hand hand)
{
    if (hand == HAND_LEFT && (where == FLIGHT_LEFT || where == FLIGHT_RIGHT)) {
        where = where == FLIGHT_LEFT ? FLIGHT_RIGHT : FLIGHT_LEFT;
    }
    return words_say(say, key, "way", words_say_code(say, "flight.", flight_side_name(where)), NULL);
}

const char *words_flight(const struct speaker *say, const struct flight_class *flight, enum hand hand)
{
    const char *parts[3];
    int count = 0;
    if (flight->start != FLIGHT_UNKNOWN) {
        parts[count++] = flight_part(say, "report.ball.start", flight->start, hand);
    }
    if (flight->curve != FLIGHT_UNKNOWN) {
        parts[count++] = flight_part(say, "report.ball.curve", flight->curve, hand);
    }
    if (flight->strike != STRIKE_UNKNOWN) {
        parts[count++] = words_say(say, "report.ball.strike", "way",
                                   words_say_code(say, "flight.", strike_name(flight->strike)), NULL);
    }
    return words_list(say, parts, count, false);
}

const char *words_against(const struct speaker *say, const struct report *report, enum fault_id fault, enum hand hand)
{
    const struct flight_class flight = parts_of(&report->flight, report->faults[fault].ball.against);
    const char *parts[3] = {NULL};
    int count = 0;
    if (flight.start != FLIGHT_UNKNOWN) {
        parts[count++] = flight_part(say, "report.against.start", flight.start, hand);
    }
    if (flight.curve != FLIGHT_UNKNOWN) {
        parts[count++] = flight_part(say, "report.against.curve", flight.curve, hand);
    }
    if (flight.strike != STRIKE_UNKNOWN) {
        parts[count++] = words_say_code(say, "report.against.", strike_name(flight.strike));
    }
    return count == 0 ? "" : words_say(say, "report.against", "list", words_list(say, parts, count, false), NULL);
}

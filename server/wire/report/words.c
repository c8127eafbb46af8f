/* The sentences of a report: numbers with their errors, why a fix comes first, what to leave alone. */
#include "wire/report/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Rounded to whole numbers, without a minus before a zero. */
static double whole(double value)
{
    double rounded = round(value);
    return rounded == 0 ? 0 : rounded;
}

const char *words_value(struct arena *arena, enum measure_item item, double value, double sd)
{
    double error = CODES_SURE * sd;
    switch (measure_info(item)->unit) {
    case UNIT_DEG:
        return arena_printf(arena, "%.0f° ± %.0f°", whole(value), fmax(error, 1));
    case UNIT_METRE:
        return arena_printf(arena, "%.0f cm ± %.0f cm", whole(100 * value), fmax(100 * error, 1));
    case UNIT_PERCENT:
        return arena_printf(arena, "%.0f %% ± %.0f %%", value, fmax(error, 1));
    default:
        return arena_printf(arena, "%.2f ± %.2f", whole(100 * value) / 100, fmax(error, 0.01));
    }
}

static const char *bound(struct arena *arena, enum measure_item item, double value)
{
    switch (measure_info(item)->unit) {
    case UNIT_DEG:
        return arena_printf(arena, "%.0f°", value);
    case UNIT_METRE:
        return arena_printf(arena, "%.0f cm", 100 * value);
    case UNIT_PERCENT:
        return arena_printf(arena, "%.0f %%", value);
    default:
        return arena_printf(arena, "%.2g", value);
    }
}

const char *words_range(struct arena *arena, enum measure_item item, const struct measure_range *range)
{
    bool low = range->ok_low.given && range->strong_low.given;
    bool high = range->ok_high.given && range->strong_high.given;
    const char *least = bound(arena, item, range->ok_low.value);
    const char *most = bound(arena, item, range->ok_high.value);
    if (least == NULL || most == NULL) {
        return NULL;
    }
    if (low && high) {
        return arena_printf(arena, "%s to %s", least, most);
    }
    if (low) {
        return arena_printf(arena, "%s or more", least);
    }
    return high ? arena_printf(arena, "%s or less", most) : "";
}

const char *words_list(struct arena *arena, const char *const *phrases, int count, const char *last)
{
    const char *text = "";
    for (int i = 0; i < count && text != NULL; i++) {
        if (phrases[i] == NULL) {
            return NULL;
        }
        const char *joint = i == 0 ? "" : i == count - 1 ? last : ", ";
        text = arena_printf(arena, "%s%s%s", text, joint, phrases[i]);
    }
    return text;
}

static const char *capital(struct arena *arena, const char *text)
{
    char *copy = text == NULL ? NULL : arena_strdup(arena, text);
    if (copy != NULL) {
        copy[0] = (char)(copy[0] >= 'a' && copy[0] <= 'z' ? copy[0] - 'a' + 'A' : copy[0]);
    }
    return copy;
}

/* "it is clear, and 97 % sure: ..." */
static const char *evidence_of(struct arena *arena, const struct report *report, enum fault_id id)
{
    const struct fault_result *fault = &report->faults[id];
    const struct sign_result *sign = codes_loudest(fault);
    if (sign == NULL) {
        return arena_printf(arena, "your coach saw it, and calls it %s", severity_word_name(fault->word));
    }
    const struct measure *measure = &report->measures.items[sign->item];
    const char *value = words_value(arena, sign->item, measure->value, measure_sd(measure));
    const char *range = words_range(arena, sign->item, &sign->range);
    const char *sure = fault->p > 0.99 ? "more than 99 %" : arena_printf(arena, "%.0f %%", 100 * fault->p);
    if (value == NULL || range == NULL || sure == NULL) {
        return NULL;
    }
    return arena_printf(arena, "the %s is %s where %s is fine; that is %s, and %s sure", words_measure(sign->item),
                        value, range, severity_word_name(fault->word), sure);
}

static const char *share_word(const char *code)
{
    return code[0] == 'p' ? "some of" : code[0] == 'h' ? "about half of" : "most of";
}

/* "It usually explains most of a and some of b." or "". */
static const char *explains(struct arena *arena, const struct first_fix *fix)
{
    const char *phrases[FAULT_COUNT];
    int count = 0;
    for (int i = 0; i < FAULT_COUNT; i++) {
        const char *code = codes_share(fix->explains[i]);
        if (code != NULL) {
            phrases[count] = arena_printf(arena, "%s %s", share_word(code), words_fault((enum fault_id)i));
            if (phrases[count++] == NULL) {
                return NULL;
            }
        }
    }
    if (count == 0) {
        return "";
    }
    const char *list = words_list(arena, phrases, count, " and ");
    return list == NULL ? NULL : arena_printf(arena, " It usually explains %s.", list);
}

const char *words_why(struct arena *arena, const struct report *report, int index, enum hand hand)
{
    const struct first_fix *fix = &report->fixes.items[index];
    const char *name = capital(arena, words_fault(fix->fault));
    const char *evidence = evidence_of(arena, report, fix->fault);
    const char *causes = explains(arena, fix);
    const char *ball = words_flight(arena, &report->flight, hand);
    if (name == NULL || evidence == NULL || causes == NULL || ball == NULL) {
        return NULL;
    }
    const char *fits = "";
    if (fix->flight_match >= CODES_FLIGHT_FITS && ball[0] != '\0') {
        fits = arena_printf(arena, " It fits what the ball does: %s.", ball);
    }
    return fits == NULL ? NULL
                        : arena_printf(arena, "%s comes %s: %s.%s%s", name, index == 0 ? "first" : "second", evidence,
                                       causes, fits);
}

const char *words_leave_alone(struct arena *arena, const struct report *report, enum fault_id fault)
{
    const char *name = capital(arena, words_fault(fault));
    if (name == NULL) {
        return NULL;
    }
    const struct first_fix *cause = codes_cause(report, fault);
    if (cause != NULL) {
        const char *code = codes_share(cause->explains[fault]);
        return arena_printf(
            arena, "%s: leave it for now. It usually comes %s from this: %s; check it again when that is better.", name,
            code[0] == 'p'   ? "in part"
            : code[0] == 'h' ? "about half"
                             : "mostly",
            words_fault(cause->fault));
    }
    return arena_printf(arena, "%s: leave it for now. It is there, but it matters less than what comes first.", name);
}

static const char *side(double value)
{
    return value < 0 ? "left" : "right";
}

const char *words_camera(struct arena *arena, const struct camera_finding *f)
{
    const char *view = f->kind == VIEW_DOWN_THE_LINE ? "Behind" : "In front";
    switch (f->issue) {
    case CAMERA_NO_REFERENCE:
        if (f->kind == VIEW_FACE_ON) {
            return "In front: nothing shows how the camera is turned. Stand it square to the player, or lay a stick.";
        }
        return arena_printf(arena,
                            "%s: nothing shows where the target line runs, so shaft directions are only good to about "
                            "12°. Lay two sticks on the ground along the line, or mark a far flag.",
                            view);
    case CAMERA_ONE_STICK:
        return arena_printf(arena, "%s: one stick shows the camera's direction but not its tilt. Lay a second one.",
                            view);
    case CAMERA_YAW:
        return arena_printf(arena, "%s: the camera looks %.0f° to the %s of the line. Turn it %.0f° to the %s.", view,
                            fabs(f->value), side(f->value), fabs(f->turn_right_deg), side(f->turn_right_deg));
    case CAMERA_TOO_HIGH:
        return arena_printf(arena, "%s: the camera is %.1f m above the head. Lower it by %.1f m, to hand height.", view,
                            fabs(f->value), fabs(f->move_up_m));
    case CAMERA_TOO_LOW:
        return arena_printf(arena, "%s: the camera is %.1f m below the knees. Raise it by %.1f m, to hand height.",
                            view, fabs(f->value), fabs(f->move_up_m));
    case CAMERA_ROLL_SLIGHT:
    case CAMERA_ROLL:
        return arena_printf(arena, "%s: the picture is tilted by %.1f°. Turn the camera %.1f° %s.", view,
                            fabs(f->value), fabs(f->roll_clockwise_deg),
                            f->roll_clockwise_deg < 0 ? "anticlockwise" : "clockwise");
    case CAMERA_STICKS_CROSS:
        return arena_printf(arena, "%s: the two sticks don't run the same way, so neither was used. Lay them again.",
                            view);
    case CAMERA_OFF_LINE:
        return arena_printf(arena,
                            "%s: the camera stands %.1f m to the %s of the hands' line. Move it %.1f m to the %s.",
                            view, fabs(f->value), side(f->value), fabs(f->move_right_m), side(f->move_right_m));
    case CAMERA_DISTANCE:
        return arena_printf(
            arena,
            "%s: the distance given and the size of the club in the picture disagree by %.1f m. Measure "
            "from the lens to the hands again, and check the club's length.",
            view, fabs(f->value));
    case CAMERA_HAND:
        return arena_printf(arena,
                            "%s: the club lies on the wrong side of the player, so nothing was read from the pictures. "
                            "Check whether the student plays right- or left-handed.",
                            view);
    default:
        return arena_printf(arena,
                            "%s: the club is longer in the picture than it can be%s%s. Check its length and the marks.",
                            view, f->issue == CAMERA_CLIPPED ? " " : "",
                            f->issue == CAMERA_CLIPPED && f->value >= 0 && f->value < CHECKPOINT_COUNT
                                ? words_checkpoint((enum checkpoint)(int)f->value)
                                : "");
    }
}

const char *words_settle(struct arena *arena, unsigned settle)
{
    static const char *const names[SETTLE_BITS] = {"two sticks on the ground along the target line",
                                                   "a picture from behind along the target line",
                                                   "a picture from the front",
                                                   "three swings or more",
                                                   "a camera that films more frames a second",
                                                   "a scale, mat or plates under the feet",
                                                   "motion-capture data",
                                                   "a coach's check of the points that were found by software",
                                                   "one swing filmed from behind and from the front"};
    const char *phrases[SETTLE_BITS];
    int count = 0;
    for (int i = 0; i < SETTLE_BITS; i++) {
        if (settle & 1U << i) {
            phrases[count++] = names[i];
        }
    }
    return words_list(arena, phrases, count, " or ");
}

const char *words_scope(struct arena *arena, const struct report *report)
{
    if (report->habit) {
        return arena_printf(arena, "This is about the habit that %d swings show together.", report->swing_count);
    }
    return report->swing_count == 1 ? "This is about one swing only; it takes three or more to show a habit."
                                    : "This is about these two swings only; it takes three or more to show a habit.";
}

/* As the player sees it: the core's right is a left-hander's left. */
static const char *flight_word(enum flight_side where, enum hand hand)
{
    if (hand == HAND_LEFT && where == FLIGHT_LEFT) {
        where = FLIGHT_RIGHT;
    } else if (hand == HAND_LEFT && where == FLIGHT_RIGHT) {
        where = FLIGHT_LEFT;
    }
    return flight_side_name(where);
}

const char *words_flight(struct arena *arena, const struct flight_class *flight, enum hand hand)
{
    const char *parts[2];
    int count = 0;
    if (flight->start != FLIGHT_UNKNOWN) {
        parts[count++] = arena_printf(arena, "starts %s", flight_word(flight->start, hand));
    }
    if (flight->curve == FLIGHT_STRAIGHT) {
        parts[count++] = "does not curve";
    } else if (flight->curve != FLIGHT_UNKNOWN) {
        parts[count++] = arena_printf(arena, "curves %s", flight_word(flight->curve, hand));
    }
    const char *moves = words_list(arena, parts, count, " and ");
    const char *strike = flight->strike == STRIKE_UNKNOWN ? NULL : strike_name(flight->strike);
    if (moves == NULL) {
        return NULL;
    }
    if (strike == NULL) {
        return count == 0 ? "" : arena_printf(arena, "it %s", moves);
    }
    return arena_printf(arena, "the strike is %s%s%s", strike, count == 0 ? "" : " and the ball ", moves);
}

/* The sentences of motion data: the order of the body, checkpoint times, what is wrong with a record and what to do. */
#include "wire/report/words_motion.h"

#include <math.h>
#include <string.h>

#define MS 1000.0
#define NAMES_MAX 12 /* markers named in one sentence */

/* "grip", of "grip: middle of the hands" */
static const char *point_words(const struct speaker *say, enum point point)
{
    const char *name = words_say_code(say, "point.", point_name(point));
    return name == NULL ? NULL : arena_strndup(say->arena, name, strcspn(name, ":"));
}

const char *words_segment(const struct speaker *say, enum motion_segment segment)
{
    return words_say_code(say, "segment.", motion_segment_name(segment));
}

static const char *the_segment(const struct speaker *say, enum motion_segment segment)
{
    return words_say_code(say, "segment.the.", motion_segment_name(segment));
}

/* Sentences, one after another; NULL ones fail the whole, "" are left out. */
static const char *sentences(const struct speaker *say, const char *const *all, int count)
{
    const char *text = "";
    for (int i = 0; i < count && text != NULL; i++) {
        if (all[i] == NULL) {
            return NULL;
        }
        const char *gap = text[0] == '\0' || all[i][0] == '\0' ? "" : " ";
        text = arena_printf(say->arena, "%s%s%s", text, gap, all[i]);
    }
    return text;
}

/* "No clear peak: chest." of a key with {list}; "" of none. */
static const char *listed(const struct speaker *say, const char *key, const char *const *names, int count)
{
    return count == 0 ? "" : words_say(say, key, "list", words_list(say, names, count, false), NULL);
}

/* The found peaks in the order of their times. */
static int peaks_sorted(const struct motion_summary *motion, enum motion_segment out[MOTION_SEGMENT_COUNT])
{
    int count = 0;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        if (!motion->peaks[s].found) {
            continue;
        }
        int at = count++;
        while (at > 0 && motion->peaks[out[at - 1]].time_s > motion->peaks[s].time_s) {
            out[at] = out[at - 1];
            at--;
        }
        out[at] = (enum motion_segment)s;
    }
    return count;
}

/* What peak times are told from: impact, else the hands' low point, else the record's start. */
struct reference {
    double time_s, sd_s;
    const char *key;
};

static struct reference reference_of(const struct motion_summary *motion)
{
    const struct motion_time *impact = &motion->events[CHECKPOINT_IMPACT];
    if (impact->found) {
        return (struct reference){impact->time_s, impact->sd_s, "motion.impact"};
    }
    if (motion->hands_low.found) {
        return (struct reference){motion->hands_low.time_s, motion->hands_low.sd_s, "motion.hands_low"};
    }
    return (struct reference){0, 0, "motion.start"};
}

/* "92 ms ± 8 ms before impact", and without the last words in a list where they would only repeat. */
static const char *lead_time(const struct speaker *say, const struct motion_peak *peak, const struct reference *from,
                             bool first)
{
    double lag = MS * (peak->time_s - from->time_s);
    double error = fmax(1, CODES_SURE * MS * hypot(peak->sd_s, from->sd_s));
    double size = fabs(round(lag));
    const char *key = first       ? (size == 0 ? "motion.lag.same"
                                     : lag > 0 ? "motion.lag.after"
                                               : "motion.lag.before")
                      : size == 0 ? "motion.lag.more.same"
                      : lag > 0   ? "motion.lag.more.after"
                                  : "motion.lag.more.before";
    return words_say(say, key, "lag", arena_printf(say->arena, "%.0f ms ± %.0f ms", size, error), "what",
                     words_say(say, from->key, NULL), NULL);
}

/* "The pelvis turned fastest 92 ms ± 8 ms before impact, then the chest (64 ms ± 8 ms before) and ...": no stop. */
static const char *sequence_list(const struct speaker *say, const struct motion_summary *motion,
                                 const enum motion_segment *order, int count)
{
    const struct reference from = reference_of(motion);
    const char *text = "";
    for (int i = 0; i < count && text != NULL; i++) {
        const char *when = lead_time(say, &motion->peaks[order[i]], &from, i == 0);
        const char *part = the_segment(say, order[i]);
        const char *key = i == 1 ? "motion.order.then" : i == count - 1 ? "motion.order.last" : "motion.order.next";
        text = i == 0 ? words_say(say, "motion.order.first", "part", words_capital(say, part), "when", when, NULL)
                      : words_say(say, key, "list", text, "part", part, "when", when, NULL);
    }
    return text;
}

/* What is to be said of every expected pair of neighbours that was seen: "" when all came as usual. */
static const char *order_verdict(const struct speaker *say, const struct motion_summary *motion)
{
    const char *swapped[MOTION_SEGMENT_COUNT];
    const char *close = "";
    int count = 0;
    int before = -1;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        if (!motion->peaks[s].found) {
            continue;
        }
        const int sign = before < 0 ? 1 : codes_lag(&motion->peaks[before], &motion->peaks[s]);
        const char *late = the_segment(say, (enum motion_segment)s);
        const char *early = before < 0 ? "" : the_segment(say, (enum motion_segment)before);
        if (sign < 0) {
            swapped[count++] = words_say(say, "motion.order.swapped", "first", late, "second", early, NULL);
        } else if (sign == 0) {
            const char *pair = words_list(say, (const char *const[]){early, late}, 2, false);
            close = close == NULL || close[0] == '\0'
                        ? pair
                        : words_say(say, "motion.order.pairs", "list", close, "more", pair, NULL);
        }
        before = s;
    }
    const char *told[] = {
        listed(say, "motion.order.here", swapped, count),
        close == NULL || close[0] == '\0' ? close : words_say(say, "motion.order.close", "list", close, NULL)};
    return sentences(say, told, 2);
}

/* "Not yet at its fastest 50 ms after impact: chest. No clear peak: pelvis. Not measured: club.", "" when there is none
 * of these. */
static const char *unmeasured(const struct speaker *say, const struct motion_summary *motion)
{
    const char *late[MOTION_SEGMENT_COUNT];
    const char *flat[MOTION_SEGMENT_COUNT];
    const char *unseen[MOTION_SEGMENT_COUNT];
    int late_count = 0;
    int flat_count = 0;
    int unseen_count = 0;
    const struct reference from = reference_of(motion);
    const char *when = "";
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        if (motion->peaks[s].late) {
            const double lag = MS * (motion->peaks[s].time_s - from.time_s);
            when =
                words_say(say, lag < 0 ? "motion.lag.before" : "motion.lag.after", "lag",
                          arena_printf(say->arena, "%.0f ms", fabs(lag)), "what", words_say(say, from.key, NULL), NULL);
            late[late_count++] = words_segment(say, (enum motion_segment)s);
        } else if (!motion->peaks[s].found && motion->curve_known[s]) {
            flat[flat_count++] = words_segment(say, (enum motion_segment)s);
        } else if (!motion->peaks[s].found) {
            unseen[unseen_count++] = words_segment(say, (enum motion_segment)s);
        }
    }
    const char *told[] = {late_count == 0 ? ""
                                          : words_say(say, "motion.late", "when", when, "list",
                                                      words_list(say, late, late_count, false), NULL),
                          listed(say, "motion.flat", flat, flat_count),
                          listed(say, "motion.unseen", unseen, unseen_count)};
    return sentences(say, told, 3);
}

const char *words_sequence(const struct speaker *say, const struct motion_summary *motion)
{
    enum motion_segment order[MOTION_SEGMENT_COUNT];
    const int count = peaks_sorted(motion, order);
    if (count == 0) {
        return words_say(say, "motion.order.none", NULL);
    }
    const char *list = sequence_list(say, motion, order, count);
    const char *verdict = count == 1 ? "" : order_verdict(say, motion);
    if (list == NULL || verdict == NULL) {
        return NULL;
    }
    const char *told[] = {count == 1           ? words_say(say, "motion.order.alone", "list", list, NULL)
                          : verdict[0] == '\0' ? words_say(say, "motion.order.usual", "list", list, NULL)
                                               : arena_printf(say->arena, "%s.", list),
                          verdict, unmeasured(say, motion)};
    return sentences(say, told, 3);
}

const char *words_motion_time(const struct speaker *say, const struct motion_time *time)
{
    const char *seconds = words_number(say, time->time_s, 3);
    return seconds == NULL ? NULL
                           : arena_printf(say->arena, "%s s ± %.0f ms", seconds, fmax(1, CODES_SURE * MS * time->sd_s));
}

/* "0.81 s ± 0.02 s" from one time to another. */
static const char *span(const struct speaker *say, const struct motion_time *from, const struct motion_time *to)
{
    const char *seconds = words_number(say, to->time_s - from->time_s, 2);
    const char *error = words_number(say, fmax(0.01, CODES_SURE * hypot(from->sd_s, to->sd_s)), 2);
    return seconds == NULL || error == NULL ? NULL : arena_printf(say->arena, "%s s ± %s s", seconds, error);
}

const char *words_motion_tempo(const struct speaker *say, const struct motion_summary *motion)
{
    const struct motion_time *start = &motion->events[CHECKPOINT_ADDRESS];
    const struct motion_time *top = &motion->events[CHECKPOINT_TOP];
    const struct motion_time *end = &motion->events[CHECKPOINT_IMPACT];
    if (!start->found || !top->found || !end->found) {
        return start->found && top->found ? words_say(say, "motion.tempo.back", "back", span(say, start, top), NULL)
                                          : words_say(say, "motion.tempo.none", NULL);
    }
    const double back = top->time_s - start->time_s;
    const double down = end->time_s - top->time_s;
    if (!(back > 0) || !(down > 0)) {
        return words_say(say, "motion.tempo.mixed", NULL);
    }
    const double tempo = back / down;
    /* the top's error lengthens one part and shortens the other */
    const double error = hypot(hypot(start->sd_s / down, top->sd_s * (1 + tempo) / down), end->sd_s * tempo / down);
    return words_say(say, "motion.tempo", "back", span(say, start, top), "down", span(say, top, end), "tempo",
                     words_number(say, tempo, 1), "error", words_number(say, fmax(0.1, CODES_SURE * error), 1), NULL);
}

static const char *which_swing(const struct speaker *say, const struct motion_summary *motion)
{
    return words_say(say, motion->by_impact ? "motion.which.ball" : "motion.which.hands", NULL);
}

const char *words_motion_record(const struct speaker *say, const struct motion_summary *motion)
{
    const char *told[] = {
        words_say(say, motion->has_club ? "motion.record" : "motion.record.bare", "seconds",
                  words_number(say, motion->duration_s, 1), "rate", words_number(say, motion->rate_hz, 0), NULL),
        motion->swing_count > 1
            ? words_say(say, "motion.swings", "n", arena_printf(say->arena, "%d", motion->swing_count), "which",
                        which_swing(say, motion), NULL)
            : ""};
    return sentences(say, told, 2);
}

/* A finding's value as its sentence says it. */
static const char *finding_value(const struct speaker *say, const struct motion_finding *f)
{
    switch (f->issue) {
    case MOTION_REPEATED:
        return words_number(say, fmax(1, 100 * f->value), 0);
    case MOTION_CLUB_LENGTH:
    case MOTION_MISSED_BALL:
        return words_number(say, 100 * f->value, 0);
    case MOTION_NO_SWING:
        return words_number(say, f->value, 1);
    default:
        return words_number(say, fabs(f->value), 2);
    }
}

const char *words_motion_finding(const struct speaker *say, const struct motion_summary *motion,
                                 const struct motion_finding *f, enum hand hand)
{
    const bool left = hand == HAND_LEFT;
    switch (f->issue) {
    case MOTION_NO_IMPACT:
        return words_say(say, motion->has_club ? "motion.issue.no_impact" : "motion.issue.no_club", NULL);
    case MOTION_OTHER_SWINGS:
        return words_say(say, "motion.issue.other_swings", "n", words_number(say, f->value, 0), "which",
                         which_swing(say, motion), NULL);
    case MOTION_NOT_A_BODY:
        return words_say(say, "motion.issue.not_a_body", "value", finding_value(say, f), "where",
                         words_say(say, f->value < 0 ? "motion.below" : "motion.above", NULL), NULL);
    case MOTION_FACES_AWAY:
    case MOTION_SIDES_SWAPPED: /* the side that leads is the other one than the player's hand */
        return words_say(say, f->issue == MOTION_FACES_AWAY ? "motion.issue.faces_away" : "motion.issue.sides_swapped",
                         "player", words_say(say, left ? "motion.hand.left" : "motion.hand.right", NULL), "lead",
                         words_say(say, left ? "motion.side.right" : "motion.side.left", NULL), NULL);
    default: {
        const char *key = arena_printf(say->arena, "motion.issue.%s", motion_issue_name(f->issue));
        return key == NULL
                   ? NULL
                   : words_say(say, key, "value", finding_value(say, f), "point", point_words(say, f->point), NULL);
    }
    }
}

/* "No marker was found for: a, b and c." with at most NAMES_MAX of the names, and how many more. */
static const char *markers_named(const struct speaker *say, const char *key, const char *const *names, int count)
{
    if (count <= NAMES_MAX) {
        return listed(say, key, names, count);
    }
    const char *text = names[0];
    for (int i = 1; i < NAMES_MAX; i++) {
        text = words_say(say, "list.more", "list", text, "more", names[i], NULL);
    }
    const char *n = arena_printf(say->arena, "%d", count - NAMES_MAX);
    return words_say(say, key, "list", words_say(say, "list.rest", "list", text, "n", n, NULL), NULL);
}

const char *words_markers(const struct speaker *say, const struct marker_match *match)
{
    const char *missing[POINT_COUNT];
    int count = 0;
    for (int p = 0; p < POINT_COUNT; p++) {
        if (!match->found[p]) {
            missing[count++] = point_words(say, (enum point)p);
        }
    }
    const char *told[] = {markers_named(say, "motion.markers.missing", missing, count),
                          markers_named(say, "motion.markers.unused", match->unmapped, match->unmapped_count)};
    return sentences(say, told, 2);
}

/* The English of motion data: the order of the body, checkpoint times, what is wrong with a record and what to do. */
#include "wire/report/words_motion.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MS 1000.0
#define NAMES_MAX 12 /* markers named in one sentence */

const char *words_point(enum point point)
{
    static const char *const names[POINT_COUNT] = {"head",       "base of the neck", "lead shoulder", "trail shoulder",
                                                   "lead elbow", "trail elbow",      "lead wrist",    "trail wrist",
                                                   "lead hip",   "trail hip",        "lead knee",     "trail knee",
                                                   "lead ankle", "trail ankle",      "lead toe",      "trail toe",
                                                   "grip",       "butt of the club", "clubhead",      "ball"};
    return (unsigned)point < POINT_COUNT ? names[point] : "";
}

const char *words_segment(enum motion_segment segment)
{
    static const char *const names[MOTION_SEGMENT_COUNT] = {"pelvis", "chest", "lead arm", "club"};
    return (unsigned)segment < MOTION_SEGMENT_COUNT ? names[segment] : "";
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
    const char *words;
};

static struct reference reference_of(const struct motion_summary *motion)
{
    const struct motion_time *impact = &motion->events[CHECKPOINT_IMPACT];
    if (impact->found) {
        return (struct reference){impact->time_s, impact->sd_s, "impact"};
    }
    if (motion->hands_low.found) {
        return (struct reference){motion->hands_low.time_s, motion->hands_low.sd_s, "the hands' low point"};
    }
    return (struct reference){0, 0, "the start of the record"};
}

/* "92 ms ± 8 ms before impact", and without the last words in a list where they would only repeat. */
static const char *lead_time(struct arena *arena, const struct motion_peak *peak, const struct reference *from,
                             bool first)
{
    double lag = MS * (peak->time_s - from->time_s);
    double error = fmax(1, CODES_SURE * MS * hypot(peak->sd_s, from->sd_s));
    double size = fabs(round(lag));
    const char *side = size == 0 ? "" : lag > 0 ? " after" : " before";
    if (first) {
        return arena_printf(arena, "%.0f ms ± %.0f ms%s %s", size, error, size == 0 ? " from" : side, from->words);
    }
    return arena_printf(arena, "%.0f ms ± %.0f ms%s", size, error, side);
}

/* "The pelvis turned fastest 92 ms ± 8 ms before impact, then the chest (64 ms ± 8 ms before) and ...": no stop. */
static const char *sequence_list(struct arena *arena, const struct motion_summary *motion,
                                 const enum motion_segment *order, int count)
{
    const struct reference from = reference_of(motion);
    const char *text = "";
    for (int i = 0; i < count && text != NULL; i++) {
        const char *when = lead_time(arena, &motion->peaks[order[i]], &from, i == 0);
        if (when == NULL) {
            return NULL;
        }
        const char *name = words_segment(order[i]);
        const char *joint = i == 1 ? ", then" : i == count - 1 ? " and" : ",";
        text = i == 0 ? arena_printf(arena, "The %s turned fastest %s", name, when)
                      : arena_printf(arena, "%s%s the %s (%s)", text, joint, name, when);
    }
    return text;
}

/* What is to be said of the order: of every expected pair of neighbours that was seen. */
struct verdicts {
    int swapped_count, close_count;
    const char *swapped[MOTION_SEGMENT_COUNT], *close[MOTION_SEGMENT_COUNT];
    bool failed;
};

static struct verdicts verdicts_of(struct arena *arena, const struct motion_summary *motion)
{
    struct verdicts all = {0};
    int before = -1;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        if (!motion->peaks[s].found) {
            continue;
        }
        const int sign = before < 0 ? 1 : codes_lag(&motion->peaks[before], &motion->peaks[s]);
        if (sign < 0) {
            const char *pair = arena_printf(arena, "the %s came before the %s", words_segment((enum motion_segment)s),
                                            words_segment((enum motion_segment)before));
            all.swapped[all.swapped_count++] = pair;
            all.failed = all.failed || pair == NULL;
        } else if (sign == 0) {
            const char *pair = arena_printf(arena, "the %s and the %s", words_segment((enum motion_segment)before),
                                            words_segment((enum motion_segment)s));
            all.close[all.close_count++] = pair;
            all.failed = all.failed || pair == NULL;
        }
        before = s;
    }
    return all;
}

/* " No clear peak: chest." and " Not measured: club.", each "" when there is none. */
static const char *unmeasured(struct arena *arena, const struct motion_summary *motion)
{
    const char *flat[MOTION_SEGMENT_COUNT];
    const char *unseen[MOTION_SEGMENT_COUNT];
    int flat_count = 0;
    int unseen_count = 0;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        const char *name = words_segment((enum motion_segment)s);
        if (!motion->peaks[s].found && motion->curve_known[s]) {
            flat[flat_count++] = name;
        } else if (!motion->peaks[s].found) {
            unseen[unseen_count++] = name;
        }
    }
    const char *flats = words_list(arena, flat, flat_count, " and ");
    const char *rest = words_list(arena, unseen, unseen_count, " and ");
    if (flats == NULL || rest == NULL) {
        return NULL;
    }
    flats = flat_count == 0 ? "" : arena_printf(arena, " No clear peak: %s.", flats);
    rest = unseen_count == 0 ? "" : arena_printf(arena, " Not measured: %s.", rest);
    return flats == NULL || rest == NULL ? NULL : arena_printf(arena, "%s%s", flats, rest);
}

const char *words_sequence(struct arena *arena, const struct motion_summary *motion)
{
    enum motion_segment order[MOTION_SEGMENT_COUNT];
    const int count = peaks_sorted(motion, order);
    if (count == 0) {
        return "How fast the parts of the body turned could not be measured.";
    }
    const char *list = sequence_list(arena, motion, order, count);
    const char *missing = unmeasured(arena, motion);
    const struct verdicts all = verdicts_of(arena, motion);
    if (list == NULL || missing == NULL || all.failed) {
        return NULL;
    }
    if (count == 1) {
        return arena_printf(arena, "%s; one part alone has no order.%s", list, missing);
    }
    if (all.swapped_count == 0 && all.close_count == 0) {
        return arena_printf(arena, "%s: in the usual order.%s", list, missing);
    }
    const char *swapped = words_list(arena, all.swapped, all.swapped_count, " and ");
    const char *close = words_list(arena, all.close, all.close_count, ", and ");
    if (swapped == NULL || close == NULL) {
        return NULL;
    }
    if (all.swapped_count > 0) {
        swapped = arena_printf(arena, " The usual order is pelvis, chest, lead arm, club; here %s.", swapped);
    }
    if (all.close_count > 0) {
        close = arena_printf(arena, " Too close to tell which came first: %s.", close);
    }
    return swapped == NULL || close == NULL ? NULL : arena_printf(arena, "%s.%s%s%s", list, swapped, close, missing);
}

const char *words_motion_time(struct arena *arena, const struct motion_time *time)
{
    return arena_printf(arena, "%.3f s ± %.0f ms", time->time_s, fmax(1, CODES_SURE * MS * time->sd_s));
}

const char *words_motion_tempo(struct arena *arena, const struct motion_summary *motion)
{
    const struct motion_time *start = &motion->events[CHECKPOINT_ADDRESS];
    const struct motion_time *top = &motion->events[CHECKPOINT_TOP];
    const struct motion_time *end = &motion->events[CHECKPOINT_IMPACT];
    if (!start->found || !top->found || !end->found) {
        return start->found && top->found
                   ? arena_printf(arena, "Back %.2f s ± %.2f s; without impact the downswing has no time, so no tempo.",
                                  top->time_s - start->time_s, CODES_SURE * hypot(start->sd_s, top->sd_s))
                   : "No tempo: it needs the last still instant, the top and impact.";
    }
    const double back = top->time_s - start->time_s;
    const double down = end->time_s - top->time_s;
    if (!(back > 0) || !(down > 0)) {
        return "No tempo: the top does not lie between the start and impact.";
    }
    const double tempo = back / down;
    /* the top's error lengthens one part and shortens the other */
    const double error = hypot(hypot(start->sd_s / down, top->sd_s * (1 + tempo) / down), end->sd_s * tempo / down);
    return arena_printf(arena, "Back %.2f s ± %.2f s, down %.2f s ± %.2f s: a tempo of %.1f ± %.1f to one.", back,
                        CODES_SURE * hypot(start->sd_s, top->sd_s), down, CODES_SURE * hypot(top->sd_s, end->sd_s),
                        tempo, fmax(0.1, CODES_SURE * error));
}

const char *words_motion_record(struct arena *arena, const struct motion_summary *motion)
{
    const char *club = motion->has_club ? "with the club" : "without a club to measure";
    if (motion->swing_count > 1) {
        return arena_printf(arena, "%.1f s at %.0f pictures a second, %s. It holds %d swings; the one %s was taken.",
                            motion->duration_s, motion->rate_hz, club, motion->swing_count,
                            motion->by_impact ? "that passes the ball" : "with the fastest hands");
    }
    return arena_printf(arena, "%.1f s at %.0f pictures a second, %s.", motion->duration_s, motion->rate_hz, club);
}

/* What of the body or of the axes is wrong: sides are named as this player has them. */
static const char *body_finding(struct arena *arena, const struct motion_finding *f, enum hand hand)
{
    const char *lead = hand == HAND_LEFT ? "right" : "left";
    const char *player = hand == HAND_LEFT ? "left" : "right";
    switch (f->issue) {
    case MOTION_NOT_A_BODY:
        return arena_printf(arena,
                            "The neck stands %.2f m %s the ankles, which is no player's height: the unit of length or "
                            "the upright axis is not what the file was read with. Say which axis points up, and check "
                            "whether it counts in millimetres or metres.",
                            fabs(f->value), f->value < 0 ? "below" : "above");
    case MOTION_FACES_AWAY:
        return arena_printf(arena,
                            "The player stands the wrong way round: a %s-hander's lead side is the %s one, and here it "
                            "points away from the target. Turn the target axis round, or correct the hand.",
                            player, lead);
    default:
        return arena_printf(arena,
                            "The toes point one way, the lead and trail sides another: left and right are swapped. "
                            "For a %s-hander the %s side leads. Check the hand and the names of the markers.",
                            player, lead);
    }
}

/* What stops the whole record. */
static const char *fault_finding(struct arena *arena, const struct motion_finding *f, enum hand hand)
{
    switch (f->issue) {
    case MOTION_TOO_SHORT:
        return arena_printf(arena,
                            "The record lasts %.2f s, too short to hold a swing. Start it a second before the "
                            "take-away and stop it after the finish.",
                            f->value);
    case MOTION_NO_HANDS:
        return "Neither the grip nor both wrists are seen long enough to follow the hands, so nothing is measured. Put "
               "a marker on each wrist where the cameras see it all through the swing.";
    case MOTION_NO_SWING:
        return arena_printf(arena,
                            "Nothing in the record moves like a full swing: the hands reach %.1f m/s at most. Check "
                            "that the swing itself was recorded, and the rate and the unit of length.",
                            f->value);
    default:
        return body_finding(arena, f, hand);
    }
}

const char *words_motion_finding(struct arena *arena, const struct motion_summary *motion,
                                 const struct motion_finding *f, enum hand hand)
{
    switch (f->issue) {
    case MOTION_GAP:
        return arena_printf(arena,
                            "The %s is hidden for up to %.2f s within the swing, too long to fill in, so what needs it "
                            "there is not measured. Move the marker or a camera so that it stays in sight.",
                            words_point(f->point), f->value);
    case MOTION_REPEATED:
        return arena_printf(arena,
                            "%.0f %% of the frames in the swing repeat the one before; they are taken as gaps. Check "
                            "the rate at which the file was saved.",
                            fmax(1, 100 * f->value));
    case MOTION_CLUB_LENGTH:
        return arena_printf(arena,
                            "The distance from the grip to the clubhead changes by %.0f %%, which no club does, so "
                            "nothing is measured of the club. Check that both markers sit on it and carry the right "
                            "names.",
                            100 * f->value);
    case MOTION_NO_STILLNESS:
        return "The record begins after the take-away: nothing is known of address, the backswing's time or changes "
               "since address. Start a second earlier.";
    case MOTION_NO_IMPACT:
        return motion->has_club ? "The clubhead never passes the ball, so impact is not known. Check that the record "
                                  "goes on past the strike, and where the ball's marker lies."
                                : "Without the club, impact is not known, nor is the tempo; times are told from the "
                                  "hands' low point. Put markers on the grip and the clubhead.";
    case MOTION_OTHER_SWINGS:
        return arena_printf(arena,
                            "The record holds %.0f other swing%s; the one %s was taken. Save one swing a file "
                            "to choose for yourself.",
                            f->value, f->value >= 1.5 ? "s" : "",
                            motion->by_impact ? "that passes the ball" : "with the fastest hands");
    case MOTION_MISSED_BALL:
        return arena_printf(arena,
                            "The clubhead passes %.0f cm from the ball. If the ball was struck, the ball's marker was "
                            "moved or sits elsewhere; if not, it was a practice swing.",
                            100 * f->value);
    default:
        return fault_finding(arena, f, hand);
    }
}

/* At most NAMES_MAX of count names, and how many more. */
static const char *names_list(struct arena *arena, const char *const *names, int count)
{
    if (count <= NAMES_MAX) {
        return words_list(arena, names, count, " and ");
    }
    const char *list = words_list(arena, names, NAMES_MAX, ", ");
    return list == NULL ? NULL : arena_printf(arena, "%s and %d more", list, count - NAMES_MAX);
}

const char *words_markers(struct arena *arena, const struct marker_match *match)
{
    const char *missing[POINT_COUNT];
    int count = 0;
    for (int p = 0; p < POINT_COUNT; p++) {
        if (!match->found[p]) {
            missing[count++] = words_point((enum point)p);
        }
    }
    const char *lacks = names_list(arena, missing, count);
    const char *others = names_list(arena, match->unmapped, match->unmapped_count);
    if (lacks == NULL || others == NULL) {
        return NULL;
    }
    if (count > 0) {
        lacks = arena_printf(arena, "No marker was found for: %s.", lacks);
    }
    if (match->unmapped_count > 0) {
        others = arena_printf(arena, "%sNot used, because the map names no point for them: %s.", count > 0 ? " " : "",
                              others);
    }
    return lacks == NULL || others == NULL ? NULL : arena_printf(arena, "%s%s", lacks, others);
}

/* What must hold of a motion summary, and of the drawings that are made of it. */
#include <ctype.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "wire/report/draw_motion.h"

static bool whole(struct vec3 at)
{
    return isfinite(at.x) && isfinite(at.y) && isfinite(at.z);
}

/* A time within the record, give or take what its last interval may hold. */
static void check_time(const struct motion_time *time, const struct motion_summary *motion)
{
    const double step = 1 / motion->rate_hz;
    fuzz_require(!time->found || (time->time_s >= -step && time->time_s <= motion->duration_s + step),
                 "a checkpoint lies within the record");
    fuzz_require(!time->found || (time->sd_s >= 0 && isfinite(time->sd_s)), "the error of a time is finite and >= 0");
}

/* Checkpoints come in the order of a swing; only shaft and arm may pass their levels in either order. */
static void check_order(const struct motion_summary *motion)
{
    static const int phase[CHECKPOINT_COUNT] = {0, 1, 1, 2, 3, 3, 4, 5, 5, 6};
    for (int i = 0; i < CHECKPOINT_COUNT; i++) {
        for (int k = 0; k < i; k++) {
            fuzz_require(phase[k] == phase[i] || !motion->events[k].found || !motion->events[i].found ||
                             motion->events[k].time_s <= motion->events[i].time_s,
                         "checkpoints come in the order of a swing");
        }
    }
}

static void check_events(const struct motion_summary *motion)
{
    check_order(motion);
    for (int i = 0; i < CHECKPOINT_COUNT; i++) {
        check_time(&motion->events[i], motion);
        for (int p = 0; p < POINT_COUNT; p++) {
            const struct motion_place *place = &motion->places[i][p];
            fuzz_require(!place->seen || (whole(place->at) && whole(place->velocity)), "a place is finite");
        }
    }
    check_time(&motion->hands_low, motion);
}

static void check_curves(const struct motion_summary *motion)
{
    fuzz_require(motion->curve_count >= 0 && motion->curve_count <= MOTION_CURVE_MAX, "curve samples");
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        const struct motion_peak *peak = &motion->peaks[s];
        fuzz_require(!peak->found || (isfinite(peak->time_s) && isfinite(peak->sd_s) && peak->sd_s >= 0),
                     "a peak's time is finite");
        fuzz_require(!peak->found || (isfinite(peak->speed_deg_s) && peak->speed_deg_s >= 0), "a peak's speed");
        for (int i = 0; motion->curve_known[s] && i < motion->curve_count; i++) {
            fuzz_require(isfinite(motion->curves[s][i]), "a curve is finite");
        }
    }
    for (int phase = 0; phase < MOTION_PHASE_COUNT; phase++) {
        const struct motion_path *path = &motion->paths[phase];
        fuzz_require(path->count >= 0 && path->count <= MOTION_PATH_MAX, "path samples");
        for (int i = 0; i < path->count; i++) {
            fuzz_require(whole(path->hands[i]), "a path is finite");
        }
    }
}

/* A number that is none reads nan or inf: as a word of its own, between marks. */
static bool has_word(const char *text, const char *word)
{
    const size_t length = strlen(word);
    for (const char *at = strstr(text, word); at != NULL; at = strstr(at + 1, word)) {
        if ((at == text || !isalpha((unsigned char)at[-1])) && !isalpha((unsigned char)at[length])) {
            return true;
        }
    }
    return false;
}

static void check_drawing(const char *svg, size_t length)
{
    fuzz_require(svg != NULL, "a drawing is made");
    fuzz_require(strlen(svg) == length, "a drawing's length");
    fuzz_require(strstr(svg, "</svg>") != NULL, "a drawing ends");
    fuzz_require(!has_word(svg, "nan") && !has_word(svg, "inf"), "a drawing's numbers are numbers");
    json_t *as_string = json_stringn(svg, length);
    fuzz_require(as_string != NULL, "a drawing is UTF-8");
    json_decref(as_string);
}

void fuzz_check_motion(const struct motion_summary *motion, const struct report *report, struct arena *arena)
{
    size_t length = 0;
    fuzz_require(motion->rate_hz > 0 && isfinite(motion->rate_hz), "a rate");
    fuzz_require(motion->duration_s >= 0 && isfinite(motion->duration_s), "a duration");
    fuzz_require(!motion->has_club || (motion->club_length > 0 && isfinite(motion->club_length)), "a club's length");
    fuzz_require(isfinite(motion->noise_m) && motion->noise_m >= 0, "noise");
    fuzz_require(isfinite(motion->hands_speed_ms) && motion->hands_speed_ms >= 0, "the hands' speed");
    fuzz_require(!motion->has_club || (isfinite(motion->plane_slope_deg) && isfinite(motion->plane_direction_deg) &&
                                       isfinite(motion->plane_rms_m)),
                 "the club's plane is finite");
    fuzz_require(motion->swing_count >= 0, "swings in the record");
    fuzz_require(motion->finding_count >= 0 && motion->finding_count <= MOTION_FINDINGS_MAX, "findings");
    for (int i = 0; i < motion->finding_count; i++) {
        fuzz_require(motion->findings[i].issue < MOTION_ISSUE_COUNT && isfinite(motion->findings[i].value),
                     "a finding");
    }
    check_events(motion);
    check_curves(motion);
    const struct measure *items = report->measures.items;
    const char *speeds = draw_speeds(motion, "fuzz <&>", &(struct speaker){arena, NULL}, &length);
    check_drawing(speeds, length);
    const char *hands = draw_hands(motion, &items[MEASURE_ORDER_BACK], &items[MEASURE_ORDER_DOWN], "fuzz <&>",
                                   &(struct speaker){arena, NULL}, &length);
    check_drawing(hands, length);
}

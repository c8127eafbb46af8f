/* A swing recorded as points in space at a fixed rate: from the samples to a summary that the measures read.
 *
 * World frame of swing.h, a right-hander's: the reader turns axes and mirrors a left-hander before calling.
 * motion_analyse() fills short gaps, filters (body 12 Hz, club 20 Hz, the club never across impact), finds the swing
 * and its checkpoints between samples, and keeps the places, speeds and paths that measures and drawings need. Sources:
 * docs/measures.md. Allocates nothing: the caller lends the work memory. */
#ifndef LEADSIDE_CORE_MOTION_MOTION_H
#define LEADSIDE_CORE_MOTION_MOTION_H

#include <stdbool.h>
#include <stddef.h>

#include "core/names.h"
#include "core/swing.h"
#include "core/vec.h"

#define MOTION_SAMPLES_MAX 5000
#define MOTION_BODY_HZ 12.0       /* common practice */
#define MOTION_CLUB_HZ 20.0       /* common practice */
#define MOTION_START_HZ 6.0       /* the copy on which stillness is judged */
#define MOTION_FIXED_SD_M 0.004   /* of a point per axis: where the marker sits, the same all through the swing */
#define MOTION_MOVING_SD_M 0.0027 /* skin and cloth, new at each checkpoint: of 3 mm what the filter leaves */
#define MOTION_CLUB_LENGTH_VARIES 0.10
#define MOTION_PATH_MAX 96   /* samples kept of each phase of the hands' path */
#define MOTION_CURVE_MAX 240 /* samples kept of each speed curve */
#define MOTION_FINDINGS_MAX 24
#define MOTION_RATE_MIN 20.0 /* pictures a second */
#define MOTION_RATE_MAX 2000.0

/* Borrowed arrays of `count` places; at[p] NULL = the record has no such point. seen[p] NULL = no gaps. Where seen is
 * false the place means nothing. */
struct motion_record {
    double rate_hz; /* MOTION_RATE_MIN...MOTION_RATE_MAX; anything else is refused */
    int count;
    const struct vec3 *at[POINT_COUNT];
    const bool *seen[POINT_COUNT];
};

#define MOTION_ISSUE_NAMES(X)                                                                                          \
    X(MOTION_TOO_SHORT, "too_short")   /* value: seconds */                                                            \
    X(MOTION_NO_HANDS, "no_hands")     /* neither grip nor wrists, or mostly gaps */                                   \
    X(MOTION_NO_SWING, "no_swing")     /* nothing in it moves like a full swing; value: fastest hands, m/s */          \
    X(MOTION_NOT_A_BODY, "not_a_body") /* value: neck above ankles, m: the unit or the upright axis must be wrong */   \
    X(MOTION_FACES_AWAY,                                                                                               \
      "faces_away") /* lead side and toes both point the wrong way: the target lies on the other side */               \
    X(MOTION_SIDES_SWAPPED, "sides_swapped") /* toes say one thing, lead and trail the other */                        \
    X(MOTION_GAP, "gap")                     /* point; value: longest gap within the swing, s */                       \
    X(MOTION_REPEATED, "repeated")           /* value: share of frames within the swing that repeat the one before */  \
    X(MOTION_CLUB_LENGTH,                                                                                              \
      "club_length") /* value: how much grip to clubhead varies, share of its median: not a rigid club */              \
    X(MOTION_NO_STILLNESS, "no_stillness") /* the record begins after the take-away */                                 \
    X(MOTION_NO_IMPACT, "no_impact")       /* no club, or it never passes the ball */                                  \
    X(MOTION_OTHER_SWINGS,                                                                                             \
      "other_swings") /* value: how many other swings the record holds; which was taken: by_impact */                  \
    X(MOTION_MISSED_BALL, "missed_ball") /* value: distance of the clubhead from the ball as it passes, m */

enum motion_issue { MOTION_ISSUE_NAMES(NAMES_ENUM) MOTION_ISSUE_COUNT };

struct motion_finding {
    enum motion_issue issue;
    bool fault;       /* nothing (MOTION_CLUB_LENGTH: nothing of the club) is measured from the record */
    enum point point; /* of MOTION_GAP */
    double value;
};

struct motion_time {
    bool found;
    double time_s; /* from the first sample */
    double sd_s;   /* random */
};

/* A filtered point at a checkpoint. */
struct motion_place {
    bool seen;
    struct vec3 at;       /* m */
    struct vec3 velocity; /* m/s */
};

/* What turns, in the order in which peak speeds are expected. */
#define MOTION_SEGMENT_NAMES(X)                                                                                        \
    X(MOTION_PELVIS, "pelvis")                                                                                         \
    X(MOTION_CHEST, "chest")                                                                                           \
    X(MOTION_LEAD_ARM, "lead_arm")                                                                                     \
    X(MOTION_CLUB, "club")

enum motion_segment { MOTION_SEGMENT_NAMES(NAMES_ENUM) MOTION_SEGMENT_COUNT };

/* Fastest turn of a segment in the downswing, up to 0.05 s after impact. */
struct motion_peak {
    bool found;
    double time_s, sd_s;
    double shared_s; /* of sd_s, what every broad peak has alike: how far the longer side draws its top. 0 of a sharp
                        one */
    double speed_deg_s;
    bool late; /* not found: at time_s, where the search ends, it is as fast as ever or still gaining */
};

enum motion_phase { MOTION_BACK, MOTION_DOWN, MOTION_THROUGH, MOTION_PHASE_COUNT };

/* The hands about the hub (middle of the shoulders, where it is at each instant): x and z from the hub, y from the
 * ground, m. Address to top to impact to arm_through; without a club to the hands' highest point and to their lowest.
 */
struct motion_path {
    int count; /* 0 = not known */
    struct vec3 hands[MOTION_PATH_MAX];
};

struct motion_summary {
    double rate_hz, duration_s;
    bool has_club;      /* a club that can be believed */
    double club_length; /* grip to clubhead, m, when has_club */
    int swing_count;    /* swings in the record */
    bool by_impact;     /* taken because it passes the ball; else the fastest */
    double noise_m;     /* sd of what the filter took out, per axis */
    struct motion_time events[CHECKPOINT_COUNT];
    struct motion_time hands_low; /* the hands' lowest point of the downswing, known without a club */
    struct motion_place places[CHECKPOINT_COUNT][POINT_COUNT];
    struct motion_peak peaks[MOTION_SEGMENT_COUNT];
    double hands_speed_ms; /* fastest in the downswing */
    double plane_slope_deg, plane_direction_deg,
        plane_rms_m; /* of the club, delivery to mid follow-through; has_club */
    struct motion_path paths[MOTION_PHASE_COUNT];
    /* For drawing, from curve_start_s in steps of curve_step_s: deg/s. curve_count 0 = none. */
    int curve_count;
    double curve_start_s, curve_step_s;
    bool curve_known[MOTION_SEGMENT_COUNT];
    double curves[MOTION_SEGMENT_COUNT][MOTION_CURVE_MAX];
    int finding_count;
    struct motion_finding findings[MOTION_FINDINGS_MAX];
};

/* Bytes of work memory that motion_analyse needs for this record; 0 for a record of no or too many samples, or of a
 * rate out of range. Aligned for double. */
size_t motion_work_bytes(const struct motion_record *record);

/* Always fills *out. False when nothing may be measured from the record: a finding says why. A rate out of range counts
 * as a record that is too short. */
bool motion_analyse(const struct motion_record *record, void *work, struct motion_summary *out);

/* How well the time from one peak to another is known, s: what both have alike moves neither against the other. */
double motion_lag_sd(const struct motion_peak *a, const struct motion_peak *b);

const char *motion_issue_name(enum motion_issue value);
const char *motion_segment_name(enum motion_segment value);

#endif

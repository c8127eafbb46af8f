/* What the files of the motion analysis share: the filled and filtered record, and the instants found in it. Instants
 * are in samples, with a fraction. Private to core/motion*.c. */
#ifndef LEADSIDE_CORE_MOTION_PARTS_H
#define LEADSIDE_CORE_MOTION_PARTS_H

#include "core/motion/motion.h"
#include "core/motion/series.h"

#define MOTION_MOVING_S 0.1 /* how long the moving part of a point's error keeps its value */
#define MOTION_SERIES 6     /* scalar series of the record's length lent to a step */

struct motion_track {
    struct vec3 *at; /* filled and filtered; NULL = the record has no such point */
    bool *ok;        /* false = a gap too long to fill */
};

/* A club's points before filtering, to be filtered again on each side of impact. */
enum { RAW_GRIP, RAW_BUTT, RAW_CLUBHEAD, RAW_COUNT };

struct motion_work {
    const struct motion_record *record;
    struct motion_summary *out;
    int n;
    double rate;
    struct motion_track points[POINT_COUNT];
    struct motion_track hands, hub; /* middle of the hands; middle of the shoulders */
    struct vec3 *raw[RAW_COUNT];    /* NULL = no such point */
    bool *repeats;                  /* the frame repeats the one before while the player moves */
    double *series[MOTION_SERIES];
    struct vec3 *scratch; /* n places */
    double *filter;       /* work memory of the filters */
    /* Found. */
    int fast;        /* where the hands are fastest */
    int from, to;    /* the part of the record that belongs to this swing */
    double top, low; /* the top of the swing, the hands' lowest point after it */
    double high;     /* the hands' highest point near the top */
    bool has_start;
    double start, start_sd_s;
    bool has_impact;
    double impact;
    int cut; /* last sample before impact; n - 1 without one */
};

/* Notes a finding; those past the room are dropped. */
void motion_note(struct motion_work *work, enum motion_issue issue, bool fault, enum point point, double value);

/* Copies, fills and filters; hands, hub and noise. False: no hands to follow. */
bool motion_prepare(struct motion_work *work);

/* Filters the samples [from, to) of a track, each stretch without gaps on its own. */
void motion_filter(struct motion_work *work, double cutoff_hz, struct vec3 *at, const bool *ok, int from, int to);

/* Which swing, its top, start and low point by the hands alone. False: no swing. */
bool motion_find_swing(struct motion_work *work);

/* The club, when there is one to believe: impact, its filter on both sides, plane, its own top and start. */
void motion_find_club(struct motion_work *work);

/* Where the point that shows the take-away begins to move. */
void motion_find_start(struct motion_work *work, const struct vec3 *at, const bool *ok);

/* Checkpoints, and every point's place at them. */
void motion_find_checkpoints(struct motion_work *work);

/* Speeds of the segments, their peaks, the curves and the paths for drawing. */
void motion_find_speeds(struct motion_work *work);
void motion_find_paths(struct motion_work *work);

/* Place and velocity of a track at an instant, by the cubic through the samples around it; the club's are never taken
 * across impact. False in a gap or outside the record. */
bool motion_at(const struct motion_work *work, const struct motion_track *track, bool club, double instant,
               struct vec3 *at, struct vec3 *velocity);

/* Top or bottom of a series near a sample, between samples. */
double motion_extreme(const double *x, int at, int n);

static inline bool motion_is_club(enum point point)
{
    return point == POINT_GRIP || point == POINT_BUTT || point == POINT_CLUBHEAD;
}

#endif

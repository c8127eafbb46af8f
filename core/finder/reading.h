/* A film as the files of this room read its instants: the hands smoothed, the swing's rough place, the answers so far.
 */
#ifndef LEADSIDE_CORE_FINDER_READING_H
#define LEADSIDE_CORE_FINDER_READING_H

#include "core/finder/curves.h"
#include "core/finder/finder.h"

/* Smoothed hands, px. */
struct finder_hands_at {
    double u, v;
    bool seen;
};

struct finder_reading {
    const struct finder_film *film;
    const struct finder_shaft *shafts;
    struct finder_hands_at *hands;
    struct finder_instant *out;
    double sense; /* +1 where the club turns as a right-hander's in going back, seen from the front */
    int fall;     /* the frame of the steepest fall */
    int high;     /* hands highest before it */
    int low;      /* hands lowest after it */
};

/* Smooths the hands and finds the downswing in them. False where there is none. */
bool finder_read_hands(struct finder_reading *r);

/* Writes an answer that lies in the film and is sure enough. */
void finder_put(struct finder_reading *r, enum checkpoint checkpoint, double frame, double sd_s);

/* At least one. */
int finder_frames_of(const struct finder_film *film, double seconds);

/* The frame, or the film's nearest. */
int finder_within(const struct finder_film *film, int frame);

/* Seconds from `middle` to `frame`. */
double finder_since(const struct finder_reading *r, double frame, double middle);

/* The club's angle in the frames where it is found, within reach_s of `middle`. */
void finder_angles_near(const struct finder_reading *r, double middle, double reach_s, struct curve *out);

/* Answers a level shaft in [from, to] seen from behind, from its heights up to reach_s before and after; sd_s: what
 * its error is at least. */
void finder_deep_level(struct finder_reading *r, enum checkpoint checkpoint, double from, double to, double reach_s,
                       double sd_s);

/* Answers a level arm in [from, to]: the first passing, or the last. */
void finder_arm_level(struct finder_reading *r, enum checkpoint checkpoint, double from, double to, bool last);

/* Answers address, before the frame `before`, and finish, after the frame `after`. */
void finder_address(struct finder_reading *r, double before);
void finder_finish(struct finder_reading *r, double after);

#endif

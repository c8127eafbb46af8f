/* One swing's marks as places in metres, as one view or two show them, and what is known of them besides. Private to
 * core/finder/check*.c. World axes as in core/swing.h, from the middle of the feet. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_SCENE_H
#define LEADSIDE_CORE_FINDER_CHECK_SCENE_H

#include <math.h>

#include "core/camera.h"
#include "core/finder/check.h"
#include "core/swing.h"

/* Of metres and sds, which are far from where a square would run over. */
static inline double scene_hypot(double a, double b)
{
    return sqrt(a * a + b * b);
}

enum scene_side { SIDE_LINE, SIDE_FACE, SCENE_SIDES }; /* from behind: z and y; from the front: x and y */

/* A mark in one picture. */
struct spot {
    bool seen;           /* marked, usable, and not taken out */
    bool settled;        /* confirmed by a person who was asked: never a finding of its own */
    double ray[2];       /* to the side and up, of 1 m ahead */
    double at[2];        /* m to the side and up from the feet */
    double depth;        /* m ahead of the lens, as taken */
    double sd[2];        /* m */
    double px, px_per_m; /* the marking's own error, px; scale */
};

/* Where the film shows the point of a mark: of the picture, so it stays where marks are exchanged. */
struct seen_place {
    bool seen;     /* found, of a mark nobody has confirmed, and not taken out */
    double ray[2]; /* to the side and up, of 1 m ahead */
    double px;     /* its error */
};

/* Lengths that stay. */
enum scene_length {
    LENGTH_UPPER_ARM,
    LENGTH_FOREARM,
    LENGTH_THIGH,
    LENGTH_SHANK,
    LENGTH_SHOULDERS,
    LENGTH_HIPS,
    LENGTH_NECK_SHOULDER,
    LENGTH_TRUNK,
    LENGTH_HEAD,
    LENGTH_WRIST,
    LENGTH_BUTT,
    LENGTH_CLUB,
    LENGTH_REACH,
    LENGTH_COUNT
};

struct scene_bone {
    enum point a, b;
    enum scene_length length;
};

#define SCENE_BONES 20
extern const struct scene_bone scene_bones[SCENE_BONES];

struct scene {
    const struct swing *swing;
    int view[SCENE_SIDES]; /* in the document, -1 = none */
    bool paired;
    double fps[SCENE_SIDES];
    struct camera camera[SCENE_SIDES];
    double depth[SCENE_SIDES], side0[SCENE_SIDES], up0[SCENE_SIDES]; /* of the feet, from the lens, m */
    double skew;                 /* the two lines of sight are not square: z = what is seen from behind - skew x */
    double tilt[2];              /* what is left of roll and pitch: heights from the front + tilt . (x, z) */
    double club;                 /* mid-grip to clubhead, m */
    double length[LENGTH_COUNT]; /* m, 0 = not known */
    double time[SCENE_SIDES][CHECKPOINT_COUNT]; /* s, NAN = not given */
    double instant[CHECKPOINT_COUNT][POINT_COUNT]
                  [SCENE_SIDES]; /* m a point goes while its picture's instant is unsure */
    struct spot spots[CHECKPOINT_COUNT][POINT_COUNT][SCENE_SIDES];
    struct seen_place film[CHECKPOINT_COUNT][POINT_COUNT][SCENE_SIDES];
    /* Of the stated sds of the gaps between mark and film: what the swing's own gaps show, and how surely. */
    double gap_times[POINT_COUNT][SCENE_SIDES], gap_freedom[POINT_COUNT][SCENE_SIDES];
};

/* How far a mark lies from where the film shows its point: m to the side (0) or up (1), and the sd of each of the two
 * by itself, without what both share (the instant, a tilt). */
struct scene_gap {
    double gap, mark_sd, film_sd;
};

/* False when the film does not show the point, or the mark is out. */
bool scene_gap(const struct scene *scene, enum checkpoint at, enum point point, enum scene_side side, int way,
               struct scene_gap *out);

/* Sets the scene of two views, -1 for one that is not there. False when no view has a usable picture. */
__attribute__((warn_unused_result)) bool scene_set(struct scene *scene, const struct swing *swing, int line, int face);

/* Works the places and the lengths out anew after marks were exchanged or taken out. */
void scene_measure(struct scene *scene);

/* How far points go while a view's instants are unsure, by its pictures a second. */
void scene_find_instants(struct scene *scene, enum scene_side side);

/* The steps of that: places by the depths, errors, lengths by their medians (0 = too few). */
void scene_place_all(struct scene *scene);
void scene_find_errors(struct scene *scene);
void scene_find_lengths(struct scene *scene);
double scene_find_length(const struct scene *scene, enum scene_length kind);

/* Place in space of a point that both views show; false when one does not. */
bool scene_place(const struct scene *scene, enum checkpoint at, enum point point, double out[3]);

/* Length of a bone as its moment shows it: in space when both views show both ends, else in the picture of `side`. */
bool scene_in_space(const struct scene *scene, enum checkpoint at, const struct scene_bone *bone, double *length);
bool scene_in_picture(const struct scene *scene, enum checkpoint at, const struct scene_bone *bone,
                      enum scene_side side, double *length);

/* What is known of a length: its own spread, m, squared, and whether it can only be shorter. */
double scene_length_square(const struct scene *scene, enum scene_length length);
bool scene_length_at_most(enum scene_length length);

/* Where a slow point of a picture should be by its neighbours in time, m to the side and up, each with an sd. False for
 * fast points and where no neighbour is marked. */
bool scene_expected(const struct scene *scene, enum checkpoint at, enum point point, enum scene_side side,
                    double out[2], double *sd);

/* Points that keep their place beside others (the middle of two) from one moment to the next, more than in the picture.
 */
struct scene_relation {
    enum point point, beside[2];
    double strays; /* m, sd (common practice) */
};

#define SCENE_RELATIONS 2
extern const struct scene_relation scene_relations[SCENE_RELATIONS];

/* Where a relation's point should be beside the others, m to the side and up, by the neighbours in time, with an sd.
 * False where no neighbour shows all of them. */
bool scene_beside(const struct scene *scene, enum checkpoint at, const struct scene_relation *relation,
                  enum scene_side side, double out[2], double *sd);

/* How fast a point moves at a checkpoint, m/s. */
double scene_speed(enum checkpoint at, enum point point);

double scene_middle(double *values, int count); /* the median; reorders; count >= 1 */

/* lead <-> trail of a point; the point itself when it has no other side. */
enum point scene_other(enum point point);

/* Adds a finding about a view of the scene; point POINT_COUNT = the picture, checkpoint CHECKPOINT_NONE = the view. */
void scene_report(const struct scene *scene, enum scene_side side, enum checkpoint at, enum point point,
                  enum mark_kind kind, double by, struct mark_findings *out);

#endif

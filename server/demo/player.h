/* An invented golfer, posed in 3D at every checkpoint from a handful of dials, so that the demo's numbers hang
 * together. A stick figure with proportions after Drillis & Contini 1966 (from memory); no real player's data. Metres
 * and degrees. */
#ifndef LEADSIDE_DEMO_PLAYER_H
#define LEADSIDE_DEMO_PLAYER_H

#include "core/standard.h"
#include "core/swing.h"
#include "core/vec.h"

/* The dials are the measures of docs/measures.md that they set, in the same units and signs. */
struct demo_player {
    double height_m;
    enum hand hand;
    enum club_kind club;
    int club_number; /* 0 = none */
    double club_length_m;
    double spine_tilt, knee_flex, hands_gap; /* address */
    double plan_back, lift_first;            /* takeaway; lift_first 0...1 */
    double shift_back, lean_back;            /* arm_back: stance widths, deg away from target */
    double cross_top, elevation_top, shoulders_top, lean_top, head_top; /* head_top in shoulder widths */
    double turn_first;                                                  /* downswing, 0...1 */
    double steepness, plan_down;                                        /* arm_down, shaft_down */
    double thrust, spine_change, shift_impact;                          /* impact */
    double bend_impact, bend_through, wing; /* lead elbow; wing 0...1 lifts it away from the body */
    double plan_through, height_through, shift_through;
    double backswing_s, downswing_s;
};

struct demo_pose {
    struct vec3 points[POINT_COUNT];
};

/* A sound swing for somebody of that height with an iron or a driver. */
void demo_player_sound(struct demo_player *player, double height_m, enum hand hand, enum club_kind club);

/* Puts a fault into the swing: strength 0 none ... 1 strong. Faults that only motion data show change nothing. */
void demo_player_dial(struct demo_player *player, enum fault_id fault, double strength);

/* Every point at every checkpoint, as for a right-hander: the ball lies at the clubhead of address, Y up from the
 * ground, the middle of the stance at x = z = 0. */
void demo_player_pose(const struct demo_player *player, struct demo_pose poses[CHECKPOINT_COUNT]);

#endif

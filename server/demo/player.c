/* The invented golfer's skeleton: pelvis, trunk and shoulders from the dials, limbs by two-link geometry. */
#include "demo/player.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define GRIP_TO_BUTT 0.10
#define WRIST_TO_GRIP 0.05

/* Shares of the standing height. */
#define SHARE_UPPER_ARM 0.186
#define SHARE_FOREARM 0.146
#define SHARE_THIGH 0.245
#define SHARE_SHANK 0.246
#define SHARE_TRUNK 0.300
#define SHARE_SHOULDERS 0.220
#define SHARE_HIPS 0.110
#define SHARE_STANCE 0.260
#define SHARE_ANKLE 0.039

/* What a sound swing does at a checkpoint, before the dials. Hands: from the mid-shoulder point, in arm lengths. */
struct moment {
    double pelvis_turn, shoulder_turn, shoulder_drop; /* deg; drop = lead below trail */
    double shift, lean, tilt_change, thrust;          /* stance widths, deg, deg, m */
    double hands[3];
    double bend; /* of the lead elbow */
};

static const struct moment moments[CHECKPOINT_COUNT] = {
    [CHECKPOINT_ADDRESS] = {0, 0, -6, 0, 3, 0, 0, {0.03, -0.99, 0.10}, 5},
    [CHECKPOINT_SHAFT_BACK] = {18, 38, 8, -0.03, 3, 0, 0, {-0.62, -0.76, 0.16}, 4},
    [CHECKPOINT_ARM_BACK] = {34, 70, 24, -0.04, 4, 0, 0, {-0.86, -0.05, -0.10}, 5},
    [CHECKPOINT_TOP] = {45, 90, 34, -0.03, 6, 0, 0, {-0.58, 0.58, -0.45}, 8},
    [CHECKPOINT_ARM_DOWN] = {15, 62, 18, 0.06, 6, 0, 0.01, {-0.84, -0.05, -0.04}, 5},
    [CHECKPOINT_SHAFT_DOWN] = {-8, 35, 0, 0.12, 7, 0, 0.01, {-0.48, -0.82, 0.14}, 4},
    [CHECKPOINT_IMPACT] = {-35, -12, -14, 0.18, 9, 0, 0, {0.10, -0.98, 0.14}, 6},
    [CHECKPOINT_SHAFT_THROUGH] = {-48, -38, -24, 0.22, 10, 0, 0, {0.42, -0.88, 0.14}, 8},
    [CHECKPOINT_ARM_THROUGH] = {-62, -62, -22, 0.34, 2, 0, 0, {0.80, -0.02, 0.02}, 80},
    [CHECKPOINT_FINISH] = {-85, -110, -6, 0.42, 0, -20, 0, {0.05, 0.45, -0.45}, 100},
};

void demo_player_sound(struct demo_player *player, double height_m, enum hand hand, enum club_kind club)
{
    bool wood = club == CLUB_DRIVER || club == CLUB_WOOD;
    double scale = height_m / 1.75;
    *player = (struct demo_player){
        .height_m = height_m,
        .hand = hand,
        .club = club,
        .club_number = club == CLUB_IRON ? 7 : 0,
        .club_length_m = (wood ? 1.12 : 0.94) * (scale < 1.0 ? scale : 0.5 + 0.5 * scale),
        .spine_tilt = wood ? 34.0 : 37.0,
        .knee_flex = 20.0,
        .hands_gap = 0.17,
        .plan_back = 3.0,
        .shift_back = -0.04,
        .lean_back = 4.0,
        .cross_top = -6.0,
        .elevation_top = 12.0,
        .shoulders_top = 35.0,
        .lean_top = 6.0,
        .head_top = -0.1,
        .steepness = -2.0,
        .plan_down = -2.0,
        .shift_impact = 0.18,
        .bend_impact = 6.0,
        .bend_through = 8.0,
        .plan_through = -16.0,
        .height_through = 0.05,
        .shift_through = 0.36,
        .backswing_s = 0.84,
        .downswing_s = 0.28,
    };
}

/* What a strong fault adds to which dials. body_out_of_order needs motion data. */
#define DIAL(name) offsetof(struct demo_player, name)
static const struct {
    enum fault_id fault;
    size_t dial;
    double amount;
} dials[] = {
    {FAULT_UPRIGHT_POSTURE, DIAL(spine_tilt), -20.0},
    {FAULT_UPRIGHT_POSTURE, DIAL(knee_flex), 22.0},
    {FAULT_UPRIGHT_POSTURE, DIAL(shoulders_top), -14.0},
    {FAULT_CROWDING, DIAL(hands_gap), -0.15},
    {FAULT_REACHING, DIAL(hands_gap), 0.18},
    {FAULT_INSIDE_TAKEAWAY, DIAL(plan_back), -28.0},
    {FAULT_OUTSIDE_TAKEAWAY, DIAL(plan_back), 36.0},
    {FAULT_REVERSE_PIVOT, DIAL(shift_back), 0.16},
    {FAULT_REVERSE_PIVOT, DIAL(lean_back), -20.0},
    {FAULT_REVERSE_PIVOT, DIAL(lean_top), -21.0},
    {FAULT_REVERSE_PIVOT, DIAL(head_top), 0.6},
    {FAULT_HIPS_SLIDE_AWAY, DIAL(shift_back), -0.36},
    {FAULT_LIFT_BEFORE_TURN, DIAL(lift_first), 1.0},
    {FAULT_LEVEL_SHOULDERS, DIAL(shoulders_top), -27.0},
    {FAULT_ACROSS_THE_LINE, DIAL(cross_top), 32.0},
    {FAULT_LAID_OFF, DIAL(cross_top), -40.0},
    {FAULT_OVERSWING, DIAL(elevation_top), -48.0},
    {FAULT_TURN_BEFORE_DROP, DIAL(turn_first), 1.0},
    {FAULT_STEEP_DELIVERY, DIAL(plan_down), 26.0},
    {FAULT_STEEP_DELIVERY, DIAL(steepness), 30.0},
    {FAULT_STUCK_DELIVERY, DIAL(plan_down), -30.0},
    {FAULT_STANDING_UP, DIAL(spine_change), -22.0},
    {FAULT_STANDING_UP, DIAL(thrust), 0.13},
    {FAULT_HANGING_BACK, DIAL(shift_through), -0.46},
    {FAULT_CHICKEN_WING, DIAL(bend_impact), 26.0},
    {FAULT_CHICKEN_WING, DIAL(bend_through), 56.0},
    {FAULT_CHICKEN_WING, DIAL(wing), 1.0},
    {FAULT_FORCED_HIGH_FINISH, DIAL(plan_through), 40.0},
    {FAULT_FORCED_HIGH_FINISH, DIAL(height_through), 0.65},
    {FAULT_HURRIED_TEMPO, DIAL(backswing_s), -0.42},
};

void demo_player_dial(struct demo_player *player, enum fault_id fault, double strength)
{
    for (size_t i = 0; i < sizeof dials / sizeof *dials; i++) {
        if (dials[i].fault == fault) {
            double *dial = (double *)(void *)((char *)player + dials[i].dial);
            *dial += dials[i].amount * strength;
        }
    }
}

static double mix(double a, double b, double t)
{
    return a + (b - a) * t;
}

/* The moment with the dials in it. */
static struct moment moment_of(const struct demo_player *player, enum checkpoint checkpoint)
{
    struct moment m = moments[checkpoint];
    switch (checkpoint) {
    case CHECKPOINT_SHAFT_BACK:
        m.hands[0] = mix(m.hands[0], -0.20, player->lift_first);
        m.hands[1] = mix(m.hands[1], -0.45, player->lift_first);
        m.hands[2] = mix(m.hands[2], 0.62, player->lift_first);
        m.shift = 0.5 * player->shift_back;
        break;
    case CHECKPOINT_ARM_BACK:
        m.shift = player->shift_back;
        m.lean = player->lean_back;
        m.hands[0] = mix(m.hands[0], -0.46, player->lift_first);
        m.hands[1] = mix(m.hands[1], 0.20, player->lift_first);
        m.hands[2] = mix(m.hands[2], 0.50, player->lift_first);
        break;
    case CHECKPOINT_TOP:
        m.shift = 0.8 * player->shift_back;
        m.lean = player->lean_top;
        m.shoulder_drop = player->shoulders_top;
        break;
    case CHECKPOINT_ARM_DOWN:
        m.hands[0] = mix(m.hands[0], -0.30, player->turn_first);
        m.hands[1] = mix(m.hands[1], 0.25, player->turn_first);
        m.hands[2] = mix(m.hands[2], 0.72, player->turn_first);
        break;
    case CHECKPOINT_SHAFT_DOWN:
        m.hands[0] = mix(m.hands[0], -0.05, player->turn_first);
        m.hands[1] = mix(m.hands[1], -0.45, player->turn_first);
        m.hands[2] = mix(m.hands[2], 0.62, player->turn_first);
        break;
    case CHECKPOINT_IMPACT:
        m.shift = player->shift_impact;
        m.thrust = player->thrust;
        m.tilt_change = player->spine_change;
        m.bend = player->bend_impact;
        break;
    case CHECKPOINT_SHAFT_THROUGH:
        m.bend = player->bend_through;
        m.thrust = 0.8 * player->thrust;
        m.tilt_change = player->spine_change;
        m.hands[0] += 0.22 * player->wing;
        break;
    case CHECKPOINT_ARM_THROUGH:
        m.shift = player->shift_through;
        m.hands[1] = player->height_through;
        break;
    case CHECKPOINT_FINISH:
        m.shift = 0.1 + player->shift_through;
        break;
    default:
        break;
    }
    return m;
}

/* The middle joint of two links from a to b, bent toward hint. Straight when b is out of reach. */
static struct vec3 middle_joint(struct vec3 a, struct vec3 b, double first, double second, struct vec3 hint)
{
    struct vec3 along = vec_sub(b, a);
    double d = vec_norm(along);
    struct vec3 unit = vec_scale(along, 1.0 / (d > 1e-9 ? d : 1e-9));
    struct vec3 side = vec_sub(hint, vec_scale(unit, vec_dot(hint, unit)));
    double side_length = vec_norm(side);
    if (d >= first + second || side_length < 1e-9) {
        return vec_add(a, vec_scale(along, first / (first + second)));
    }
    double t = (first * first - second * second + d * d) / (2.0 * d);
    double h2 = first * first - t * t;
    double h = h2 > 0.0 ? sqrt(h2) : 0.0;
    return vec_add(vec_add(a, vec_scale(unit, t)), vec_scale(side, h / side_length));
}

/* Length across two links bent by `bend` degrees. */
static double chord(double first, double second, double bend)
{
    return sqrt(first * first + second * second + 2.0 * first * second * cos(bend * VEC_RAD));
}

static struct vec3 line_direction(double turn, double drop)
{
    double t = turn * VEC_RAD;
    double d = drop * VEC_RAD;
    return vec_make(cos(t) * cos(d), -sin(d), sin(t) * cos(d)); /* trail to lead */
}

static void pose_trunk(const struct demo_player *player, const struct moment *m, double hip_height, struct vec3 *p)
{
    double height = player->height_m;
    struct vec3 hips = vec_make(m->shift * SHARE_STANCE * height, hip_height, -0.09 + m->thrust);
    double tilt = (player->spine_tilt + m->tilt_change) * VEC_RAD;
    struct vec3 up = vec_make(-tan(m->lean * VEC_RAD), 1.0, tan(tilt));
    up = vec_scale(up, 1.0 / vec_norm(up));
    struct vec3 neck = vec_add(hips, vec_scale(up, SHARE_TRUNK * height));
    struct vec3 hub = vec_add(hips, vec_scale(up, 0.82 * SHARE_TRUNK * height));
    struct vec3 across = vec_scale(line_direction(m->pelvis_turn, 0.0), 0.5 * SHARE_HIPS * height);
    p[POINT_LEAD_HIP] = vec_add(hips, across);
    p[POINT_TRAIL_HIP] = vec_sub(hips, across);
    across = vec_scale(line_direction(m->shoulder_turn, m->shoulder_drop), 0.5 * SHARE_SHOULDERS * height);
    p[POINT_LEAD_SHOULDER] = vec_add(hub, across);
    p[POINT_TRAIL_SHOULDER] = vec_sub(hub, across);
    p[POINT_NECK] = neck;
    struct vec3 gaze = vec_make(0.3 * up.x, 0.92, 0.45);
    p[POINT_HEAD] = vec_add(neck, vec_scale(gaze, 0.10 * height));
}

static void pose_legs(const struct demo_player *player, struct vec3 *p)
{
    double height = player->height_m;
    for (int side = 0; side < 2; side++) {
        double x = (side == 0 ? 0.5 : -0.5) * SHARE_STANCE * height;
        struct vec3 ankle = vec_make(x, SHARE_ANKLE * height, 0.0);
        struct vec3 hip = p[side == 0 ? POINT_LEAD_HIP : POINT_TRAIL_HIP];
        struct vec3 knee =
            middle_joint(hip, ankle, SHARE_THIGH * height, SHARE_SHANK * height, vec_make(0.0, 0.0, 1.0));
        p[side == 0 ? POINT_LEAD_KNEE : POINT_TRAIL_KNEE] = knee;
        p[side == 0 ? POINT_LEAD_ANKLE : POINT_TRAIL_ANKLE] = ankle;
        p[side == 0 ? POINT_LEAD_TOE : POINT_TRAIL_TOE] = vec_make(x, 0.02, 0.15 * height);
    }
}

/* Hands where the moment says, as far as the lead arm reaches. */
static void pose_arms(const struct demo_player *player, const struct moment *m, struct vec3 *p)
{
    double upper = SHARE_UPPER_ARM * player->height_m;
    double fore = SHARE_FOREARM * player->height_m;
    double arm = upper + fore;
    struct vec3 hub = vec_scale(vec_add(p[POINT_LEAD_SHOULDER], p[POINT_TRAIL_SHOULDER]), 0.5);
    struct vec3 wanted = vec_add(hub, vec_scale(vec_make(m->hands[0], m->hands[1], m->hands[2]), arm));
    struct vec3 reach = vec_sub(wanted, p[POINT_LEAD_SHOULDER]);
    double d = chord(upper, fore, m->bend) + WRIST_TO_GRIP;
    struct vec3 unit = vec_scale(reach, 1.0 / vec_norm(reach));
    struct vec3 grip = vec_add(p[POINT_LEAD_SHOULDER], vec_scale(unit, d));
    p[POINT_GRIP] = grip;
    p[POINT_LEAD_WRIST] = vec_sub(grip, vec_scale(unit, WRIST_TO_GRIP));
    struct vec3 from_trail = vec_sub(grip, p[POINT_TRAIL_SHOULDER]);
    double trail_length = vec_norm(from_trail);
    p[POINT_TRAIL_WRIST] = vec_sub(grip, vec_scale(from_trail, WRIST_TO_GRIP / trail_length));
    struct vec3 outward = vec_make(1.0, -0.1, -0.2);
    if (m->hands[1] > -0.3 && m->hands[0] > 0.0) {
        outward = vec_make(0.3, -1.0, 0.0); /* folding down, past the lead shoulder */
    }
    p[POINT_LEAD_ELBOW] = middle_joint(p[POINT_LEAD_SHOULDER], p[POINT_LEAD_WRIST], upper, fore, outward);
    p[POINT_TRAIL_ELBOW] =
        middle_joint(p[POINT_TRAIL_SHOULDER], p[POINT_TRAIL_WRIST], upper, fore, vec_make(-0.3, -1.0, 0.0));
}

/* Plan angle at which a shaft of this elevation lies on a plane of slope alpha. */
static double on_plane(double elevation, double alpha)
{
    double s = sin(elevation) / sin(alpha);
    s = s > 1.0 ? 1.0 : s < -1.0 ? -1.0 : s;
    return atan2(-s * cos(alpha), sqrt(1.0 - s * s));
}

static struct vec3 shaft_direction(const struct demo_player *player, enum checkpoint checkpoint, double lie)
{
    double e;
    double a;
    switch (checkpoint) {
    case CHECKPOINT_ADDRESS:
        return vec_make(0.0, -sin(lie), cos(lie));
    case CHECKPOINT_SHAFT_BACK:
        a = player->plan_back * VEC_RAD;
        return vec_make(-cos(a), 0.0, sin(a));
    case CHECKPOINT_TOP:
        e = player->elevation_top * VEC_RAD;
        a = on_plane(e, lie) + player->cross_top * VEC_RAD;
        return vec_make(cos(e) * cos(a), sin(e), cos(e) * sin(a));
    case CHECKPOINT_ARM_BACK:
    case CHECKPOINT_ARM_DOWN:
        a = lie + (checkpoint == CHECKPOINT_ARM_DOWN ? player->steepness * VEC_RAD : 0.0);
        e = checkpoint == CHECKPOINT_ARM_DOWN ? -0.34 : -0.15;
        return vec_make(e, sqrt(1.0 - e * e) * sin(a), -sqrt(1.0 - e * e) * cos(a));
    case CHECKPOINT_SHAFT_DOWN:
        a = player->plan_down * VEC_RAD;
        return vec_make(-cos(a), 0.0, sin(a));
    case CHECKPOINT_IMPACT:
        return vec_make(-0.10, -0.995 * sin(lie), 0.995 * cos(lie));
    case CHECKPOINT_SHAFT_THROUGH:
        a = player->plan_through * VEC_RAD;
        return vec_make(cos(a), 0.0, sin(a));
    case CHECKPOINT_ARM_THROUGH:
        return vec_make(0.15, 0.98, -0.13);
    default:
        return vec_make(-0.70, -0.60, -0.39); /* finish: down the back */
    }
}

/* Hip height at which the knees are bent as dialled. */
static double hip_height(const struct demo_player *player)
{
    double height = player->height_m;
    double reach = chord(SHARE_THIGH * height, SHARE_SHANK * height, player->knee_flex);
    double across = 0.5 * (SHARE_STANCE - SHARE_HIPS) * height;
    return SHARE_ANKLE * height + sqrt(reach * reach - across * across - 0.09 * 0.09);
}

/* Moves the hands so that the butt stands hands_gap in front of the thigh. */
static void fit_hands_gap(const struct demo_player *player, struct moment *m, struct vec3 *p, double *lie)
{
    double length = player->club_length_m - GRIP_TO_BUTT;
    double arm = (SHARE_UPPER_ARM + SHARE_FOREARM) * player->height_m;
    for (int i = 0; i < 6; i++) {
        pose_arms(player, m, p);
        double slope = p[POINT_GRIP].y / length;
        *lie = asin(slope < 0.93 ? slope : 0.93);
        double butt_z = p[POINT_GRIP].z - GRIP_TO_BUTT * cos(*lie);
        double butt_y = p[POINT_GRIP].y + GRIP_TO_BUTT * sin(*lie);
        struct vec3 hip = p[POINT_TRAIL_HIP];
        struct vec3 knee = p[POINT_TRAIL_KNEE];
        double t = (hip.y - butt_y) / (hip.y - knee.y);
        double gap = butt_z - (hip.z + t * (knee.z - hip.z)) - 0.09;
        m->hands[2] += (player->hands_gap - gap) / arm;
    }
}

void demo_player_pose(const struct demo_player *player, struct demo_pose poses[CHECKPOINT_COUNT])
{
    double length = player->club_length_m - GRIP_TO_BUTT;
    double hips = hip_height(player);
    double lie = 1.0;
    memset(poses, 0, sizeof *poses * CHECKPOINT_COUNT);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct vec3 *p = poses[c].points;
        struct moment m = moment_of(player, (enum checkpoint)c);
        pose_trunk(player, &m, hips, p);
        pose_legs(player, p);
        if (c == CHECKPOINT_ADDRESS) {
            fit_hands_gap(player, &m, p, &lie);
        } else {
            pose_arms(player, &m, p);
        }
        struct vec3 shaft = shaft_direction(player, (enum checkpoint)c, lie);
        p[POINT_BUTT] = vec_sub(p[POINT_GRIP], vec_scale(shaft, GRIP_TO_BUTT));
        p[POINT_CLUBHEAD] = vec_add(p[POINT_GRIP], vec_scale(shaft, length));
        p[POINT_BALL] = vec_add(poses[CHECKPOINT_ADDRESS].points[POINT_CLUBHEAD], vec_make(0.03, 0.0, 0.0));
    }
    struct vec3 *top = poses[CHECKPOINT_TOP].points;
    const struct vec3 *address = poses[CHECKPOINT_ADDRESS].points;
    top[POINT_HEAD].x = address[POINT_HEAD].x + player->head_top * SHARE_SHOULDERS * player->height_m;
}

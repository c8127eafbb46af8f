/* The plain data of one full swing, as a document gives it and as every core function reads it.
 *
 * Frame: X to the target along the target line, Y up, Z = X x Y (Wu & Cavanagh 1995, J Biomech 28:1257).
 * The core only sees right-handers: a left-hander's swing is turned into one by swing_mirror() on reading.
 * Pixels: origin top left, u right, v down. Metres, seconds, degrees. Owns nothing. */
#ifndef LEADSIDE_CORE_SWING_H
#define LEADSIDE_CORE_SWING_H

#include "core/names.h"
#include <stdbool.h>
#include <stddef.h>

/* Checkpoints in swing order. */
#define CHECKPOINT_NAMES(X)                                                                                            \
    X(CHECKPOINT_ADDRESS, "address")                                                                                   \
    X(CHECKPOINT_SHAFT_BACK, "shaft_back") /* shaft level in the takeaway */                                           \
    X(CHECKPOINT_ARM_BACK, "arm_back")     /* lead arm level in the backswing */                                       \
    X(CHECKPOINT_TOP, "top")                                                                                           \
    X(CHECKPOINT_ARM_DOWN, "arm_down")     /* lead arm level in the downswing */                                       \
    X(CHECKPOINT_SHAFT_DOWN, "shaft_down") /* shaft level in the downswing */                                          \
    X(CHECKPOINT_IMPACT, "impact")                                                                                     \
    X(CHECKPOINT_SHAFT_THROUGH, "shaft_through") /* shaft level after impact */                                        \
    X(CHECKPOINT_ARM_THROUGH, "arm_through")     /* trail arm level after impact */                                    \
    X(CHECKPOINT_FINISH, "finish")

enum checkpoint {
    CHECKPOINT_NAMES(NAMES_ENUM) CHECKPOINT_COUNT,
    CHECKPOINT_NONE = CHECKPOINT_COUNT /* of a measure that belongs to the whole swing */
};

#define POINT_NAMES(X)                                                                                                 \
    X(POINT_HEAD, "head")                                                                                              \
    X(POINT_NECK, "neck") /* base of the neck, C7 */                                                                   \
    X(POINT_LEAD_SHOULDER, "lead_shoulder")                                                                            \
    X(POINT_TRAIL_SHOULDER, "trail_shoulder")                                                                          \
    X(POINT_LEAD_ELBOW, "lead_elbow")                                                                                  \
    X(POINT_TRAIL_ELBOW, "trail_elbow")                                                                                \
    X(POINT_LEAD_WRIST, "lead_wrist")                                                                                  \
    X(POINT_TRAIL_WRIST, "trail_wrist")                                                                                \
    X(POINT_LEAD_HIP, "lead_hip")                                                                                      \
    X(POINT_TRAIL_HIP, "trail_hip")                                                                                    \
    X(POINT_LEAD_KNEE, "lead_knee")                                                                                    \
    X(POINT_TRAIL_KNEE, "trail_knee")                                                                                  \
    X(POINT_LEAD_ANKLE, "lead_ankle")                                                                                  \
    X(POINT_TRAIL_ANKLE, "trail_ankle")                                                                                \
    X(POINT_LEAD_TOE, "lead_toe")                                                                                      \
    X(POINT_TRAIL_TOE, "trail_toe")                                                                                    \
    X(POINT_GRIP, "grip") /* middle of both hands on the club */                                                       \
    X(POINT_BUTT, "butt")                                                                                              \
    X(POINT_CLUBHEAD, "clubhead")                                                                                      \
    X(POINT_BALL, "ball")

enum point { POINT_NAMES(NAMES_ENUM) POINT_COUNT };

#define VIEW_KIND_NAMES(X)                                                                                             \
    X(VIEW_DOWN_THE_LINE, "down_the_line")                                                                             \
    X(VIEW_FACE_ON, "face_on")

enum view_kind { VIEW_KIND_NAMES(NAMES_ENUM) VIEW_KIND_COUNT };
enum hand { HAND_RIGHT, HAND_LEFT };

#define CLUB_KIND_NAMES(X)                                                                                             \
    X(CLUB_UNKNOWN, "unknown")                                                                                         \
    X(CLUB_DRIVER, "driver")                                                                                           \
    X(CLUB_WOOD, "wood")                                                                                               \
    X(CLUB_HYBRID, "hybrid")                                                                                           \
    X(CLUB_IRON, "iron")                                                                                               \
    X(CLUB_WEDGE, "wedge")

enum club_kind { CLUB_KIND_NAMES(NAMES_ENUM) CLUB_KIND_COUNT };

/* Where the ball began and how it curved, always as for a right-hander after mirroring. */
#define FLIGHT_SIDE_NAMES(X)                                                                                           \
    X(FLIGHT_UNKNOWN, "unknown")                                                                                       \
    X(FLIGHT_LEFT, "left")                                                                                             \
    X(FLIGHT_STRAIGHT, "straight")                                                                                     \
    X(FLIGHT_RIGHT, "right")

enum flight_side { FLIGHT_SIDE_NAMES(NAMES_ENUM) FLIGHT_SIDE_COUNT };

#define STRIKE_NAMES(X)                                                                                                \
    X(STRIKE_UNKNOWN, "unknown")                                                                                       \
    X(STRIKE_FLUSH, "flush")                                                                                           \
    X(STRIKE_THIN, "thin")                                                                                             \
    X(STRIKE_TOPPED, "topped")                                                                                         \
    X(STRIKE_FAT, "fat")                                                                                               \
    X(STRIKE_HEEL, "heel")                                                                                             \
    X(STRIKE_TOE, "toe")

enum strike { STRIKE_NAMES(NAMES_ENUM) STRIKE_COUNT };

#define SWING_VIEWS_MAX 4
#define SWING_FRAMES_MAX 10
#define SWING_STICKS_MAX 2
#define SWING_WEIGHTS_MAX 10
#define SWING_MEASURED_MAX 64
#define SWING_SEEN_MAX 32
#define SWING_MARK_SD_PX 3.0      /* of a marked point by default, in a picture of 1080 lines (common practice) ... */
#define SWING_MARK_SD_BODY 0.006  /* ... and at least this share of the body's height */
#define SWING_STANDING_SHARE 0.84 /* head to ankles at address, of the height (simulated) */

/* A number that may be missing: "not given" is a field, never a magic value. */
struct maybe {
    bool given;
    double value;
};

/* A point marked in a picture. sd is its own marking error in pixels, per axis. */
struct swing_mark {
    bool seen;
    bool found; /* by software, and no person has touched it: it is measured with its sd but decides nothing */
    double u, v, sd;
};

/* Where software found a point in a picture in which a person marked it by hand: nothing is measured from it, the mark
 * is held against it. sd: px, per axis; 0 = not found. */
struct swing_spot {
    double u, v, sd;
};

struct frame {
    enum checkpoint checkpoint;
    struct maybe time_s;
    struct swing_mark points[POINT_COUNT];
    struct swing_spot film[POINT_COUNT];
    unsigned confirmed; /* bit 1 << point: a person was asked whether the mark is right, and said yes */
};

/* One camera's pictures of the swing. Sticks lie on the ground along the target line: ends in pixels. */
struct swing_view {
    enum view_kind kind;
    struct maybe fps;
    double width_px, height_px;
    double hfov_deg;         /* horizontal field of view, (10, 150) */
    struct maybe distance_m; /* camera to player */
    struct maybe height_m;   /* lens above the ground */
    struct maybe pitch_deg;  /* from the tablet's own level, + down */
    struct maybe roll_deg;   /* from the tablet's own level, + clockwise as seen from behind the camera */
    int stick_count;
    double sticks[SWING_STICKS_MAX][2][2]; /* [stick][end][u, v] */
    bool has_target;
    double target[2]; /* a distant flag on the target line */
    int frame_count;
    struct frame frames[SWING_FRAMES_MAX];
};

#define WEIGHT_SOURCE_NAMES(X)                                                                                         \
    X(WEIGHT_SCALE, "scale")                                                                                           \
    X(WEIGHT_MAT, "mat")                                                                                               \
    X(WEIGHT_PLATES, "plates")

enum weight_source { WEIGHT_SOURCE_NAMES(NAMES_ENUM) WEIGHT_SOURCE_COUNT };

/* A measured share of the weight on the lead foot, 0...1. */
struct weight_reading {
    enum checkpoint checkpoint;
    double lead_share;
    enum weight_source source;
};

/* Radar or eye. path, face, attack in degrees: + right of target (mirrored), + up. */
struct swing_flight {
    enum flight_side start, curve;
    enum strike strike;
    struct maybe path_deg, face_deg, attack_deg, dynamic_loft_deg, ball_speed_ms, spin_rpm;
};

/* A value straight from another instrument: it wins over a picture. Unit as in the catalogue (measure.h).
 * Signs are the player's own (toward the ball, toward the target), so they are not mirrored. */
struct measured_value {
    int item; /* enum measure_item */
    double value, sd;
};

/* What the coach saw by eye. */
#define SEVERITY_WORD_NAMES(X)                                                                                         \
    X(SEVERITY_NONE, "none")                                                                                           \
    X(SEVERITY_SLIGHT, "slight")                                                                                       \
    X(SEVERITY_CLEAR, "clear")                                                                                         \
    X(SEVERITY_STRONG, "strong")

enum severity_word { SEVERITY_WORD_NAMES(NAMES_ENUM) SEVERITY_WORD_COUNT };

struct seen_fault {
    int fault; /* enum fault_id */
    enum severity_word word;
};

struct motion_summary; /* motion.h */

struct swing {
    enum hand hand; /* as recorded; the data below are already a right-hander's after swing_mirror() */
    enum club_kind club;
    struct maybe club_number; /* 7 of a 7 iron */
    struct maybe club_length_m;
    int view_count;
    struct swing_view views[SWING_VIEWS_MAX];
    const struct motion_summary *motion; /* borrowed, of motion_analyse(); NULL = no motion data */
    int weight_count;
    struct weight_reading weights[SWING_WEIGHTS_MAX];
    bool has_flight;
    struct swing_flight flight;
    int measured_count;
    struct measured_value measured[SWING_MEASURED_MAX];
    int seen_count;
    struct seen_fault seen[SWING_SEEN_MAX];
};

/* Turns a left-hander's swing, as read from a document, into the right-hander's swing it mirrors: image x about the
 * middle of the picture, roll, start and curve side, path and face angle. Lead and trail already are the player's own.
 * Does nothing to a right-hander. Call it once, on reading. */
void swing_mirror(struct swing *swing);

/* Error of a point, or of the end of a stick, marked in this picture: 3 px at 1080 lines, scaled by the lines. */
double swing_line_error(const struct swing_view *view);

/* Whether any point was found by software. */
bool swing_has_found(const struct swing *swing);

/* Leaves only the points that people marked or touched: takes those away that software found. Returns how many. */
int swing_drop_found(struct swing *swing);

/* The frame of a checkpoint in a view, or NULL. Borrowed. */
const struct frame *swing_frame(const struct swing_view *view, enum checkpoint checkpoint);

/* The names as written in documents; NULL for a value out of range. The _parse functions return false for an unknown
 * name. */
const char *checkpoint_name(enum checkpoint value);
bool checkpoint_parse(const char *name, enum checkpoint *out);
const char *point_name(enum point value);
bool point_parse(const char *name, enum point *out);
const char *view_kind_name(enum view_kind value);
bool view_kind_parse(const char *name, enum view_kind *out);
const char *club_kind_name(enum club_kind value);
bool club_kind_parse(const char *name, enum club_kind *out);
const char *flight_side_name(enum flight_side value);
bool flight_side_parse(const char *name, enum flight_side *out);
const char *strike_name(enum strike value);
bool strike_parse(const char *name, enum strike *out);
bool weight_source_parse(const char *name, enum weight_source *out);
const char *severity_word_name(enum severity_word value);
bool severity_word_parse(const char *name, enum severity_word *out);

/* The word of a severity in [0, 1]: 0 none, <= 1/3 slight, <= 2/3 clear, above strong. */
enum severity_word severity_word(double severity);

#endif

/* Names of a swing's parts, the mirroring of a left-hander, and the lookup of a frame.
 * The only place that knows which numbers of a document change sign when a player is mirrored. */
#include "core/swing.h"

#include <string.h>

static const char *const checkpoint_names[CHECKPOINT_COUNT] = {
    "address",    "shaft_back", "arm_back",      "top",         "arm_down",
    "shaft_down", "impact",     "shaft_through", "arm_through", "finish",
};

static const char *const point_names[POINT_COUNT] = {
    "head",        "neck",      "lead_shoulder", "trail_shoulder", "lead_elbow", "trail_elbow", "lead_wrist",
    "trail_wrist", "lead_hip",  "trail_hip",     "lead_knee",      "trail_knee", "lead_ankle",  "trail_ankle",
    "lead_toe",    "trail_toe", "grip",          "butt",           "clubhead",   "ball",
};

static const char *const view_kind_names[VIEW_KIND_COUNT] = {"down_the_line", "face_on"};
static const char *const club_kind_names[CLUB_KIND_COUNT] = {"unknown", "driver", "wood", "hybrid", "iron", "wedge"};
static const char *const flight_side_names[FLIGHT_SIDE_COUNT] = {"unknown", "left", "straight", "right"};
static const char *const strike_names[STRIKE_COUNT] = {"unknown", "flush", "thin", "topped", "fat", "heel", "toe"};
static const char *const weight_source_names[WEIGHT_SOURCE_COUNT] = {"scale", "mat", "plates"};
static const char *const severity_word_names[SEVERITY_WORD_COUNT] = {"none", "slight", "clear", "strong"};

static const char *name_at(const char *const *names, unsigned count, unsigned index)
{
    return index < count ? names[index] : NULL;
}

/* Index of a name, or -1. */
static int name_index(const char *const *names, int count, const char *name)
{
    if (name == NULL) {
        return -1;
    }
    for (int i = 0; i < count; i++) {
        if (strcmp(names[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

const char *checkpoint_name(enum checkpoint checkpoint)
{
    return name_at(checkpoint_names, CHECKPOINT_COUNT, (unsigned)checkpoint);
}

bool checkpoint_parse(const char *name, enum checkpoint *out)
{
    int i = name_index(checkpoint_names, CHECKPOINT_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum checkpoint)i;
    return true;
}

const char *point_name(enum point point)
{
    return name_at(point_names, POINT_COUNT, (unsigned)point);
}

bool point_parse(const char *name, enum point *out)
{
    int i = name_index(point_names, POINT_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum point)i;
    return true;
}

const char *view_kind_name(enum view_kind kind)
{
    return name_at(view_kind_names, VIEW_KIND_COUNT, (unsigned)kind);
}

bool view_kind_parse(const char *name, enum view_kind *out)
{
    int i = name_index(view_kind_names, VIEW_KIND_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum view_kind)i;
    return true;
}

const char *club_kind_name(enum club_kind kind)
{
    return name_at(club_kind_names, CLUB_KIND_COUNT, (unsigned)kind);
}

bool club_kind_parse(const char *name, enum club_kind *out)
{
    int i = name_index(club_kind_names, CLUB_KIND_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum club_kind)i;
    return true;
}

const char *flight_side_name(enum flight_side side)
{
    return name_at(flight_side_names, FLIGHT_SIDE_COUNT, (unsigned)side);
}

bool flight_side_parse(const char *name, enum flight_side *out)
{
    int i = name_index(flight_side_names, FLIGHT_SIDE_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum flight_side)i;
    return true;
}

const char *strike_name(enum strike strike)
{
    return name_at(strike_names, STRIKE_COUNT, (unsigned)strike);
}

bool strike_parse(const char *name, enum strike *out)
{
    int i = name_index(strike_names, STRIKE_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum strike)i;
    return true;
}

const char *weight_source_name(enum weight_source source)
{
    return name_at(weight_source_names, WEIGHT_SOURCE_COUNT, (unsigned)source);
}

bool weight_source_parse(const char *name, enum weight_source *out)
{
    int i = name_index(weight_source_names, WEIGHT_SOURCE_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum weight_source)i;
    return true;
}

const char *severity_word_name(enum severity_word word)
{
    return name_at(severity_word_names, SEVERITY_WORD_COUNT, (unsigned)word);
}

bool severity_word_parse(const char *name, enum severity_word *out)
{
    int i = name_index(severity_word_names, SEVERITY_WORD_COUNT, name);
    if (i < 0) {
        return false;
    }
    *out = (enum severity_word)i;
    return true;
}

enum severity_word severity_word(double severity)
{
    if (!(severity > 0.0)) {
        return SEVERITY_NONE;
    }
    if (severity <= 1.0 / 3.0) {
        return SEVERITY_SLIGHT;
    }
    return severity <= 2.0 / 3.0 ? SEVERITY_CLEAR : SEVERITY_STRONG;
}

int swing_drop_found(struct swing *swing)
{
    int dropped = 0;
    for (int v = 0; v < swing->view_count; v++) {
        for (int f = 0; f < swing->views[v].frame_count; f++) {
            for (int p = 0; p < POINT_COUNT; p++) {
                struct swing_mark *mark = &swing->views[v].frames[f].points[p];
                dropped += mark->seen && mark->found;
                mark->seen = mark->seen && !mark->found;
            }
        }
    }
    return dropped;
}

const struct frame *swing_frame(const struct swing_view *view, enum checkpoint checkpoint)
{
    for (int i = 0; i < view->frame_count; i++) {
        if (view->frames[i].checkpoint == checkpoint) {
            return &view->frames[i];
        }
    }
    return NULL;
}

static enum flight_side side_mirror(enum flight_side side)
{
    if (side == FLIGHT_LEFT) {
        return FLIGHT_RIGHT;
    }
    return side == FLIGHT_RIGHT ? FLIGHT_LEFT : side;
}

static void view_mirror(struct swing_view *view)
{
    double width = view->width_px;

    if (view->roll_deg.given) {
        view->roll_deg.value = -view->roll_deg.value;
    }
    for (int i = 0; i < view->stick_count; i++) {
        view->sticks[i][0][0] = width - view->sticks[i][0][0];
        view->sticks[i][1][0] = width - view->sticks[i][1][0];
    }
    if (view->has_target) {
        view->target[0] = width - view->target[0];
    }
    for (int i = 0; i < view->frame_count; i++) {
        for (int p = 0; p < POINT_COUNT; p++) {
            struct swing_mark *mark = &view->frames[i].points[p];
            if (mark->seen) {
                mark->u = width - mark->u;
            }
        }
    }
}

void swing_mirror(struct swing *swing)
{
    if (swing->hand != HAND_LEFT) {
        return;
    }
    for (int i = 0; i < swing->view_count; i++) {
        view_mirror(&swing->views[i]);
    }
    swing->flight.start = side_mirror(swing->flight.start);
    swing->flight.curve = side_mirror(swing->flight.curve);
    if (swing->flight.path_deg.given) {
        swing->flight.path_deg.value = -swing->flight.path_deg.value;
    }
    if (swing->flight.face_deg.given) {
        swing->flight.face_deg.value = -swing->flight.face_deg.value;
    }
}

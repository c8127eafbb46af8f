/* Names of a swing's parts, the mirroring of a left-hander, and the lookup of a frame.
 * The only place that knows which numbers of a document change sign when a player is mirrored. */
#include "core/swing.h"

NAMES(checkpoint, enum checkpoint, CHECKPOINT_NAMES);
NAMES_PARSE(checkpoint, enum checkpoint, CHECKPOINT_NAMES);
NAMES(point, enum point, POINT_NAMES);
NAMES_PARSE(point, enum point, POINT_NAMES);
NAMES(view_kind, enum view_kind, VIEW_KIND_NAMES);
NAMES_PARSE(view_kind, enum view_kind, VIEW_KIND_NAMES);
NAMES(club_kind, enum club_kind, CLUB_KIND_NAMES);
NAMES_PARSE(club_kind, enum club_kind, CLUB_KIND_NAMES);
NAMES(flight_side, enum flight_side, FLIGHT_SIDE_NAMES);
NAMES_PARSE(flight_side, enum flight_side, FLIGHT_SIDE_NAMES);
NAMES(strike, enum strike, STRIKE_NAMES);
NAMES_PARSE(strike, enum strike, STRIKE_NAMES);
NAMES_PARSE(weight_source, enum weight_source, WEIGHT_SOURCE_NAMES);
NAMES(severity_word, enum severity_word, SEVERITY_WORD_NAMES);
NAMES_PARSE(severity_word, enum severity_word, SEVERITY_WORD_NAMES);

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

double swing_line_error(const struct swing_view *view)
{
    double lines = view->width_px < view->height_px ? view->width_px : view->height_px;
    return lines >= 1.0 ? SWING_MARK_SD_PX * lines / 1080.0 : SWING_MARK_SD_PX;
}

static bool frame_has_found(const struct frame *frame)
{
    for (int p = 0; p < POINT_COUNT; p++) {
        if (frame->points[p].seen && frame->points[p].found) {
            return true;
        }
    }
    return false;
}

bool swing_has_found(const struct swing *swing)
{
    bool found = false;
    for (int v = 0; v < swing->view_count; v++) {
        for (int f = 0; f < swing->views[v].frame_count && !found; f++) {
            found = frame_has_found(&swing->views[v].frames[f]);
        }
    }
    return found;
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
            struct swing_spot *film = &view->frames[i].film[p];
            if (mark->seen) {
                mark->u = width - mark->u;
            }
            if (film->sd > 0.0) {
                film->u = width - film->u;
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

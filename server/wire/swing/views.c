/* The views of a swing document: picture, camera, sticks, target and marked frames. */
#include "wire/swing/parts.h"

#include <string.h>

#include "core/hand.h"

/* Ends of a stick and a far flag may lie a little outside the picture: lines are drawn beyond it. Points may not. */
#define PICTURE 16384
static const double far_limits[2][2] = {{-PICTURE, 2 * PICTURE}, {-PICTURE, 2 * PICTURE}};

static bool pair_read(struct json_fields *fields, const struct wire_at *place, double out[2])
{
    return json_fields_numbers(fields, place, 2, 2, far_limits, "must be two numbers, [u, v]", out, NULL);
}

static bool end_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    double(*stick)[2] = to;
    return index > 1 ? json_fields_refuse(fields, here->up, "must have two ends")
                     : pair_read(fields, here, stick[index]);
}

static bool stick_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct swing_view *view = to;
    double(*stick)[2] = view->sticks[index];
    int ends;
    if (!json_fields_list(fields, here, 3, "ends", &ends, end_read, stick)) {
        return false;
    }
    if (ends != 2) {
        return json_fields_refuse(fields, here, "must have two ends");
    }
    return stick[0][0] != stick[1][0] || stick[0][1] != stick[1][1] ||
           json_fields_refuse(fields, here, "has both ends in one place");
}

/* u, v, and of at least `least` numbers the error; 0 when it is not given. */
static bool spot_read(struct json_fields *fields, const struct wire_at *place, int least, const char *must,
                      double value[3])
{
    static const double limits[3][2] = {{0, PICTURE}, {0, PICTURE}, {0, 500}};
    int count;
    value[2] = 0.0;
    if (!json_fields_numbers(fields, place, least, 3, limits, must, value, &count)) {
        return false;
    }
    if (count == 3 && value[2] <= 0) {
        const struct wire_at here = wire_index(place, 2);
        return json_fields_refuse(fields, &here, "must be above 0 and at most 500");
    }
    return true;
}

static bool mark_read(struct json_fields *fields, const struct wire_at *place, struct swing_mark *mark)
{
    double value[3];
    if (!spot_read(fields, place, 2, "must be [u, v] or [u, v, sd]", value)) {
        return false;
    }
    mark->u = value[0];
    mark->v = value[1];
    mark->sd = value[2];
    mark->seen = true;
    return true;
}

static bool point_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct frame *frame = to;
    enum point point;
    (void)index;
    if (!point_parse(here->key, &point)) {
        return json_fields_refuse(fields, here, "is not a point of the body or the club");
    }
    return frame->points[point].seen ? json_fields_refuse(fields, here, "is given twice")
                                     : mark_read(fields, here, &frame->points[point]);
}

/* Where software found points that a person marked: "film": {"clubhead": [612, 930, 4]}. */
static bool film_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct frame *frame = to;
    enum point point;
    double value[3];
    (void)index;
    if (!point_parse(here->key, &point)) {
        return json_fields_refuse(fields, here, "is not a point of the body or the club");
    }
    if (frame->film[point].sd > 0.0) {
        return json_fields_refuse(fields, here, "is given twice");
    }
    if (!spot_read(fields, here, 3, "must be [u, v, sd]", value)) {
        return false;
    }
    frame->film[point] = (struct swing_spot){value[0], value[1], value[2]};
    return true;
}

static bool point_name_read(struct json_fields *fields, const struct wire_at *here, enum point *out)
{
    char name[JSON_FIELDS_TEXT];
    if (!json_fields_text(fields, here, name, sizeof name)) {
        return false;
    }
    return point_parse(name, out) ||
           json_fields_refuse(fields, here, "\"%s\" is not a point of the body or the club", name);
}

/* Names of points that software found: "found": ["trail_hip"]. */
static bool found_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct frame *frame = to;
    enum point point;
    (void)index;
    if (!point_name_read(fields, here, &point)) {
        return false;
    }
    if (frame->points[point].found) {
        return json_fields_refuse(fields, here, "\"%s\" is given twice", point_name(point));
    }
    frame->points[point].found = true;
    return true;
}

/* Names of points that a person was asked about and said are right: "confirmed": ["clubhead"]. */
static bool confirmed_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct frame *frame = to;
    enum point point;
    (void)index;
    if (!point_name_read(fields, here, &point)) {
        return false;
    }
    if (frame->confirmed >> point & 1U) {
        return json_fields_refuse(fields, here, "\"%s\" is given twice", point_name(point));
    }
    frame->confirmed |= 1U << point;
    return true;
}

enum frame_key { KEY_CHECKPOINT, KEY_TIME, KEY_POINTS, KEY_FOUND, KEY_CONFIRMED, KEY_FILM };

static bool frame_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct frame *frame = to;
    int count;
    switch ((enum frame_key)key) {
    case KEY_CHECKPOINT:
        return swing_read_checkpoint(fields, here, &frame->checkpoint);
    case KEY_POINTS:
        return json_fields_map(fields, here, point_read, frame);
    case KEY_FILM:
        return json_fields_map(fields, here, film_read, frame);
    default:
        /* no name is taken twice, so that there are never more of them */
        return json_fields_list(fields, here, POINT_COUNT + 1, "names", &count,
                                key == KEY_FOUND ? found_read : confirmed_read, frame);
    }
}

static bool frame_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    static const struct json_field table[] = {JSON_FIELD("checkpoint", true),
                                              JSON_FIELD_MAYBE("time_s", struct frame, time_s, 0, 60),
                                              JSON_FIELD("points", true),
                                              JSON_FIELD("found", false),
                                              JSON_FIELD("confirmed", false),
                                              JSON_FIELD("film", false),
                                              {.name = NULL}};
    struct swing_view *view = to;
    struct frame *frame = &view->frames[index];
    memset(frame, 0, sizeof *frame);
    if (!json_fields_object(fields, here, table, frame_value, frame, NULL)) {
        return false;
    }
    for (int i = 0; i < index; i++) {
        if (view->frames[i].checkpoint == frame->checkpoint) {
            const struct wire_at checkpoint = wire_key(here, "checkpoint");
            return json_fields_refuse(fields, &checkpoint, "\"%s\" already has frame %d",
                                      checkpoint_name(frame->checkpoint), i);
        }
    }
    return true;
}

static bool inside(struct json_fields *fields, const struct wire_at *here, const struct swing_view *view, double u,
                   double v)
{
    return (u <= view->width_px && v <= view->height_px) ||
           json_fields_refuse(fields, here, "lies outside the picture of %.0f by %.0f pixels", view->width_px,
                              view->height_px);
}

/* What can only be checked when the whole view is known: keys may stand in any order. */
static bool view_check(struct json_fields *fields, const struct wire_at *place, const struct swing_view *view)
{
    struct wire_at frames = {place, "frames", 0};
    for (int i = 0; i < view->frame_count; i++) {
        struct wire_at frame = {&frames, NULL, i};
        struct wire_at points = {&frame, "points", 0};
        for (int p = 0; p < POINT_COUNT; p++) {
            const struct swing_mark *mark = &view->frames[i].points[p];
            struct wire_at here = {&points, point_name((enum point)p), 0};
            const bool confirmed = view->frames[i].confirmed >> p & 1U;
            if ((mark->found || confirmed) && !mark->seen) {
                struct wire_at named = {&frame, mark->found ? "found" : "confirmed", 0};
                return json_fields_refuse(fields, &named, "names %s, which this frame does not give",
                                          point_name((enum point)p));
            }
            if (mark->found && confirmed) {
                struct wire_at named = {&frame, "confirmed", 0};
                return json_fields_refuse(fields, &named, "names %s, which nobody has touched: it is in \"found\"",
                                          point_name((enum point)p));
            }
            const struct swing_spot *film = &view->frames[i].film[p];
            struct wire_at films = {&frame, "film", 0};
            struct wire_at there = {&films, here.key, 0};
            if ((mark->seen && !inside(fields, &here, view, mark->u, mark->v)) ||
                (film->sd > 0.0 && !inside(fields, &there, view, film->u, film->v))) {
                return false;
            }
        }
    }
    return true;
}

static bool view_kind_read(struct json_fields *fields, const struct wire_at *here, enum view_kind *out)
{
    char name[JSON_FIELDS_TEXT];
    return json_fields_text(fields, here, name, sizeof name) &&
           (view_kind_parse(name, out) ||
            json_fields_refuse(fields, here, "must be \"down_the_line\" or \"face_on\", not \"%s\"", name));
}

enum view_key { KEY_VIEW, KEY_FPS, KEY_IMAGE, KEY_CAMERA, KEY_STICKS, KEY_TARGET, KEY_FRAMES };

static bool view_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    static const struct json_field image[] = {
        JSON_FIELD_NUMBER("width", true, struct swing_view, width_px, 16, 16384),
        JSON_FIELD_NUMBER("height", true, struct swing_view, height_px, 16, 16384),
        {.name = NULL}};
    static const struct json_field camera[] = {
        JSON_FIELD_NUMBER("hfov_deg", true, struct swing_view, hfov_deg, 10, 150),
        JSON_FIELD_MAYBE("distance_m", struct swing_view, distance_m, 0.5, 30),
        JSON_FIELD_MAYBE("height_m", struct swing_view, height_m, 0, 10),
        JSON_FIELD_MAYBE("pitch_deg", struct swing_view, pitch_deg, -60, 60),
        JSON_FIELD_MAYBE("roll_deg", struct swing_view, roll_deg, -45, 45),
        {.name = NULL}};
    struct swing_view *view = to;
    switch ((enum view_key)key) {
    case KEY_VIEW:
        return view_kind_read(fields, here, &view->kind);
    case KEY_IMAGE:
        return json_fields_object(fields, here, image, NULL, view, NULL);
    case KEY_CAMERA:
        return json_fields_object(fields, here, camera, NULL, view, NULL);
    case KEY_STICKS:
        return json_fields_list(fields, here, SWING_STICKS_MAX, "sticks", &view->stick_count, stick_read, view);
    case KEY_TARGET:
        view->has_target = pair_read(fields, here, view->target);
        return view->has_target;
    default:
        return json_fields_list(fields, here, SWING_FRAMES_MAX, "frames", &view->frame_count, frame_read, view);
    }
}

static bool view_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    static const struct json_field table[] = {
        JSON_FIELD("view", true),    JSON_FIELD_MAYBE("fps", struct swing_view, fps, 1, 1000),
        JSON_FIELD("image", true),   JSON_FIELD("camera", true),
        JSON_FIELD("sticks", false), JSON_FIELD("target", false),
        JSON_FIELD("frames", true),  {.name = NULL}};
    struct swing *swing = to;
    struct swing_view *view = &swing->views[index];
    memset(view, 0, offsetof(struct swing_view, frames));
    return json_fields_object(fields, here, table, view_value, view, NULL) && view_check(fields, here, view);
}

bool swing_read_views(struct json_fields *fields, const struct wire_at *place, struct swing *swing)
{
    if (!json_fields_list(fields, place, SWING_VIEWS_MAX, "views", &swing->view_count, view_read, swing)) {
        return false;
    }
    hand_errors(swing);
    return true;
}

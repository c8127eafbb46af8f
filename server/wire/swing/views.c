/* The views of a swing document: picture, camera, sticks, target and marked frames. */
#include "wire/swing/parts.h"

#include <string.h>

static bool pair_read(struct swing_reader *reader, const struct wire_at *place, double low, double high, double out[2])
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > 2) {
            return swing_refuse(reader, place, "must be two numbers, [u, v]");
        }
        if (!swing_number(reader, &here, low, high, &out[count - 1])) {
            return false;
        }
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    return count == 2 || swing_refuse(reader, place, "must be two numbers, [u, v]");
}

static bool image_read(struct swing_reader *reader, const struct wire_at *place, struct swing_view *view)
{
    static const char *const names[] = {"width", "height", NULL};
    unsigned seen = 0;
    int count = 0;
    int key;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        swing_number(reader, &here, 16, 16384, key == 0 ? &view->width_px : &view->height_px);
    }
    return swing_need(reader, place, names, seen, 3);
}

static bool camera_read(struct swing_reader *reader, const struct wire_at *place, struct swing_view *view)
{
    static const char *const names[] = {"hfov_deg", "distance_m", "height_m", "pitch_deg", "roll_deg", NULL};
    unsigned seen = 0;
    int count = 0;
    int key;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        switch (key) {
        case 0:
            swing_number(reader, &here, 10, 150, &view->hfov_deg);
            break;
        case 1:
            swing_maybe(reader, &here, 0.5, 30, &view->distance_m);
            break;
        case 2:
            swing_maybe(reader, &here, 0, 10, &view->height_m);
            break;
        case 3:
            swing_maybe(reader, &here, -60, 60, &view->pitch_deg);
            break;
        default:
            swing_maybe(reader, &here, -45, 45, &view->roll_deg);
        }
    }
    return swing_need(reader, place, names, seen, 1);
}

/* Ends of a stick and a far flag may lie a little outside the picture: lines are drawn beyond it. Points may not. */
static const double beyond = 16384;

static bool stick_read(struct swing_reader *reader, const struct wire_at *place, double stick[2][2])
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > 2) {
            return swing_refuse(reader, place, "must have two ends");
        }
        if (!pair_read(reader, &here, -beyond, 2 * beyond, stick[count - 1])) {
            return false;
        }
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    if (count != 2) {
        return swing_refuse(reader, place, "must have two ends");
    }
    if (stick[0][0] == stick[1][0] && stick[0][1] == stick[1][1]) {
        return swing_refuse(reader, place, "has both ends in one place");
    }
    return true;
}

static bool sticks_read(struct swing_reader *reader, const struct wire_at *place, struct swing_view *view)
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > SWING_STICKS_MAX) {
            return swing_refuse(reader, place, "has more than %d sticks", SWING_STICKS_MAX);
        }
        if (!stick_read(reader, &here, view->sticks[count - 1])) {
            return false;
        }
        view->stick_count = count;
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

static bool mark_read(struct swing_reader *reader, const struct wire_at *place, struct swing_mark *mark)
{
    int count = 0;
    double *const to[3] = {&mark->u, &mark->v, &mark->sd};
    mark->sd = SWING_MARK_SD_PX;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > 3) {
            return swing_refuse(reader, place, "must be [u, v] or [u, v, sd]");
        }
        if (!swing_number(reader, &here, 0, count == 3 ? 500 : beyond, to[count - 1])) {
            return false;
        }
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    if (count < 2) {
        return swing_refuse(reader, place, "must be [u, v] or [u, v, sd]");
    }
    if (mark->sd <= 0) {
        struct wire_at here = {place, NULL, 2};
        return swing_refuse(reader, &here, "must be above 0 and at most 500");
    }
    mark->seen = true;
    return true;
}

static bool points_read(struct swing_reader *reader, const struct wire_at *place, struct frame *frame)
{
    char key[KEY_TEXT];
    int count = 0;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while (json_in_next_key(&reader->in, &count, key, sizeof key)) {
        struct wire_at here = {place, key, 0};
        enum point point;
        if (!point_parse(key, &point)) {
            return swing_refuse(reader, &here, "is not a point of the body or the club");
        }
        if (frame->points[point].seen) {
            return swing_refuse(reader, &here, "is given twice");
        }
        if (!mark_read(reader, &here, &frame->points[point])) {
            return false;
        }
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

/* Names of points that software found: "found": ["trail_hip"]. */
static bool found_read(struct swing_reader *reader, const struct wire_at *place, struct frame *frame)
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        char name[KEY_TEXT];
        enum point point;
        if (!swing_text(reader, &here, name, sizeof name)) {
            return false;
        }
        if (!point_parse(name, &point)) {
            return swing_refuse(reader, &here, "\"%s\" is not a point of the body or the club", name);
        }
        if (frame->points[point].found) {
            return swing_refuse(reader, &here, "\"%s\" is given twice", name);
        }
        frame->points[point].found = true;
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

static bool checkpoint_read(struct swing_reader *reader, const struct wire_at *place, const struct swing_view *view,
                            struct frame *frame)
{
    char name[KEY_TEXT];
    if (!swing_text(reader, place, name, sizeof name)) {
        return false;
    }
    if (!checkpoint_parse(name, &frame->checkpoint)) {
        return swing_refuse(reader, place, "\"%s\" is not a checkpoint", name);
    }
    for (int i = 0; i < view->frame_count; i++) {
        if (view->frames[i].checkpoint == frame->checkpoint) {
            return swing_refuse(reader, place, "\"%s\" already has frame %d", name, i);
        }
    }
    return true;
}

static bool frame_read(struct swing_reader *reader, const struct wire_at *place, const struct swing_view *view,
                       struct frame *frame)
{
    static const char *const names[] = {"checkpoint", "time_s", "points", "found", NULL};
    unsigned seen = 0;
    int count = 0;
    int key;
    memset(frame, 0, sizeof *frame);
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (key == 0) {
            checkpoint_read(reader, &here, view, frame);
        } else if (key == 1) {
            swing_maybe(reader, &here, 0, 60, &frame->time_s);
        } else if (key == 2) {
            points_read(reader, &here, frame);
        } else {
            found_read(reader, &here, frame);
        }
    }
    return swing_need(reader, place, names, seen, 5);
}

static bool frames_read(struct swing_reader *reader, const struct wire_at *place, struct swing_view *view)
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > SWING_FRAMES_MAX) {
            return swing_refuse(reader, place, "has more than %d frames", SWING_FRAMES_MAX);
        }
        if (!frame_read(reader, &here, view, &view->frames[count - 1])) {
            return false;
        }
        view->frame_count = count;
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

/* What can only be checked when the whole view is known: keys may stand in any order. */
static bool view_check(struct swing_reader *reader, const struct wire_at *place, const struct swing_view *view)
{
    struct wire_at frames = {place, "frames", 0};
    for (int i = 0; i < view->frame_count; i++) {
        struct wire_at frame = {&frames, NULL, i};
        struct wire_at points = {&frame, "points", 0};
        for (int p = 0; p < POINT_COUNT; p++) {
            const struct swing_mark *mark = &view->frames[i].points[p];
            struct wire_at here = {&points, point_name((enum point)p), 0};
            if (mark->found && !mark->seen) {
                struct wire_at found = {&frame, "found", 0};
                return swing_refuse(reader, &found, "names %s, which this frame does not give",
                                    point_name((enum point)p));
            }
            if (mark->seen && (mark->u > view->width_px || mark->v > view->height_px)) {
                return swing_refuse(reader, &here, "lies outside the picture of %.0f by %.0f pixels", view->width_px,
                                    view->height_px);
            }
        }
    }
    return true;
}

enum view_key { KEY_VIEW, KEY_FPS, KEY_IMAGE, KEY_CAMERA, KEY_STICKS, KEY_TARGET, KEY_FRAMES };

static bool view_value(struct swing_reader *reader, const struct wire_at *here, int key, struct swing_view *view)
{
    char name[KEY_TEXT];
    switch ((enum view_key)key) {
    case KEY_VIEW:
        return swing_text(reader, here, name, sizeof name) &&
               (view_kind_parse(name, &view->kind) ||
                swing_refuse(reader, here, "must be \"down_the_line\" or \"face_on\", not \"%s\"", name));
    case KEY_FPS:
        return swing_maybe(reader, here, 1, 1000, &view->fps);
    case KEY_IMAGE:
        return image_read(reader, here, view);
    case KEY_CAMERA:
        return camera_read(reader, here, view);
    case KEY_STICKS:
        return sticks_read(reader, here, view);
    case KEY_TARGET:
        view->has_target = pair_read(reader, here, -beyond, 2 * beyond, view->target);
        return view->has_target;
    default:
        return frames_read(reader, here, view);
    }
}

static bool view_read(struct swing_reader *reader, const struct wire_at *place, struct swing_view *view)
{
    static const char *const names[] = {"view", "fps", "image", "camera", "sticks", "target", "frames", NULL};
    unsigned seen = 0;
    int count = 0;
    int key;
    memset(view, 0, offsetof(struct swing_view, frames));
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        view_value(reader, &here, key, view);
    }
    return swing_need(reader, place, names, seen,
                      1U << KEY_VIEW | 1U << KEY_IMAGE | 1U << KEY_CAMERA | 1U << KEY_FRAMES) &&
           view_check(reader, place, view);
}

bool swing_read_views(struct swing_reader *reader, const struct wire_at *place)
{
    struct swing *swing = &reader->out->swing;
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > SWING_VIEWS_MAX) {
            return swing_refuse(reader, place, "has more than %d views", SWING_VIEWS_MAX);
        }
        if (!view_read(reader, &here, &swing->views[count - 1])) {
            return false;
        }
        swing->view_count = count;
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

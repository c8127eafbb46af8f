/* The motion block of a swing document: points in space at a fixed rate, into arrays in the arena. */
#include "wire/swing/parts.h"

#include <string.h>

#include "core/motion/axes.h"

#define FIRST_SAMPLES 512 /* room taken before it is known how many there are */

/* One sample: three coordinates, or null for a gap. */
static bool sample_read(struct swing_reader *reader, const struct wire_at *place, struct vec3 *at, bool *seen)
{
    double value[3] = {0.0, 0.0, 0.0};
    int count = 0;
    *seen = false;
    *at = vec_make(0.0, 0.0, 0.0);
    if (json_in_null(&reader->in)) {
        return true;
    }
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > 3) {
            return swing_refuse(reader, place, "must be [x, y, z] or null");
        }
        if (!swing_number(reader, &here, -100, 100, &value[count - 1])) {
            return false;
        }
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    *at = vec_make(value[0], value[1], value[2]);
    *seen = true;
    return count == 3 || swing_refuse(reader, place, "must be [x, y, z] or null");
}

/* A point's samples as they grow. */
struct samples {
    struct vec3 *at;
    bool *seen;
    int room;
};

static bool samples_grow(struct swing_reader *reader, struct samples *samples, int room)
{
    struct vec3 *at = arena_alloc(reader->arena, (size_t)room * sizeof *at);
    bool *seen = arena_alloc(reader->arena, (size_t)room * sizeof *seen);
    if (at == NULL || seen == NULL) {
        return false;
    }
    if (samples->room > 0) {
        memcpy(at, samples->at, (size_t)samples->room * sizeof *at);
        memcpy(seen, samples->seen, (size_t)samples->room * sizeof *seen);
    }
    *samples = (struct samples){at, seen, room};
    return true;
}

static bool samples_read(struct swing_reader *reader, const struct wire_at *place, struct samples *samples, int *total)
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > SWING_MOTION_SAMPLES_MAX) {
            return swing_refuse(reader, place, "has more than %d samples", SWING_MOTION_SAMPLES_MAX);
        }
        if (count > samples->room && !samples_grow(reader, samples, samples->room * 2)) {
            return swing_refuse(reader, place, "needs more memory than there is");
        }
        if (!sample_read(reader, &here, &samples->at[count - 1], &samples->seen[count - 1])) {
            return false;
        }
    }
    *total = count;
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

static bool points_read(struct swing_reader *reader, const struct wire_at *place)
{
    struct motion_record *record = &reader->out->motion;
    char key[KEY_TEXT];
    int count = 0;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while (json_in_next_key(&reader->in, &count, key, sizeof key)) {
        struct wire_at here = {place, key, 0};
        struct samples samples = {NULL, NULL, 0};
        enum point point;
        int total = 0;
        if (!point_parse(key, &point)) {
            return swing_refuse(reader, &here, "is not a point of the body or the club");
        }
        if (record->at[point] != NULL) {
            return swing_refuse(reader, &here, "is given twice");
        }
        if (!samples_grow(reader, &samples, count > 1 ? record->count + 1 : FIRST_SAMPLES)) {
            return swing_refuse(reader, &here, "needs more memory than there is");
        }
        if (!samples_read(reader, &here, &samples, &total)) {
            return false;
        }
        if (count > 1 && total != record->count) {
            return swing_refuse(reader, &here, "has %d samples where the first point has %d", total, record->count);
        }
        record->count = total;
        record->at[point] = samples.at;
        record->seen[point] = samples.seen;
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    return record->count > 0 || swing_refuse(reader, place, "needs at least one point with one sample");
}

static bool frame_read(struct swing_reader *reader, const struct wire_at *place, struct motion_axes *axes)
{
    static const struct {
        const char *name;
        struct motion_axes axes;
    } known[] = {{"target_up_right", {LAB_PLUS_Y, LAB_PLUS_X}},
                 {"y_up", {LAB_PLUS_Y, LAB_PLUS_X}},
                 {"y_up_target_x", {LAB_PLUS_Y, LAB_PLUS_X}},
                 {"y_up_target_minus_x", {LAB_PLUS_Y, LAB_MINUS_X}},
                 {"y_up_target_z", {LAB_PLUS_Y, LAB_PLUS_Z}},
                 {"y_up_target_minus_z", {LAB_PLUS_Y, LAB_MINUS_Z}},
                 {"z_up", {LAB_PLUS_Z, LAB_PLUS_X}},
                 {"z_up_target_x", {LAB_PLUS_Z, LAB_PLUS_X}},
                 {"z_up_target_minus_x", {LAB_PLUS_Z, LAB_MINUS_X}},
                 {"z_up_target_y", {LAB_PLUS_Z, LAB_PLUS_Y}},
                 {"z_up_target_minus_y", {LAB_PLUS_Z, LAB_MINUS_Y}}};
    char name[KEY_TEXT];
    if (!swing_text(reader, place, name, sizeof name)) {
        return false;
    }
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strcmp(known[i].name, name) == 0) {
            *axes = known[i].axes;
            return true;
        }
    }
    return swing_refuse(reader, place,
                        "must be \"target_up_right\", \"y_up\" or \"z_up\", the last two with \"_target_\" and the "
                        "target's axis (\"z_up_target_minus_y\"; x when not said), not \"%s\"",
                        name);
}

bool swing_read_motion(struct swing_reader *reader, const struct wire_at *place)
{
    static const char *const names[] = {"rate_hz", "frame", "points", NULL};
    unsigned seen = 0;
    int count = 0;
    int key;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    reader->out->motion = (struct motion_record){.count = 0};
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (key == 0) {
            swing_number(reader, &here, 20, 2000, &reader->out->motion.rate_hz);
        } else if (key == 1) {
            frame_read(reader, &here, &reader->motion_axes);
        } else {
            points_read(reader, &here);
        }
    }
    reader->out->has_motion = true;
    return swing_need(reader, place, names, seen, 7);
}

bool swing_motion_analyse(struct motion_axes axes, struct arena *arena, struct swing_document *document)
{
    struct motion_record *record = &document->motion;
    bool mirror = document->swing.hand == HAND_LEFT;
    for (int p = 0; p < POINT_COUNT; p++) {
        if (record->at[p] != NULL) {
            struct vec3 *turned = arena_alloc(arena, (size_t)record->count * sizeof *turned);
            if (turned == NULL) {
                return false;
            }
            memcpy(turned, record->at[p], (size_t)record->count * sizeof *turned);
            motion_axes_turn(axes, mirror, turned, record->count);
            record->at[p] = turned;
        }
    }
    struct motion_summary *summary = arena_alloc(arena, sizeof *summary);
    void *work = arena_alloc(arena, motion_work_bytes(record));
    if (summary == NULL || work == NULL) {
        return false;
    }
    (void)motion_analyse(record, work, summary); /* its findings say what could not be used */
    document->swing.motion = summary;
    return true;
}

/* The motion block of a swing document: points in space at a fixed rate, into arrays in the arena. */
#include "wire/swing/parts.h"

#include <string.h>

#define FIRST_SAMPLES 512 /* room taken before it is known how many there are */

/* A point's samples as they grow. */
struct samples {
    struct vec3 *at;
    bool *seen;
    int room;
};

static bool samples_grow(struct arena *arena, struct samples *samples, int room)
{
    struct vec3 *at = arena_alloc(arena, (size_t)room * sizeof *at);
    bool *seen = arena_alloc(arena, (size_t)room * sizeof *seen);
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

/* One sample: three coordinates, or null for a gap. */
static bool sample_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    static const double limits[3][2] = {{-100, 100}, {-100, 100}, {-100, 100}};
    struct samples *samples = to;
    double value[3] = {0.0, 0.0, 0.0};
    if (index >= samples->room && !samples_grow(fields->arena, samples, samples->room * 2)) {
        return json_fields_refuse(fields, here->up, "needs more memory than there is");
    }
    samples->seen[index] = !json_in_null(&fields->in);
    if (samples->seen[index] &&
        !json_fields_numbers(fields, here, 3, 3, limits, "must be [x, y, z] or null", value, NULL)) {
        return false;
    }
    samples->at[index] = vec_make(value[0], value[1], value[2]);
    return true;
}

static bool point_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct motion_record *record = to;
    struct samples samples = {NULL, NULL, 0};
    enum point point;
    int total;
    if (!point_parse(here->key, &point)) {
        return json_fields_refuse(fields, here, "is not a point of the body or the club");
    }
    if (record->at[point] != NULL) {
        return json_fields_refuse(fields, here, "is given twice");
    }
    if (!samples_grow(fields->arena, &samples, index > 0 ? record->count + 1 : FIRST_SAMPLES)) {
        return json_fields_refuse(fields, here, "needs more memory than there is");
    }
    if (!json_fields_list(fields, here, SWING_MOTION_SAMPLES_MAX, "samples", &total, sample_read, &samples)) {
        return false;
    }
    if (index > 0 && total != record->count) {
        return json_fields_refuse(fields, here, "has %d samples where the first point has %d", total, record->count);
    }
    record->count = total;
    record->at[point] = samples.at;
    record->seen[point] = samples.seen;
    return true;
}

static bool points_read(struct json_fields *fields, const struct wire_at *here, struct motion_record *record)
{
    return json_fields_map(fields, here, point_read, record) &&
           (record->count > 0 || json_fields_refuse(fields, here, "needs at least one point with one sample"));
}

static bool frame_read(struct json_fields *fields, const struct wire_at *place, struct motion_axes *axes)
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
    char name[JSON_FIELDS_TEXT];
    if (!json_fields_text(fields, place, name, sizeof name)) {
        return false;
    }
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strcmp(known[i].name, name) == 0) {
            *axes = known[i].axes;
            return true;
        }
    }
    return json_fields_refuse(
        fields, place,
        "must be \"target_up_right\", \"y_up\" or \"z_up\", the last two with \"_target_\" and the "
        "target's axis (\"z_up_target_minus_y\"; x when not said), not \"%s\"",
        name);
}

struct motion_block {
    struct motion_record *record;
    struct motion_axes *axes;
};

static bool motion_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct motion_block *block = to;
    return key == 0   ? json_fields_number(fields, here, 20, 2000, &block->record->rate_hz)
           : key == 1 ? frame_read(fields, here, block->axes)
                      : points_read(fields, here, block->record);
}

bool swing_read_motion(struct json_fields *fields, const struct wire_at *place, struct swing_document *document,
                       struct motion_axes *axes)
{
    static const struct json_field table[] = {
        JSON_FIELD("rate_hz", true), JSON_FIELD("frame", true), JSON_FIELD("points", true), {.name = NULL}};
    struct motion_block block = {&document->motion, axes};
    document->motion = (struct motion_record){.count = 0};
    document->has_motion = true;
    return json_fields_object(fields, place, table, motion_value, &block, NULL);
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

const struct motion_finding *swing_unusable(const struct swing *swing)
{
    const struct motion_summary *motion = swing->motion;
    if (motion == NULL || swing->view_count + swing->weight_count + swing->measured_count + swing->seen_count > 0 ||
        swing->has_flight) {
        return NULL;
    }
    for (int i = 0; i < motion->finding_count; i++) {
        /* a club that can't be believed leaves the body */
        if (motion->findings[i].fault && motion->findings[i].issue != MOTION_CLUB_LENGTH) {
            return &motion->findings[i];
        }
    }
    return NULL;
}

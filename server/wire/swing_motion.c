/* The motion block of a swing document. This version checks it and keeps nothing of it but its size. */
#include "wire/swing_parts.h"

#include <string.h>

/* One sample: three coordinates, or null for a gap. */
static bool sample_read(struct swing_reader *reader, const struct wire_at *place)
{
    int count = 0;
    double value;
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
        if (!swing_number(reader, &here, -100, 100, &value)) {
            return false;
        }
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    return count == 3 || swing_refuse(reader, place, "must be [x, y, z] or null");
}

static bool samples_read(struct swing_reader *reader, const struct wire_at *place, int *samples)
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
        if (!sample_read(reader, &here)) {
            return false;
        }
    }
    *samples = count;
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

static bool points_read(struct swing_reader *reader, const struct wire_at *place)
{
    struct swing_document *out = reader->out;
    bool taken[POINT_COUNT] = {false};
    char key[KEY_TEXT];
    int count = 0;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while (json_in_next_key(&reader->in, &count, key, sizeof key)) {
        struct wire_at here = {place, key, 0};
        enum point point;
        int samples = 0;
        if (!point_parse(key, &point)) {
            return swing_refuse(reader, &here, "is not a point of the body or the club");
        }
        if (taken[point]) {
            return swing_refuse(reader, &here, "is given twice");
        }
        taken[point] = true;
        if (!samples_read(reader, &here, &samples)) {
            return false;
        }
        if (count > 1 && samples != out->motion_samples) {
            return swing_refuse(reader, &here, "has %d samples where the first point has %d", samples,
                                out->motion_samples);
        }
        out->motion_samples = samples;
        out->motion_points = count;
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    return out->motion_samples > 0 || swing_refuse(reader, place, "needs at least one point with one sample");
}

static bool frame_read(struct swing_reader *reader, const struct wire_at *place)
{
    static const char *const known[] = {"target_up_right", "y_up", "z_up"};
    char name[KEY_TEXT];
    if (!swing_text(reader, place, name, sizeof name)) {
        return false;
    }
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strcmp(known[i], name) == 0) {
            return true;
        }
    }
    return swing_refuse(reader, place, "must be \"target_up_right\", \"y_up\" or \"z_up\", not \"%s\"", name);
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
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (key == 0) {
            swing_number(reader, &here, 20, 2000, &reader->out->motion_rate_hz);
        } else if (key == 1) {
            frame_read(reader, &here);
        } else {
            points_read(reader, &here);
        }
    }
    reader->out->has_motion = true;
    return swing_need(reader, place, names, seen, 7);
}

/* The swing document's top level, and its small lists: club, weight, flight, measured, seen. */
#include "wire/swing/read.h"

#include <string.h>

#include "core/fault.h"
#include "core/measure/measure.h"
#include "wire/rules/old_names.h"
#include "wire/swing/parts.h"

static bool club_read(struct swing_reader *reader, const struct wire_at *place)
{
    static const char *const names[] = {"kind", "number", "length_m", NULL};
    struct swing *swing = &reader->out->swing;
    unsigned seen = 0;
    int count = 0;
    int key;
    char name[KEY_TEXT];
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (key == 1) {
            swing_maybe(reader, &here, 1, 70, &swing->club_number);
        } else if (key == 2) {
            swing_maybe(reader, &here, 0.3, 1.5, &swing->club_length_m);
        } else if (swing_text(reader, &here, name, sizeof name) && !club_kind_parse(name, &swing->club)) {
            swing_refuse(reader, &here, "\"%s\" is not a kind of club", name);
        }
    }
    return swing_need(reader, place, names, seen, 1);
}

static bool checkpoint_text(struct swing_reader *reader, const struct wire_at *place, enum checkpoint *out)
{
    char name[KEY_TEXT];
    return swing_text(reader, place, name, sizeof name) &&
           (checkpoint_parse(name, out) || swing_refuse(reader, place, "\"%s\" is not a checkpoint", name));
}

static bool weight_read(struct swing_reader *reader, const struct wire_at *place, int index)
{
    static const char *const names[] = {"checkpoint", "lead_share", "source", NULL};
    struct weight_reading *weight = &reader->out->swing.weights[index];
    unsigned seen = 0;
    int count = 0;
    int key;
    char name[KEY_TEXT];
    memset(weight, 0, sizeof *weight);
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (key == 0) {
            checkpoint_text(reader, &here, &weight->checkpoint);
        } else if (key == 1) {
            swing_number(reader, &here, 0, 1, &weight->lead_share);
        } else if (swing_text(reader, &here, name, sizeof name) && !weight_source_parse(name, &weight->source)) {
            swing_refuse(reader, &here, "must be \"scale\", \"mat\" or \"plates\", not \"%s\"", name);
        }
    }
    for (int i = 0; !reader->failed && i < index; i++) {
        if (reader->out->swing.weights[i].checkpoint == weight->checkpoint) {
            swing_refuse(reader, place, "a second reading for %s", checkpoint_name(weight->checkpoint));
        }
    }
    return swing_need(reader, place, names, seen, 7);
}

enum flight_key { KEY_START, KEY_CURVE, KEY_STRIKE, KEY_PATH, KEY_FACE, KEY_ATTACK, KEY_LOFT, KEY_SPEED, KEY_SPIN };

static bool flight_words(struct swing_reader *reader, const struct wire_at *here, int key, struct swing_flight *flight)
{
    char name[KEY_TEXT];
    if (!swing_text(reader, here, name, sizeof name)) {
        return false;
    }
    if (key == KEY_STRIKE) {
        return strike_parse(name, &flight->strike) ||
               swing_refuse(reader, here, "\"%s\" is not a kind of strike", name);
    }
    return flight_side_parse(name, key == KEY_START ? &flight->start : &flight->curve) ||
           swing_refuse(reader, here, "must be \"left\", \"straight\" or \"right\", not \"%s\"", name);
}

static bool flight_read(struct swing_reader *reader, const struct wire_at *place)
{
    static const char *const names[] = {"start",    "curve",      "strike",           "path_deg",
                                        "face_deg", "attack_deg", "dynamic_loft_deg", "ball_speed_ms",
                                        "spin_rpm", NULL};
    struct swing_flight *flight = &reader->out->swing.flight;
    struct maybe *const numbers[] = {NULL,
                                     NULL,
                                     NULL,
                                     &flight->path_deg,
                                     &flight->face_deg,
                                     &flight->attack_deg,
                                     &flight->dynamic_loft_deg,
                                     &flight->ball_speed_ms,
                                     &flight->spin_rpm};
    static const double limits[][2] = {{0, 0},    {0, 0},  {0, 0},   {-45, 45}, {-45, 45},
                                       {-30, 30}, {1, 80}, {0, 120}, {0, 20000}};
    unsigned seen = 0;
    int count = 0;
    int key;
    reader->out->swing.has_flight = true;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (key <= KEY_STRIKE) {
            flight_words(reader, &here, key, flight);
        } else {
            swing_maybe(reader, &here, limits[key][0], limits[key][1], numbers[key]);
        }
    }
    return !reader->failed;
}

struct measured_parts {
    char measure[KEY_TEXT];
    enum checkpoint checkpoint;
    double value, sd;
    char source[SWING_SOURCE_TEXT];
};

/* The unit's own limits: wide, but no more than a body and a club can do. */
static const double unit_limit[UNIT_COUNT][2] = {{-360, 360}, {-5, 5}, {0, 100}, {-50, 50}, {0, 20}};

static bool measured_keep(struct swing_reader *reader, const struct wire_at *place, const struct measured_parts *parts,
                          unsigned seen, int index)
{
    enum measure_item item;
    struct wire_at value = {place, "value", 0};
    struct wire_at measure = {place, "measure", 0};
    if (!measure_read(parts->measure, parts->checkpoint, &item)) {
        return swing_refuse(reader, &measure, "there is no measure \"%s\" %s%s", parts->measure,
                            parts->checkpoint == CHECKPOINT_NONE ? "without a checkpoint" : "at ",
                            parts->checkpoint == CHECKPOINT_NONE ? "" : checkpoint_name(parts->checkpoint));
    }
    const double *limit = unit_limit[measure_info(item)->unit];
    if (parts->value < limit[0] || parts->value > limit[1]) {
        return swing_refuse(reader, &value, "must be from %g to %g, not %g", limit[0], limit[1], parts->value);
    }
    for (int i = 0; i < index; i++) {
        if (reader->out->swing.measured[i].item == (int)item) {
            return swing_refuse(reader, &measure, "is measured twice");
        }
    }
    reader->out->swing.measured[index] = (struct measured_value){(int)item, parts->value, parts->sd};
    reader->out->measured_source[index] = NULL;
    if (seen & 16U) {
        reader->out->measured_source[index] = arena_strdup(reader->arena, parts->source);
        if (reader->out->measured_source[index] == NULL) {
            return swing_refuse(reader, place, "is too much for the memory of one request");
        }
    }
    return true;
}

static bool measured_read(struct swing_reader *reader, const struct wire_at *place, int index)
{
    static const char *const names[] = {"measure", "checkpoint", "value", "sd", "source", NULL};
    struct measured_parts parts = {.checkpoint = CHECKPOINT_NONE};
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
            swing_text(reader, &here, parts.measure, sizeof parts.measure);
            break;
        case 1:
            checkpoint_text(reader, &here, &parts.checkpoint);
            break;
        case 2:
            swing_number(reader, &here, -1000, 1000, &parts.value);
            break;
        case 3:
            swing_number(reader, &here, 0, 1000, &parts.sd);
            break;
        default:
            swing_text(reader, &here, parts.source, sizeof parts.source);
        }
    }
    return swing_need(reader, place, names, seen, 1U | 4U | 8U) && measured_keep(reader, place, &parts, seen, index);
}

static bool seen_read(struct swing_reader *reader, const struct wire_at *place, int index)
{
    static const char *const names[] = {"fault", "severity", NULL};
    struct swing *swing = &reader->out->swing;
    unsigned seen = 0;
    int count = 0;
    int key;
    char name[KEY_TEXT];
    enum fault_id fault = FAULT_COUNT;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = {place, names[key], 0};
        if (!swing_text(reader, &here, name, sizeof name)) {
            return false;
        }
        if (key == 0 && !fault_read(name, &fault)) {
            return swing_refuse(reader, &here, "\"%s\" is not a fault of the catalogue", name);
        }
        if (key == 1 && !severity_word_parse(name, &swing->seen[index].word)) {
            return swing_refuse(reader, &here, "must be \"none\", \"slight\", \"clear\" or \"strong\", not \"%s\"",
                                name);
        }
    }
    for (int i = 0; !reader->failed && i < index; i++) {
        if (swing->seen[i].fault == (int)fault) {
            return swing_refuse(reader, place, "%s is said twice", fault_name(fault));
        }
    }
    swing->seen[index].fault = (int)fault;
    return swing_need(reader, place, names, seen, 3);
}

/* A list of at most max objects. */
static bool list_read(struct swing_reader *reader, const struct wire_at *place, int max, int *length,
                      bool (*item)(struct swing_reader *, const struct wire_at *, int))
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = {place, NULL, count - 1};
        if (count > max) {
            return swing_refuse(reader, place, "has more than %d entries", max);
        }
        if (!item(reader, &here, count - 1)) {
            return false;
        }
        *length = count;
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

enum top_key {
    KEY_SCHEMA,
    KEY_RECORDED_AT,
    KEY_SHOT,
    KEY_HAND,
    KEY_CLUB,
    KEY_VIEWS,
    KEY_MOTION,
    KEY_WEIGHT,
    KEY_FLIGHT,
    KEY_MEASURED,
    KEY_SEEN
};

static bool top_text(struct swing_reader *reader, const struct wire_at *here, int key)
{
    struct swing_document *out = reader->out;
    char text[KEY_TEXT];
    if (!swing_text(reader, here, text, sizeof text)) {
        return false;
    }
    switch (key) {
    case KEY_SCHEMA:
        return strcmp(text, SWING_SCHEMA) == 0 ||
               swing_refuse(reader, here, "must be \"%s\", not \"%s\"", SWING_SCHEMA, text);
    case KEY_RECORDED_AT:
        if (!time_parse(text, &out->recorded_at_ms)) {
            return swing_refuse(reader, here, "must be a time such as 2026-05-02T09:14:05Z, not \"%s\"", text);
        }
        time_format(out->recorded_at_ms, out->recorded_at);
        return true;
    case KEY_SHOT:
        return strcmp(text, "full") == 0 ||
               swing_refuse(reader, here, "only full swings are judged here; a \"%s\" has other ranges", text);
    default:
        out->swing.hand = strcmp(text, "left") == 0 ? HAND_LEFT : HAND_RIGHT;
        return strcmp(text, "left") == 0 || strcmp(text, "right") == 0 ||
               swing_refuse(reader, here, "must be \"right\" or \"left\", not \"%s\"", text);
    }
}

static bool top_value(struct swing_reader *reader, const struct wire_at *here, int key)
{
    struct swing *swing = &reader->out->swing;
    switch (key) {
    case KEY_CLUB:
        return club_read(reader, here);
    case KEY_VIEWS:
        return swing_read_views(reader, here);
    case KEY_MOTION:
        return swing_read_motion(reader, here);
    case KEY_WEIGHT:
        return list_read(reader, here, SWING_WEIGHTS_MAX, &swing->weight_count, weight_read);
    case KEY_FLIGHT:
        return flight_read(reader, here);
    case KEY_MEASURED:
        return list_read(reader, here, SWING_MEASURED_MAX, &swing->measured_count, measured_read);
    case KEY_SEEN:
        return list_read(reader, here, SWING_SEEN_MAX, &swing->seen_count, seen_read);
    default:
        return top_text(reader, here, key);
    }
}

static void document_clear(struct swing_document *out)
{
    memset(&out->swing, 0, offsetof(struct swing, views));
    memset((unsigned char *)&out->swing + offsetof(struct swing, motion), 0,
           sizeof out->swing - offsetof(struct swing, motion));
    memset((unsigned char *)out + offsetof(struct swing_document, recorded_at), 0,
           sizeof *out - offsetof(struct swing_document, recorded_at));
}

bool swing_read(const char *json, size_t length, struct arena *arena, struct swing_document *out,
                struct wire_error *error)
{
    static const char *const names[] = {"schema", "recorded_at", "shot",   "hand",     "club", "views",
                                        "motion", "weight",      "flight", "measured", "seen", NULL};
    struct swing_reader reader = {.arena = arena, .out = out, .error = error};
    unsigned seen = 0;
    int count = 0;
    int key;
    document_clear(out);
    *error = (struct wire_error){"", ""};
    json_in_start(&reader.in, json, length);
    if (!swing_open(&reader, NULL, '{')) {
        return false;
    }
    while ((key = swing_key(&reader, NULL, names, &seen, &count)) >= 0) {
        struct wire_at here = {NULL, names[key], 0};
        top_value(&reader, &here, key);
    }
    const unsigned required = 1U << KEY_SCHEMA | 1U << KEY_RECORDED_AT | 1U << KEY_HAND;
    if (!swing_need(&reader, NULL, names, seen, required)) {
        return false;
    }
    if (!json_in_finish(&reader.in)) {
        return swing_refuse_json(&reader, NULL);
    }
    const struct swing *swing = &out->swing;
    if (swing->view_count + swing->weight_count + swing->measured_count + swing->seen_count == 0 && !out->has_motion) {
        return swing_refuse(&reader, NULL, "needs at least one of views, motion, weight, measured or seen");
    }
    swing_mirror(&out->swing);
    if (out->has_motion && !swing_motion_analyse(reader.motion_axes, arena, out)) {
        return swing_refuse(&reader, NULL, "motion needs more memory than there is");
    }
    return true;
}

/* The swing document's top level, and its small lists: club, weight, flight, measured, seen. */
#include "wire/swing/read.h"

#include <string.h>

#include "core/fault.h"
#include "core/measure/measure.h"
#include "wire/rules/old_names.h"
#include "wire/swing/parts.h"

static bool club_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct swing *swing = to;
    (void)key;
    return swing_read_club(fields, here, &swing->club);
}

static bool club_read(struct json_fields *fields, const struct wire_at *place, struct swing *swing)
{
    static const struct json_field table[] = {JSON_FIELD("kind", true),
                                              JSON_FIELD_MAYBE("number", struct swing, club_number, 1, 70),
                                              JSON_FIELD_MAYBE("length_m", struct swing, club_length_m, 0.3, 1.5),
                                              {.name = NULL}};
    return json_fields_object(fields, place, table, club_value, swing, NULL);
}

static bool weight_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct weight_reading *weight = to;
    char name[JSON_FIELDS_TEXT];
    if (key == 0) {
        return swing_read_checkpoint(fields, here, &weight->checkpoint);
    }
    return json_fields_text(fields, here, name, sizeof name) &&
           (weight_source_parse(name, &weight->source) ||
            json_fields_refuse(fields, here, "must be \"scale\", \"mat\" or \"plates\", not \"%s\"", name));
}

static bool weight_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    static const struct json_field table[] = {
        JSON_FIELD("checkpoint", true),
        JSON_FIELD_NUMBER("lead_share", true, struct weight_reading, lead_share, 0, 1),
        JSON_FIELD("source", true),
        {.name = NULL}};
    struct weight_reading *weights = to;
    struct weight_reading *weight = &weights[index];
    memset(weight, 0, sizeof *weight);
    if (!json_fields_object(fields, here, table, weight_value, weight, NULL)) {
        return false;
    }
    for (int i = 0; i < index; i++) {
        if (weights[i].checkpoint == weight->checkpoint) {
            return json_fields_refuse(fields, here, "a second reading for %s", checkpoint_name(weight->checkpoint));
        }
    }
    return true;
}

enum flight_key { KEY_START, KEY_CURVE, KEY_STRIKE };

static bool flight_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct swing_flight *flight = to;
    char name[JSON_FIELDS_TEXT];
    if (!json_fields_text(fields, here, name, sizeof name)) {
        return false;
    }
    if (key == KEY_STRIKE) {
        return strike_parse(name, &flight->strike) ||
               json_fields_refuse(fields, here, "\"%s\" is not a kind of strike", name);
    }
    return flight_side_parse(name, key == KEY_START ? &flight->start : &flight->curve) ||
           json_fields_refuse(fields, here, "must be \"left\", \"straight\" or \"right\", not \"%s\"", name);
}

static bool flight_read(struct json_fields *fields, const struct wire_at *place, struct swing *swing)
{
    static const struct json_field table[] = {
        JSON_FIELD("start", false),
        JSON_FIELD("curve", false),
        JSON_FIELD("strike", false),
        JSON_FIELD_MAYBE("path_deg", struct swing_flight, path_deg, -45, 45),
        JSON_FIELD_MAYBE("face_deg", struct swing_flight, face_deg, -45, 45),
        JSON_FIELD_MAYBE("attack_deg", struct swing_flight, attack_deg, -30, 30),
        JSON_FIELD_MAYBE("dynamic_loft_deg", struct swing_flight, dynamic_loft_deg, 1, 80),
        JSON_FIELD_MAYBE("ball_speed_ms", struct swing_flight, ball_speed_ms, 0, 120),
        JSON_FIELD_MAYBE("spin_rpm", struct swing_flight, spin_rpm, 0, 20000),
        {.name = NULL}};
    swing->has_flight = true;
    return json_fields_object(fields, place, table, flight_value, &swing->flight, NULL);
}

struct measured_parts {
    char measure[JSON_FIELDS_TEXT];
    enum checkpoint checkpoint;
    double value, sd;
    char source[SWING_SOURCE_TEXT];
};

/* The unit's own limits: wide, but no more than a body and a club can do. */
static const double unit_limit[UNIT_COUNT][2] = {{-360, 360}, {-5, 5}, {0, 100}, {-50, 50}, {0, 20}};

static bool measured_keep(struct json_fields *fields, const struct wire_at *place, const struct measured_parts *parts,
                          struct swing_document *document, unsigned seen, int index)
{
    enum measure_item item;
    struct wire_at value = {place, "value", 0};
    struct wire_at measure = {place, "measure", 0};
    if (!measure_read(parts->measure, parts->checkpoint, &item)) {
        return json_fields_refuse(fields, &measure, "there is no measure \"%s\" %s%s", parts->measure,
                                  parts->checkpoint == CHECKPOINT_NONE ? "without a checkpoint" : "at ",
                                  parts->checkpoint == CHECKPOINT_NONE ? "" : checkpoint_name(parts->checkpoint));
    }
    const double *limit = unit_limit[measure_info(item)->unit];
    if (parts->value < limit[0] || parts->value > limit[1]) {
        return json_fields_refuse(fields, &value, "must be from %g to %g, not %g", limit[0], limit[1], parts->value);
    }
    for (int i = 0; i < index; i++) {
        if (document->swing.measured[i].item == (int)item) {
            return json_fields_refuse(fields, &measure, "is measured twice");
        }
    }
    document->swing.measured[index] = (struct measured_value){(int)item, parts->value, parts->sd};
    document->measured_source[index] = NULL;
    if (seen & 16U) {
        document->measured_source[index] = arena_strdup(fields->arena, parts->source);
        if (document->measured_source[index] == NULL) {
            return json_fields_refuse(fields, place, "is too much for the memory of one request");
        }
    }
    return true;
}

static bool measured_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct measured_parts *parts = to;
    return key == 0   ? json_fields_text(fields, here, parts->measure, sizeof parts->measure)
           : key == 1 ? swing_read_checkpoint(fields, here, &parts->checkpoint)
                      : json_fields_text(fields, here, parts->source, sizeof parts->source);
}

static bool measured_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    static const struct json_field table[] = {
        JSON_FIELD("measure", true),
        JSON_FIELD("checkpoint", false),
        JSON_FIELD_NUMBER("value", true, struct measured_parts, value, -1000, 1000),
        JSON_FIELD_NUMBER("sd", true, struct measured_parts, sd, 0, 1000),
        JSON_FIELD("source", false),
        {.name = NULL}};
    struct measured_parts parts = {.checkpoint = CHECKPOINT_NONE};
    unsigned seen;
    return json_fields_object(fields, here, table, measured_value, &parts, &seen) &&
           measured_keep(fields, here, &parts, to, seen, index);
}

static bool seen_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct seen_fault *seen = to;
    char name[JSON_FIELDS_TEXT];
    enum fault_id fault = FAULT_COUNT;
    if (!json_fields_text(fields, here, name, sizeof name)) {
        return false;
    }
    if (key == 0) {
        const bool known = fault_read(name, &fault);
        seen->fault = (int)fault;
        return known || json_fields_refuse(fields, here, "\"%s\" is not a fault of the catalogue", name);
    }
    return severity_word_parse(name, &seen->word) ||
           json_fields_refuse(fields, here, "must be \"none\", \"slight\", \"clear\" or \"strong\", not \"%s\"", name);
}

static bool seen_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    static const struct json_field table[] = {JSON_FIELD("fault", true), JSON_FIELD("severity", true), {.name = NULL}};
    struct seen_fault *seen = to;
    if (!json_fields_object(fields, here, table, seen_value, &seen[index], NULL)) {
        return false;
    }
    for (int i = 0; i < index; i++) {
        if (seen[i].fault == seen[index].fault) {
            return json_fields_refuse(fields, here, "%s is said twice", fault_name((enum fault_id)seen[i].fault));
        }
    }
    return true;
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

struct top {
    struct swing_document *document;
    struct motion_axes axes; /* of the motion block */
};

static bool shot_read(struct json_fields *fields, const struct wire_at *here)
{
    char text[JSON_FIELDS_TEXT];
    return json_fields_text(fields, here, text, sizeof text) &&
           (strcmp(text, "full") == 0 ||
            json_fields_refuse(fields, here, "only full swings are judged here; a \"%s\" has other ranges", text));
}

static bool top_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct top *top = to;
    struct swing_document *out = top->document;
    struct swing *swing = &out->swing;
    switch ((enum top_key)key) {
    case KEY_SCHEMA:
        return json_fields_word(fields, here, SWING_SCHEMA);
    case KEY_RECORDED_AT:
        return swing_read_time(fields, here, &out->recorded_at_ms, out->recorded_at);
    case KEY_SHOT:
        return shot_read(fields, here);
    case KEY_HAND:
        return swing_read_hand(fields, here, &swing->hand);
    case KEY_CLUB:
        return club_read(fields, here, swing);
    case KEY_VIEWS:
        return swing_read_views(fields, here, swing);
    case KEY_MOTION:
        return swing_read_motion(fields, here, out, &top->axes);
    case KEY_WEIGHT:
        return json_fields_list(fields, here, SWING_WEIGHTS_MAX, "entries", &swing->weight_count, weight_read,
                                swing->weights);
    case KEY_FLIGHT:
        return flight_read(fields, here, swing);
    case KEY_MEASURED:
        return json_fields_list(fields, here, SWING_MEASURED_MAX, "entries", &swing->measured_count, measured_read,
                                out);
    default:
        return json_fields_list(fields, here, SWING_SEEN_MAX, "entries", &swing->seen_count, seen_read, swing->seen);
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
    static const struct json_field table[] = {
        JSON_FIELD("schema", true),    JSON_FIELD("recorded_at", true), JSON_FIELD("shot", false),
        JSON_FIELD("hand", true),      JSON_FIELD("club", false),       JSON_FIELD("views", false),
        JSON_FIELD("motion", false),   JSON_FIELD("weight", false),     JSON_FIELD("flight", false),
        JSON_FIELD("measured", false), JSON_FIELD("seen", false),       {.name = NULL}};
    struct json_fields fields = json_fields_start(json, length, arena, error);
    struct top top = {.document = out};
    document_clear(out);
    if (!json_fields_object(&fields, NULL, table, top_value, &top, NULL) || !json_fields_finish(&fields)) {
        return false;
    }
    const struct swing *swing = &out->swing;
    if (swing->view_count + swing->weight_count + swing->measured_count + swing->seen_count == 0 && !out->has_motion) {
        return json_fields_refuse(&fields, NULL, "needs at least one of views, motion, weight, measured or seen");
    }
    swing_mirror(&out->swing);
    if (out->has_motion && !swing_motion_analyse(top.axes, arena, out)) {
        return json_fields_refuse(&fields, NULL, "motion needs more memory than there is");
    }
    return true;
}

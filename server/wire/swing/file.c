/* A swing in any form: a document as it is; a marker file with its reading, which is also kept as JSON. */
#include "wire/swing/file.h"

#include <stdio.h>
#include <string.h>

#include "wire/markers/parts.h"
#include "wire/swing/parts.h"

#define READING_SCHEMA "leadside.reading/1"
#define HAND_ASK "say which hand the player plays, right or left: a marker file doesn't tell"
#define TARGET_ASK "say where the target lies in the file's own axes (+x, -x, +y, -y, +z or -z)"

NAMES(swing_media, enum swing_media, SWING_MEDIA_NAMES);
NAMES_PARSE(swing_media, enum swing_media, SWING_MEDIA_NAMES);

bool swing_media_guess(const void *bytes, size_t length, enum swing_media *out)
{
    struct json_in in;
    if (marker_file_is_trc(bytes, length)) {
        *out = SWING_TRC;
        return true;
    }
    if (marker_file_is_c3d(bytes, length)) {
        *out = SWING_C3D;
        return true;
    }
    json_in_start(&in, bytes, length);
    *out = SWING_JSON;
    return json_in_peek(&in) == JSON_KIND_OBJECT;
}

static bool refuse(struct wire_error *error, const char *key, const char *what)
{
    struct wire_at here = wire_key(NULL, key);
    return wire_fail(error, &here, "%s", what);
}

static bool refuse_memory(struct wire_error *error)
{
    return wire_fail(error, NULL, "needs more memory than there is");
}

static bool given_within(struct maybe value, const char *key, double low, double high, struct wire_error *error)
{
    struct wire_at here = wire_key(NULL, key);
    return !value.given || (value.value >= low && value.value <= high) ||
           wire_fail(error, &here, "must be from %.12g to %.12g, not %.6g", low, high, value.value);
}

/* What is said beside the file goes into the document, which is otherwise empty. */
static bool document_fill(const struct swing_reading *reading, struct swing_document *out, struct wire_error *error)
{
    memset(out, 0, sizeof *out);
    if (!reading->hand_given) {
        return refuse(error, "hand", HAND_ASK);
    }
    if (!given_within(reading->club_number, "club_number", 1, 70, error) ||
        !given_within(reading->club_length_m, "club_length_m", 0.3, 1.5, error)) {
        return false;
    }
    out->swing.hand = reading->hand;
    out->swing.club = reading->club;
    out->swing.club_number = reading->club_number;
    out->swing.club_length_m = reading->club_length_m;
    if (reading->recorded_at[0] == '\0') {
        return true;
    }
    if (!time_parse(reading->recorded_at, &out->recorded_at_ms)) {
        return refuse(error, "recorded_at", "must be a time such as 2026-05-02T09:14:05Z");
    }
    time_format(out->recorded_at_ms, out->recorded_at);
    return true;
}

static bool ask_target(const struct motion_record *record, enum lab_axis up, struct wire_error *error)
{
    struct wire_at here = wire_key(NULL, "target");
    enum lab_axis hint;
    if (!motion_axes_hint_target(record, up, &hint) || (int)hint / 2 == (int)up / 2) {
        return wire_fail(error, &here, TARGET_ASK);
    }
    return wire_fail(error, &here, TARGET_ASK "; the feet point along %s", lab_axis_name(hint));
}

/* Upright as given, else as the file says, else as the body stands; the target as given. */
static bool axes_find(const struct swing_reading *reading, const struct marker_file *file,
                      const struct motion_record *record, struct motion_axes *out, struct wire_error *error)
{
    *out = reading->axes;
    if (!reading->up_given && file->up_given) {
        out->up = file->up;
    } else if (!reading->up_given && !motion_axes_find_up(record, &out->up)) {
        return refuse(
            error, "up",
            "say which of the file's axes is upright (+y, +z ...): neither the file nor the player's body tells");
    }
    if (!reading->target_given) {
        return ask_target(record, out->up, error);
    }
    if (!motion_axes_valid(*out)) {
        struct wire_at here = wire_key(NULL, "target");
        return wire_fail(error, &here, "must be level; upright is %s", lab_axis_name(out->up));
    }
    return true;
}

static bool markers_read(enum swing_media media, const void *bytes, size_t length, const struct swing_reading *reading,
                         struct arena *arena, struct swing_document *out, struct wire_error *error)
{
    struct marker_file file;
    struct motion_axes axes;
    const struct marker_map *map = reading->map != NULL ? reading->map : marker_map_default(arena);
    struct marker_match *match = arena_alloc(arena, sizeof *match);
    if (map == NULL || match == NULL) {
        return refuse_memory(error);
    }
    bool read = media == SWING_C3D ? marker_file_read_c3d(bytes, length, arena, &file, error)
                                   : marker_file_read_trc(bytes, length, arena, &file, error);
    if (!read || !document_fill(reading, out, error) ||
        !marker_map_apply(map, &file, reading->hand, arena, &out->motion, match, error) ||
        !axes_find(reading, &file, &out->motion, &axes, error)) {
        return false;
    }
    out->has_motion = true;
    out->markers = match;
    swing_mirror(&out->swing);
    return swing_motion_analyse(axes, arena, out) || refuse_memory(error);
}

bool swing_file_read(enum swing_media media, const void *bytes, size_t length, const struct swing_reading *reading,
                     struct arena *arena, struct swing_document *out, struct wire_error *error)
{
    *error = (struct wire_error){"", ""};
    return media == SWING_JSON ? swing_read(bytes, length, arena, out, error)
                               : markers_read(media, bytes, length, reading, arena, out, error);
}

char *swing_reading_write(const struct swing_reading *reading, struct arena *arena, size_t *length)
{
    struct json_out out;
    const struct marker_map *map = reading->map != NULL ? reading->map : marker_map_default(arena);
    if (map == NULL) {
        return NULL;
    }
    json_out_start(&out, arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "schema", READING_SCHEMA);
    if (reading->hand_given) {
        json_out_text(&out, "hand", reading->hand == HAND_LEFT ? "left" : "right");
    }
    if (reading->club != CLUB_UNKNOWN) {
        json_out_text(&out, "club", club_kind_name(reading->club));
    }
    if (reading->club_number.given) {
        json_out_number(&out, "club_number", reading->club_number.value, 9);
    }
    if (reading->club_length_m.given) {
        json_out_number(&out, "club_length_m", reading->club_length_m.value, 9);
    }
    if (reading->target_given) {
        json_out_text(&out, "target", lab_axis_name(reading->axes.target));
    }
    if (reading->up_given) {
        json_out_text(&out, "up", lab_axis_name(reading->axes.up));
    }
    if (reading->recorded_at[0] != '\0') {
        json_out_text(&out, "recorded_at", reading->recorded_at);
    }
    marker_map_write(map, &out, "map");
    json_out_end_object(&out);
    return json_out_finish(&out, length);
}

enum reading_key {
    KEY_SCHEMA,
    KEY_HAND,
    KEY_CLUB,
    KEY_CLUB_NUMBER,
    KEY_CLUB_LENGTH,
    KEY_TARGET,
    KEY_UP,
    KEY_RECORDED_AT,
    KEY_MAP
};

static bool axis_read(struct json_fields *fields, const struct wire_at *here, enum lab_axis *axis, bool *given)
{
    char text[JSON_FIELDS_TEXT];
    if (!json_fields_text(fields, here, text, sizeof text)) {
        return false;
    }
    *given = lab_axis_parse(text, axis);
    return *given || json_fields_refuse(fields, here, "must be +x, -x, +y, -y, +z or -z, not \"%s\"", text);
}

static bool map_read(struct json_fields *fields, const struct wire_at *here, struct swing_reading *out)
{
    struct marker_map *map = arena_take(fields->arena, sizeof *map);
    out->map = map;
    return map == NULL ? json_fields_refuse(fields, NULL, "needs more memory than there is")
                       : marker_map_read_part(fields, here, map);
}

static bool reading_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct swing_reading *out = to;
    int64_t ms;
    switch ((enum reading_key)key) {
    case KEY_SCHEMA:
        return json_fields_word(fields, here, READING_SCHEMA);
    case KEY_HAND:
        out->hand_given = swing_read_hand(fields, here, &out->hand);
        return out->hand_given;
    case KEY_CLUB:
        return swing_read_club(fields, here, &out->club);
    case KEY_TARGET:
        return axis_read(fields, here, &out->axes.target, &out->target_given);
    case KEY_UP:
        return axis_read(fields, here, &out->axes.up, &out->up_given);
    case KEY_RECORDED_AT:
        return swing_read_time(fields, here, &ms, out->recorded_at);
    default:
        return map_read(fields, here, out);
    }
}

bool swing_reading_read(const char *json, size_t length, struct arena *arena, struct swing_reading *out,
                        struct wire_error *error)
{
    static const struct json_field table[] = {
        JSON_FIELD("schema", true),
        JSON_FIELD("hand", false),
        JSON_FIELD("club", false),
        JSON_FIELD_MAYBE("club_number", struct swing_reading, club_number, 1, 70),
        JSON_FIELD_MAYBE("club_length_m", struct swing_reading, club_length_m, 0.3, 1.5),
        JSON_FIELD("target", false),
        JSON_FIELD("up", false),
        JSON_FIELD("recorded_at", false),
        JSON_FIELD("map", true),
        {.name = NULL}};
    struct json_fields fields = json_fields_start(json, length, arena, error);
    memset(out, 0, sizeof *out);
    return json_fields_object(&fields, NULL, table, reading_value, out, NULL) && json_fields_finish(&fields);
}

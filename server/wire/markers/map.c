/* The map of marker names as JSON, in and out. */
#include "wire/markers/map.h"

#include <stdio.h>
#include <string.h>

#include "base/embed.h"
#include "base/plain_text.h"
#include "wire/markers/parts.h"

#define DEFAULT_FILE "markers.json"

/* "left_wrist" for the lead wrist, as of a right-hander; other names are the point's own. */
static void key_write(enum point point, char out[KEY_TEXT])
{
    const char *name = point_name(point);
    if (strncmp(name, "lead_", 5) == 0) {
        (void)snprintf(out, KEY_TEXT, "left_%s", name + 5);
    } else if (strncmp(name, "trail_", 6) == 0) {
        (void)snprintf(out, KEY_TEXT, "right_%s", name + 6);
    } else {
        (void)snprintf(out, KEY_TEXT, "%s", name);
    }
}

static bool key_parse(const char *key, enum point *out)
{
    char name[KEY_TEXT];
    for (int p = 0; p < POINT_COUNT; p++) {
        key_write((enum point)p, name);
        if (strcmp(name, key) == 0) {
            *out = (enum point)p;
            return true;
        }
    }
    return false;
}

/* One marker's name. Something of it must be left once what is not compared is taken away. */
static bool name_read(struct swing_reader *reader, const struct wire_at *place, const char **out)
{
    char name[MARKER_NAME_TEXT];
    if (!swing_text(reader, place, name, sizeof name)) {
        return false;
    }
    const char *colon = strrchr(name, ':');
    if (strspn(colon == NULL ? name : colon + 1, " _-.") == strlen(colon == NULL ? name : colon + 1)) {
        return swing_refuse(reader, place, "must be the name of a marker");
    }
    char why[PLAIN_WHY];
    if (!plain_text_check(name, PLAIN_NAME, why)) {
        return swing_refuse(reader, place, "%s", why);
    }
    *out = arena_strdup(reader->arena, name);
    return *out != NULL || swing_refuse(reader, place, "needs more memory than there is");
}

static bool choice_read(struct swing_reader *reader, const struct wire_at *place, struct marker_choice *out)
{
    int count = 0;
    out->count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = wire_index(place, count - 1);
        if (count > MARKER_MIDDLE_MAX) {
            return swing_refuse(reader, place, "has more than %d markers for one point", MARKER_MIDDLE_MAX);
        }
        if (!name_read(reader, &here, &out->names[count - 1])) {
            return false;
        }
        out->count = count;
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    return out->count > 0 || swing_refuse(reader, place, "needs at least one marker");
}

static bool choices_read(struct swing_reader *reader, const struct wire_at *place, struct marker_map *map,
                         enum point point)
{
    int count = 0;
    if (!swing_open(reader, place, '[')) {
        return false;
    }
    while (json_in_next_item(&reader->in, &count)) {
        struct wire_at here = wire_index(place, count - 1);
        if (count > MARKER_ALTERNATIVES_MAX) {
            return swing_refuse(reader, place, "has more than %d alternatives", MARKER_ALTERNATIVES_MAX);
        }
        if (!choice_read(reader, &here, &map->choices[point][count - 1])) {
            return false;
        }
        map->alternatives[point] = count;
    }
    return reader->in.error == NULL || swing_refuse_json(reader, place);
}

static bool points_read(struct swing_reader *reader, const struct wire_at *place, struct marker_map *map)
{
    bool given[POINT_COUNT] = {false};
    bool any = false; /* a point whose list is empty is left out when the map is written */
    char key[KEY_TEXT];
    int count = 0;
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while (json_in_next_key(&reader->in, &count, key, sizeof key)) {
        struct wire_at here = wire_key(place, key);
        enum point point;
        if (!key_parse(key, &point)) {
            return swing_refuse(reader, &here, "is not a point; they are called left_wrist, neck, clubhead ...");
        }
        if (given[point]) {
            return swing_refuse(reader, &here, "is given twice");
        }
        given[point] = true;
        if (!choices_read(reader, &here, map, point)) {
            return false;
        }
        any = any || map->alternatives[point] > 0;
    }
    if (reader->in.error != NULL) {
        return swing_refuse_json(reader, place);
    }
    return any || swing_refuse(reader, place, "needs at least one point with a marker");
}

bool marker_map_read_part(struct swing_reader *reader, const struct wire_at *place, struct marker_map *out)
{
    static const char *const names[] = {"schema", "points", NULL};
    unsigned seen = 0;
    int count = 0;
    int key;
    char text[KEY_TEXT];
    memset(out, 0, sizeof *out);
    if (!swing_open(reader, place, '{')) {
        return false;
    }
    while ((key = swing_key(reader, place, names, &seen, &count)) >= 0) {
        struct wire_at here = wire_key(place, names[key]);
        if (key == 1) {
            points_read(reader, &here, out);
        } else if (swing_text(reader, &here, text, sizeof text) && strcmp(text, MARKER_MAP_SCHEMA) != 0) {
            swing_refuse(reader, &here, "must be \"%s\", not \"%s\"", MARKER_MAP_SCHEMA, text);
        }
    }
    return swing_need(reader, place, names, seen, 3);
}

bool marker_map_read(const char *json, size_t length, struct arena *arena, struct marker_map *out,
                     struct wire_error *error)
{
    struct swing_reader reader = {.arena = arena, .error = error};
    *error = (struct wire_error){"", ""};
    json_in_start(&reader.in, json, length);
    if (!marker_map_read_part(&reader, NULL, out)) {
        return false;
    }
    return json_in_finish(&reader.in) || swing_refuse_json(&reader, NULL);
}

void marker_map_write(const struct marker_map *map, struct json_out *out, const char *key)
{
    json_out_object(out, key);
    json_out_text(out, "schema", MARKER_MAP_SCHEMA);
    json_out_object(out, "points");
    for (int p = 0; p < POINT_COUNT; p++) {
        char name[KEY_TEXT];
        if (map->alternatives[p] == 0) {
            continue;
        }
        key_write((enum point)p, name);
        json_out_array(out, name);
        for (int i = 0; i < map->alternatives[p]; i++) {
            json_out_array(out, NULL);
            for (int k = 0; k < map->choices[p][i].count; k++) {
                json_out_text(out, NULL, map->choices[p][i].names[k]);
            }
            json_out_end_array(out);
        }
        json_out_end_array(out);
    }
    json_out_end_object(out);
    json_out_end_object(out);
}

const char *marker_map_default_json(size_t *length)
{
    for (size_t i = 0; i < embedded_standard_count; i++) {
        if (strcmp(embedded_standard[i].name, DEFAULT_FILE) == 0) {
            *length = embedded_standard[i].size;
            return (const char *)embedded_standard[i].data;
        }
    }
    *length = 0;
    return NULL;
}

const struct marker_map *marker_map_default(struct arena *arena)
{
    size_t length;
    const char *json = marker_map_default_json(&length);
    struct marker_map *map = arena_take(arena, sizeof *map);
    struct wire_error error;
    return json != NULL && map != NULL && marker_map_read(json, length, arena, map, &error) ? map : NULL;
}

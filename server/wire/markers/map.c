/* The map of marker names as JSON, in and out. */
#include "wire/markers/map.h"

#include <stdio.h>
#include <string.h>

#include "base/embed.h"
#include "base/plain_text.h"
#include "wire/markers/parts.h"

#define DEFAULT_FILE "markers.json"

/* "left_wrist" for the lead wrist, as of a right-hander; other names are the point's own. */
static void key_write(enum point point, char out[JSON_FIELDS_TEXT])
{
    const char *name = point_name(point);
    if (strncmp(name, "lead_", 5) == 0) {
        (void)snprintf(out, JSON_FIELDS_TEXT, "left_%s", name + 5);
    } else if (strncmp(name, "trail_", 6) == 0) {
        (void)snprintf(out, JSON_FIELDS_TEXT, "right_%s", name + 6);
    } else {
        (void)snprintf(out, JSON_FIELDS_TEXT, "%s", name);
    }
}

static bool key_parse(const char *key, enum point *out)
{
    char name[JSON_FIELDS_TEXT];
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
static bool name_read(struct json_fields *fields, const struct wire_at *place, const char **out)
{
    char name[MARKER_NAME_TEXT];
    if (!json_fields_text(fields, place, name, sizeof name)) {
        return false;
    }
    const char *colon = strrchr(name, ':');
    if (strspn(colon == NULL ? name : colon + 1, " _-.") == strlen(colon == NULL ? name : colon + 1)) {
        return json_fields_refuse(fields, place, "must be the name of a marker");
    }
    char why[PLAIN_WHY];
    if (!plain_text_check(name, PLAIN_NAME, why)) {
        return json_fields_refuse(fields, place, "%s", why);
    }
    *out = arena_strdup(fields->arena, name);
    return *out != NULL || json_fields_refuse(fields, place, "needs more memory than there is");
}

static bool choice_name(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct marker_choice *choice = to;
    return name_read(fields, here, &choice->names[index]);
}

static bool choice_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct marker_choice *choice = (struct marker_choice *)to + index;
    return json_fields_list(fields, here, MARKER_MIDDLE_MAX, "markers for one point", &choice->count, choice_name,
                            choice) &&
           (choice->count > 0 || json_fields_refuse(fields, here, "needs at least one marker"));
}

struct map_points {
    struct marker_map *map;
    bool given[POINT_COUNT];
    bool any; /* a point whose list is empty is left out when the map is written */
};

static bool point_read(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct map_points *points = to;
    enum point point;
    (void)index;
    if (!key_parse(here->key, &point)) {
        return json_fields_refuse(fields, here, "is not a point; they are called left_wrist, neck, clubhead ...");
    }
    if (points->given[point]) {
        return json_fields_refuse(fields, here, "is given twice");
    }
    points->given[point] = true;
    int *length = &points->map->alternatives[point];
    if (!json_fields_list(fields, here, MARKER_ALTERNATIVES_MAX, "alternatives", length, choice_read,
                          points->map->choices[point])) {
        return false;
    }
    points->any = points->any || *length > 0;
    return true;
}

static bool map_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct map_points points = {.map = to};
    if (key == 0) {
        return json_fields_word(fields, here, MARKER_MAP_SCHEMA);
    }
    return json_fields_map(fields, here, point_read, &points) &&
           (points.any || json_fields_refuse(fields, here, "needs at least one point with a marker"));
}

bool marker_map_read_part(struct json_fields *fields, const struct wire_at *place, struct marker_map *out)
{
    static const struct json_field table[] = {JSON_FIELD("schema", true), JSON_FIELD("points", true), {.name = NULL}};
    memset(out, 0, sizeof *out);
    return json_fields_object(fields, place, table, map_value, out, NULL);
}

bool marker_map_read(const char *json, size_t length, struct arena *arena, struct marker_map *out,
                     struct wire_error *error)
{
    struct json_fields fields = json_fields_start(json, length, arena, error);
    return marker_map_read_part(&fields, NULL, out) && json_fields_finish(&fields);
}

void marker_map_write(const struct marker_map *map, struct json_out *out, const char *key)
{
    json_out_object(out, key);
    json_out_text(out, "schema", MARKER_MAP_SCHEMA);
    json_out_object(out, "points");
    for (int p = 0; p < POINT_COUNT; p++) {
        char name[JSON_FIELDS_TEXT];
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

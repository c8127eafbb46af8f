/* Reads drills: plain text fields, and lists of names that become bits. */
#include "wire/rules/drill_read.h"

#include <string.h>

#include "base/embed.h"
#include "wire/json/tree.h"
#include "wire/rules/old_names.h"

#define NAME_MAX_BYTES 80
#define TEXT_MAX 2000

typedef bool (*bit_parser)(const char *name, unsigned *bit);

static bool read_bits(const json_t *value, const char *key, bool required, bit_parser parse, unsigned *out,
                      const struct wire_at *at, struct wire_error *error)
{
    const json_t *list;
    if (!wire_array(value, key, required, 16, &list, at, error)) {
        return false;
    }
    struct wire_at here = wire_key(at, key);
    for (size_t i = 0; list != NULL && i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        unsigned bit = 0;
        struct wire_at entry = wire_index(&here, (int)i);
        if (name == NULL || !parse(name, &bit)) {
            return wire_fail(error, &entry, "unknown name \"%.40s\"", name == NULL ? "" : name);
        }
        if ((*out & bit) != 0) {
            return wire_fail(error, &entry, "the same name twice");
        }
        *out |= bit;
    }
    return true;
}

static bool read_faults(const json_t *value, bool out[FAULT_COUNT], const struct wire_at *at, struct wire_error *error)
{
    const json_t *list;
    if (!wire_array(value, "faults", true, FAULT_COUNT, &list, at, error)) {
        return false;
    }
    struct wire_at here = wire_key(at, "faults");
    if (json_array_size(list) == 0) {
        return wire_fail(error, &here, "a drill is for at least one fault");
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        enum fault_id fault;
        struct wire_at entry = wire_index(&here, (int)i);
        if (name == NULL || !fault_read(name, &fault)) {
            return wire_fail(error, &entry, "unknown fault \"%.40s\"", name == NULL ? "" : name);
        }
        out[fault] = true;
    }
    return true;
}

static bool read_texts(const json_t *value, struct arena *arena, struct drill *out, const struct wire_at *at,
                       struct wire_error *error)
{
    return wire_name(arena, value, "name", true, NAME_MAX_BYTES, &out->name, at, error) &&
           wire_text(arena, value, "how_to", true, TEXT_MAX, &out->how_to, at, error) &&
           wire_text(arena, value, "feel", true, TEXT_MAX, &out->feel, at, error) &&
           wire_text(arena, value, "cautions", false, TEXT_MAX, &out->cautions, at, error);
}

static bool read_flags(const json_t *value, struct drill *out, const struct wire_at *at, struct wire_error *error)
{
    return wire_boolean(value, "ball", true, &out->ball, at, error) &&
           wire_boolean(value, "balance", false, &out->balance, at, error) &&
           wire_boolean(value, "adult_only", false, &out->adult_only, at, error) &&
           wire_integer(value, "minutes", true, 1, 60, &out->minutes, at, error) &&
           read_bits(value, "kit", true, kit_parse, &out->kit, at, error) &&
           read_bits(value, "place", true, place_parse, &out->place, at, error) &&
           read_bits(value, "loads", true, area_parse, &out->loads, at, error) &&
           read_bits(value, "contraindicated", false, area_parse, &out->contraindicated, at, error);
}

bool drill_read_one(const json_t *value, bool needs_id, struct arena *arena, struct drill *out,
                    const struct wire_at *at, struct wire_error *error)
{
    static const char *const with_id[] = {"id",       "name",  "faults",  "how_to",          "feel",
                                          "cautions", "ball",  "balance", "adult_only",      "minutes",
                                          "kit",      "place", "loads",   "contraindicated", NULL};
    *out = (struct drill){.cautions = ""};
    if (!wire_object(value, needs_id ? with_id : with_id + 1, at, error) ||
        (needs_id && !wire_text(arena, value, "id", true, NAME_MAX_BYTES, &out->id, at, error)) ||
        !read_texts(value, arena, out, at, error) || !read_faults(value, out->faults, at, error) ||
        !read_flags(value, out, at, error)) {
        return false;
    }
    if (out->place == 0) {
        struct wire_at here = wire_key(at, "place");
        return wire_fail(error, &here, "a drill needs at least one place");
    }
    if (out->ball && (out->kit & KIT_BALLS) == 0) {
        struct wire_at here = wire_key(at, "kit");
        return wire_fail(error, &here, "a drill with a ball needs balls");
    }
    if (out->balance && (out->kit & KIT_SUPPORT) == 0) {
        struct wire_at here = wire_key(at, "kit");
        return wire_fail(error, &here, "a balance drill needs a support");
    }
    return true;
}

static bool read_root(const json_t *root, struct arena *arena, struct drill **out, int *count, struct wire_error *error)
{
    static const char *const keys[] = {"schema", "drills", NULL};
    const char *schema = NULL;
    const json_t *list;
    if (!wire_object(root, keys, NULL, error) || !wire_text_borrow(root, "schema", true, 64, &schema, NULL, error)) {
        return false;
    }
    struct wire_at at = wire_key(NULL, "schema");
    if (strcmp(schema, DRILLS_SCHEMA) != 0) {
        return wire_fail(error, &at, "must be \"%s\"", DRILLS_SCHEMA);
    }
    at.key = "drills";
    if (!wire_array(root, "drills", true, DRILLS_MAX, &list, NULL, error)) {
        return false;
    }
    size_t n = json_array_size(list);
    struct drill *drills = arena_alloc(arena, (n + 1) * sizeof *drills);
    if (drills == NULL) {
        return wire_fail(error, &at, "out of memory");
    }
    for (size_t i = 0; i < n; i++) {
        struct wire_at here = wire_index(&at, (int)i);
        if (!drill_read_one(json_array_get(list, i), true, arena, &drills[i], &here, error)) {
            return false;
        }
        for (size_t k = 0; k < i; k++) {
            if (strcmp(drills[k].id, drills[i].id) == 0) {
                struct wire_at id = wire_key(&here, "id");
                return wire_fail(error, &id, "the same id twice");
            }
        }
    }
    *out = drills;
    *count = (int)n;
    return true;
}

bool drills_read(const char *json, size_t length, struct arena *arena, struct drill **out, int *count,
                 struct wire_error *error)
{
    json_t *root = wire_parse(json, length, error);
    if (root == NULL) {
        return false;
    }
    bool ok = read_root(root, arena, out, count, error);
    json_decref(root);
    return ok;
}

const struct drill *drills_default(struct arena *arena, int *count)
{
    for (size_t i = 0; i < embedded_standard_count; i++) {
        const struct embedded_file *file = &embedded_standard[i];
        struct drill *drills = NULL;
        if (strcmp(file->name, "drills.json") == 0 &&
            drills_read((const char *)file->data, file->size, arena, &drills, count, NULL)) {
            return drills;
        }
    }
    return NULL;
}

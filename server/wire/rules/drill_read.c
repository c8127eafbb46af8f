/* Reads drills: plain text fields, and lists of names that become bits. */
#include "wire/rules/drill_read.h"

#include <string.h>

#include "base/embed.h"
#include "wire/rules/old_names.h"
#include "wire/rules/standard_read.h"

#define NAME_MAX_BYTES 80
#define TEXT_MAX 2000
#define NOTE_MAX 500

struct bits {
    bool (*parse)(const char *name, unsigned *bit);
    unsigned *out;
};

static bool take_bit(struct tree *tree, int index, void *to)
{
    const struct bits *bits = to;
    const char *name = tree_here(tree);
    unsigned bit = 0;
    (void)index;
    if (name == NULL || !bits->parse(name, &bit)) {
        return tree_refuse(tree, NULL, "unknown name \"%.40s\"", name == NULL ? "" : name);
    }
    if ((*bits->out & bit) != 0) {
        return tree_refuse(tree, NULL, "the same name twice");
    }
    *bits->out |= bit;
    return true;
}

static bool read_bits(struct tree *tree, const char *key, bool required, bool (*parse)(const char *, unsigned *),
                      unsigned *out)
{
    return tree_list(tree, key, required, 16, NULL, take_bit, &(struct bits){parse, out}, NULL);
}

static bool take_fault(struct tree *tree, int index, void *to)
{
    struct drill *drill = to;
    const char *name = tree_here(tree);
    enum fault_id fault;
    (void)index;
    if (name == NULL || !fault_read(name, &fault)) {
        return tree_refuse(tree, NULL, "unknown fault \"%.40s\"", name == NULL ? "" : name);
    }
    drill->faults[fault] = true;
    return true;
}

static bool take_pass(struct tree *tree, int index, void *to)
{
    struct drill *drill = to;
    (void)index;
    if (!tree_integer(tree, "of", true, 1, 1000, &drill->pass.of) ||
        !tree_integer(tree, "n", true, 1, 1000, &drill->pass.n) ||
        !tree_text(tree, "what", true, NOTE_MAX, &drill->pass.what)) {
        return false;
    }
    return drill->pass.n <= drill->pass.of || tree_refuse(tree, "n", "more than there are tries");
}

static bool take_ask(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"measure", "checkpoint", "value", NULL};
    struct drill_ask *ask = &((struct drill *)to)->asks[index];
    return tree_keys(tree, keys) && standard_read_item(tree, &ask->item) &&
           tree_number(tree, "value", true, -1000, 1000, &ask->value, NULL);
}

/* How it goes on from one drill to the next, and why. */
static bool read_line(struct tree *tree, struct drill *out)
{
    static const char *const pass[] = {"n", "of", "what", NULL};
    int level = 0;
    if (!tree_integer(tree, "level", false, LEVEL_NO_CLUB, LEVEL_COURSE, &level) ||
        !tree_text(tree, "entry", false, NOTE_MAX, &out->entry) ||
        !tree_object(tree, "pass", false, pass, take_pass, out) ||
        !tree_text(tree, "next", false, NAME_MAX_BYTES, &out->next) ||
        !tree_text(tree, "easier", false, NOTE_MAX, &out->easier) ||
        !tree_text(tree, "why", false, NOTE_MAX, &out->why) ||
        !tree_text(tree, "source", false, NOTE_MAX, &out->source) ||
        !tree_list(tree, "asks", false, DRILL_ASKS_MAX, NULL, take_ask, out, &out->ask_count)) {
        return false;
    }
    out->level = level == 0 ? practice_level(out->ball, out->kit) : (enum drill_level)level;
    return true;
}

static bool level_fits(struct tree *tree, const struct drill *drill)
{
    if (drill->ball != (drill->level >= LEVEL_HALF_SPEED_BALL)) {
        return tree_refuse(tree, "level", "levels 1 and 2 are without a ball, 3 and 4 with one");
    }
    if (drill->level == LEVEL_NO_CLUB && (drill->kit & KIT_CLUB) != 0) {
        return tree_refuse(tree, "level", "level 1 is without a club");
    }
    return drill->level != LEVEL_COURSE || (drill->place & PLACE_COURSE) != 0 ||
           tree_refuse(tree, "level", "level 4 is for the course");
}

static bool read_members(struct tree *tree, bool needs_id, struct drill *out)
{
    int faults = 0;
    return (!needs_id || tree_text(tree, "id", true, NAME_MAX_BYTES, &out->id)) &&
           tree_name(tree, "name", true, NAME_MAX_BYTES, &out->name) &&
           tree_text(tree, "how_to", true, TEXT_MAX, &out->how_to) &&
           tree_text(tree, "feel", true, TEXT_MAX, &out->feel) &&
           tree_text(tree, "cautions", false, TEXT_MAX, &out->cautions) &&
           tree_list(tree, "faults", true, FAULT_COUNT, NULL, take_fault, out, &faults) &&
           (faults > 0 || tree_refuse(tree, "faults", "a drill is for at least one fault")) &&
           tree_boolean(tree, "ball", true, &out->ball) && tree_boolean(tree, "balance", false, &out->balance) &&
           tree_boolean(tree, "adult_only", false, &out->adult_only) &&
           tree_integer(tree, "minutes", true, 1, 60, &out->minutes) &&
           read_bits(tree, "kit", true, kit_parse, &out->kit) &&
           read_bits(tree, "place", true, place_parse, &out->place) &&
           read_bits(tree, "loads", true, area_parse, &out->loads) &&
           read_bits(tree, "contraindicated", false, area_parse, &out->contraindicated) && read_line(tree, out);
}

bool drill_read_one(struct tree *tree, bool needs_id, struct drill *out)
{
    static const char *const with_id[] = {
        "id",     "name",  "faults", "how_to",          "feel",  "cautions", "ball", "balance", "adult_only", "minutes",
        "kit",    "place", "loads",  "contraindicated", "level", "entry",    "pass", "next",    "easier",     "why",
        "source", "asks",  NULL};
    *out = (struct drill){.cautions = ""};
    if (!tree_keys(tree, needs_id ? with_id : with_id + 1) || !read_members(tree, needs_id, out)) {
        return false;
    }
    if (out->place == 0) {
        return tree_refuse(tree, "place", "a drill needs at least one place");
    }
    if (out->ball && (out->kit & KIT_BALLS) == 0) {
        return tree_refuse(tree, "kit", "a drill with a ball needs balls");
    }
    if (out->balance && (out->kit & KIT_SUPPORT) == 0) {
        return tree_refuse(tree, "kit", "a balance drill needs a support");
    }
    return level_fits(tree, out);
}

static bool take_drill(struct tree *tree, int index, void *to)
{
    struct drill *drills = to;
    if (!drill_read_one(tree, true, &drills[index])) {
        return false;
    }
    for (int i = 0; i < index; i++) {
        if (strcmp(drills[i].id, drills[index].id) == 0) {
            return tree_refuse(tree, "id", "the same id twice");
        }
    }
    return true;
}

static bool read_root(struct tree *tree, struct drill **out, int *count)
{
    static const char *const keys[] = {"schema", "drills", NULL};
    const char *schema = NULL;
    if (!tree_keys(tree, keys) || !tree_text_borrow(tree, "schema", true, 64, &schema)) {
        return false;
    }
    if (strcmp(schema, DRILLS_SCHEMA) != 0) {
        return tree_refuse(tree, "schema", "must be \"%s\"", DRILLS_SCHEMA);
    }
    const size_t length = json_array_size(json_object_get(tree->value, "drills"));
    *out = arena_alloc(tree->arena, ((length < DRILLS_MAX ? length : DRILLS_MAX) + 1) * sizeof **out);
    if (*out == NULL) {
        return tree_refuse(tree, "drills", "out of memory");
    }
    return tree_list(tree, "drills", true, DRILLS_MAX, NULL, take_drill, *out, count);
}

bool drills_read(const char *json, size_t length, struct arena *arena, struct drill **out, int *count,
                 struct wire_error *error)
{
    json_t *root = tree_parse(json, length, error);
    struct tree tree = {.value = root, .arena = arena, .error = error};
    const bool good = root != NULL && read_root(&tree, out, count);
    json_decref(root);
    return good;
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

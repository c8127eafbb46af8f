/* Any JSON. The pull reader beside jansson: both take the same documents and find the same values in them. A table of
 * fields beside the same rules over jansson's tree: both take the same objects, and give the same numbers. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "wire/json/fields.h"
#include "wire/json/out.h"
#include "wire/json/tree.h"

/* What only the pull reader refuses. */
static bool own_limit(const char *error)
{
    return error != NULL && (strstr(error, "nested too deeply") != NULL || strstr(error, "too many digits") != NULL);
}

/* ---- the same values ---- */

static void compare(struct json_in *in, const json_t *tree, char *text, size_t room);

static void compare_object(struct json_in *in, const json_t *tree, char *text, size_t room)
{
    int count = 0;
    fuzz_require(json_in_open(in, '{'), "an object opens");
    while (json_in_next_key(in, &count, text, room)) {
        compare(in, json_object_get(tree, text), text, room);
    }
    fuzz_require(in->error == NULL && (size_t)count == json_object_size(tree), "an object has as many members");
}

static void compare_list(struct json_in *in, const json_t *tree, char *text, size_t room)
{
    int count = 0;
    fuzz_require(json_in_open(in, '['), "a list opens");
    while (json_in_next_item(in, &count)) {
        compare(in, json_array_get(tree, (size_t)count - 1), text, room);
    }
    fuzz_require(in->error == NULL && (size_t)count == json_array_size(tree), "a list has as many entries");
}

static void compare(struct json_in *in, const json_t *tree, char *text, size_t room)
{
    double number = 0;
    fuzz_require(tree != NULL, "a value is there for both");
    switch (json_in_peek(in)) {
    case JSON_KIND_OBJECT:
        compare_object(in, tree, text, room);
        return;
    case JSON_KIND_ARRAY:
        compare_list(in, tree, text, room);
        return;
    case JSON_KIND_TEXT:
        fuzz_require(json_in_text(in, text, room) && json_is_string(tree), "a text for both");
        fuzz_require(strcmp(text, json_string_value(tree)) == 0, "and the same");
        return;
    case JSON_KIND_NUMBER:
        fuzz_require(json_in_number(in, &number) && json_is_real(tree), "a number for both");
        fuzz_require(number == json_real_value(tree) && signbit(number) == signbit(json_real_value(tree)),
                     "and the same");
        return;
    default:
        fuzz_require(json_in_null(in) ? json_is_null(tree) : json_in_skip(in) && json_is_boolean(tree),
                     "a word for both");
    }
}

/* ---- a table ---- */

#define NUMBERS 3
static const double limits[NUMBERS][2] = {{-1, 1}, {0, 100}, {1e-3, 1e3}};

struct thing {
    char name[JSON_FIELDS_TEXT];
    double x;
    struct maybe y;
    double numbers[NUMBERS];
    int number_count, point_count;
    double points[4];
};

enum { KIND, NAME, X, Y, NUMBERS_KEY, POINTS };
static const struct json_field point_table[] = {{"u", true, 0, 10, 0, 0}, {0}};
static const struct json_field table[] = {JSON_FIELD("kind", true),
                                          JSON_FIELD("name", false),
                                          JSON_FIELD_NUMBER("x", true, struct thing, x, -5, 5),
                                          JSON_FIELD_MAYBE("y", struct thing, y, 0, 1e9),
                                          JSON_FIELD("numbers", false),
                                          JSON_FIELD("points", false),
                                          {0}};

static bool take_point(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct thing *thing = to;
    return json_fields_object(fields, here, point_table, NULL, &thing->points[index], NULL);
}

static bool take(struct json_fields *fields, const struct wire_at *here, int index, void *to)
{
    struct thing *thing = to;
    switch (index) {
    case KIND:
        return json_fields_word(fields, here, "thing");
    case NAME:
        return json_fields_text(fields, here, thing->name, sizeof thing->name);
    case NUMBERS_KEY:
        return json_fields_numbers(fields, here, 1, NUMBERS, limits, "must be one to three numbers", thing->numbers,
                                   &thing->number_count);
    default:
        return json_fields_list(fields, here, 4, "points", &thing->point_count, take_point, thing);
    }
}

static bool point_of(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"u", NULL};
    struct thing *thing = to;
    return tree_keys(tree, keys) && tree_number(tree, "u", true, 0, 10, &thing->points[index], NULL);
}

static bool number_of(struct tree *tree, int index, void *to)
{
    struct thing *thing = to;
    const double value = json_number_value(tree->value);
    thing->numbers[index] = value;
    return (json_is_number(tree->value) && value >= limits[index][0] && value <= limits[index][1]) ||
           tree_refuse(tree, NULL, "must be a number within its limits");
}

static bool by_tree(json_t *root, struct thing *thing, struct arena *arena, struct wire_error *error)
{
    static const char *const keys[] = {"kind", "name", "x", "y", "numbers", "points", NULL};
    struct tree tree = {.value = root, .arena = arena, .error = error};
    const json_t *name = json_object_get(root, "name");
    const json_t *kind = json_object_get(root, "kind");
    if (!tree_keys(&tree, keys) || !json_is_string(kind) || strcmp(json_string_value(kind), "thing") != 0 ||
        (name != NULL && (!json_is_string(name) || json_string_length(name) >= sizeof thing->name))) {
        return false;
    }
    memcpy(thing->name, name == NULL ? "" : json_string_value(name), name == NULL ? 1 : json_string_length(name) + 1);
    return tree_number(&tree, "x", true, -5, 5, &thing->x, NULL) &&
           tree_number(&tree, "y", false, 0, 1e9, &thing->y.value, &thing->y.given) &&
           tree_list(&tree, "numbers", false, NUMBERS, NULL, number_of, thing, &thing->number_count) &&
           (thing->number_count > 0 || json_object_get(root, "numbers") == NULL) &&
           tree_list(&tree, "points", false, 4, NULL, point_of, thing, &thing->point_count);
}

static bool alike(const struct thing *a, const struct thing *b)
{
    bool same = strcmp(a->name, b->name) == 0 && a->x == b->x && a->y.given == b->y.given && a->y.value == b->y.value &&
                a->number_count == b->number_count && a->point_count == b->point_count;
    for (int i = 0; same && i < a->number_count; i++) {
        same = a->numbers[i] == b->numbers[i];
    }
    for (int i = 0; same && i < a->point_count; i++) {
        same = a->points[i] == b->points[i];
    }
    return same;
}

static bool check_table(const char *data, size_t size, json_t *root, struct arena *arena)
{
    struct thing one = {0};
    struct thing two = {0};
    struct wire_error error;
    struct wire_error other = {"", ""};
    unsigned seen = 0;
    struct json_fields fields = json_fields_start(data, size, arena, &error);
    const bool good = json_fields_object(&fields, NULL, table, take, &one, &seen) && json_fields_finish(&fields);
    if (!good) {
        fuzz_check_error(&error);
    }
    if (own_limit(error.what)) {
        return false;
    }
    fuzz_require(good == (root != NULL && by_tree(root, &two, arena, &other)), "a table, by both readings");
    fuzz_require(!good || alike(&one, &two), "and the same");
    fuzz_require(!good || (seen & 1U << KIND && seen & 1U << X), "what must be there was seen");
    return good;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *text = (const char *)data;
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    struct json_in in;
    fuzz_require(arena != NULL, "memory");
    json_in_start(&in, text, size);
    const bool skipped = json_in_skip(&in) && json_in_finish(&in);
    const size_t flags = JSON_DECODE_ANY | JSON_DECODE_INT_AS_REAL;
    const bool nul = memchr(text, '\0', size) != NULL; /* jansson passes over one behind a number */
    json_t *any = nul ? NULL : json_loadb(text, size, flags, NULL);
    json_t *once = any == NULL ? NULL : json_loadb(text, size, flags | JSON_REJECT_DUPLICATES, NULL);
    fuzz_require(skipped == (any != NULL) || own_limit(in.error), "JSON, by both readings");
    if (skipped && once != NULL) {
        char *room = arena_alloc(arena, size + 1);
        fuzz_require(room != NULL, "memory");
        json_in_start(&in, text, size);
        compare(&in, once, room, size + 1);
        fuzz_require(json_in_finish(&in), "to the end");
    }
    const bool tabled = check_table(text, size, once, arena);
    fuzz_count("fuzz_fields", skipped);
    fuzz_require(!tabled || skipped, "what a table takes is JSON");
    json_decref(any);
    json_decref(once);
    arena_free(arena);
    return 0;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = seed % 2 == 0 ? 0 : fuzz_json_mutate(data, size, max_size, seed);
    return length > 0 ? length : LLVMFuzzerMutate(data, size, max_size);
}

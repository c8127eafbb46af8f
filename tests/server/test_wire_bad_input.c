/* Every case of tests/data/bad_input is refused where and as its file "error" says: the path, then words of the
 * sentence, one a line. A case is a whole input.json, or a change.json (a JSON Patch) of the good document. */
#include <criterion/criterion.h>
#include <dirent.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"
#include "wire/swing/file.h"

typedef bool reader(const char *json, size_t length, struct arena *arena, struct wire_error *error);

static bool swing(const char *json, size_t length, struct arena *arena, struct wire_error *error)
{
    return swing_read(json, length, arena, arena_alloc(arena, sizeof(struct swing_document)), error);
}

static bool standard(const char *json, size_t length, struct arena *arena, struct wire_error *error)
{
    return standard_read(json, length, arena, arena_alloc(arena, sizeof(struct standard)), error);
}

static bool drills(const char *json, size_t length, struct arena *arena, struct wire_error *error)
{
    struct drill *list;
    int count;
    return drills_read(json, length, arena, &list, &count, error);
}

static bool markers(const char *json, size_t length, struct arena *arena, struct wire_error *error)
{
    return marker_map_read(json, length, arena, arena_alloc(arena, sizeof(struct marker_map)), error);
}

static bool reading(const char *json, size_t length, struct arena *arena, struct wire_error *error)
{
    return swing_reading_read(json, length, arena, arena_alloc(arena, sizeof(struct swing_reading)), error);
}

/* NULL when there is no such file. */
static char *file_text(const char *folder, const char *name, size_t *length)
{
    char path[512];
    snprintf(path, sizeof path, TESTS_DIR "/%s/%s", folder, name);
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return NULL;
    }
    char *text = calloc(1, 1 << 20);
    *length = fread(text, 1, (1 << 20) - 1, file);
    fclose(file);
    return text;
}

/* One operation of a JSON Patch: "add", "replace" or "remove". */
static void change(json_t *root, const json_t *operation)
{
    char pointer[256];
    snprintf(pointer, sizeof pointer, "%s", json_string_value(json_object_get(operation, "path")));
    json_t *at = root;
    char *key = strtok(pointer, "/");
    for (char *next; (next = strtok(NULL, "/")) != NULL; key = next) {
        at = json_is_array(at) ? json_array_get(at, (size_t)atoi(key)) : json_object_get(at, key);
    }
    json_t *value = json_object_get(operation, "value");
    if (json_is_array(at)) {
        cr_assert_not_null(value);
        cr_assert_eq(
            strcmp(key, "-") == 0 ? json_array_append(at, value) : json_array_set(at, (size_t)atoi(key), value), 0);
    } else {
        cr_assert_eq(value == NULL ? json_object_del(at, key) : json_object_set(at, key, value), 0, "%s", key);
    }
}

static char *input_of(const char *folder, const char *good, size_t *length)
{
    char *whole = file_text(folder, "input.json", length);
    if (whole != NULL) {
        return whole;
    }
    char *text = file_text(folder, "change.json", length);
    cr_assert(text != NULL && good != NULL, "%s has neither input.json nor change.json", folder);
    json_t *patch = json_loads(text, 0, NULL);
    cr_assert(json_array_size(patch) > 0, "%s/change.json", folder);
    free(text);
    text = file_text("..", good, length);
    json_t *root = json_loadb(text, *length, 0, NULL);
    free(text);
    for (size_t i = 0; i < json_array_size(patch); i++) {
        change(root, json_array_get(patch, i));
    }
    text = json_dumps(root, 0);
    *length = strlen(text);
    json_decref(root);
    json_decref(patch);
    return text;
}

static void refuse(reader *read, const char *folder, const char *good)
{
    size_t length, ignored;
    struct wire_error error = {"", ""};
    char *input = input_of(folder, good, &length);
    /* An exact copy without a final NUL: reading past the end is caught by the address sanitizer. */
    char *exact = malloc(length + (length == 0));
    memcpy(exact, input, length);
    struct arena *arena = arena_new(0);
    cr_expect_not(read(exact, length, arena, &error), "%s was taken", folder);
    arena_free(arena);
    free(exact);
    free(input);
    char *wanted = file_text(folder, "error", &ignored);
    cr_assert_not_null(wanted, "%s has no error", folder);
    char *words = wanted;
    const char *path = strsep(&words, "\n");
    cr_expect_str_eq(error.path, path, "%s: path %s: %s", folder, error.path, error.what);
    cr_expect_gt(strlen(error.what), 0u, "%s", folder);
    for (const char *word; (word = strsep(&words, "\n")) != NULL;) {
        cr_expect_not_null(strstr(error.what, word), "%s: \"%s\" is not in: %s", folder, word, error.what);
    }
    free(wanted);
}

static void refuse_all(reader *read, const char *kind, const char *good)
{
    char folder[512];
    int count = 0;
    snprintf(folder, sizeof folder, TESTS_DIR "/data/bad_input/%s", kind);
    DIR *cases = opendir(folder);
    cr_assert_not_null(cases, "%s", folder);
    for (const struct dirent *entry; (entry = readdir(cases)) != NULL;) {
        if (entry->d_name[0] != '.') {
            snprintf(folder, sizeof folder, "data/bad_input/%s/%s", kind, entry->d_name);
            refuse(read, folder, good);
            count++;
        }
    }
    closedir(cases);
    cr_assert_gt(count, 0);
}

Test(bad_input, swings)
{
    refuse_all(swing, "swing", "tests/data/every_part.json");
}

Test(bad_input, standards)
{
    refuse_all(standard, "standard", "server/standard/default.json");
}

Test(bad_input, lists_of_drills)
{
    refuse_all(drills, "drills", "server/standard/drills.json");
}

Test(bad_input, maps_of_markers)
{
    refuse_all(markers, "markers", NULL);
}

Test(bad_input, kept_readings)
{
    refuse_all(reading, "reading", NULL);
}

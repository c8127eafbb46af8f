/* Findings, counts, and the fixed things that inputs are tried with. */
#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"

#define FILE_BYTES_MAX ((size_t)1 << 18)

static const char *counted_name;
static unsigned long inputs;
static unsigned long inputs_read;

void fuzz_stop(const char *what)
{
    (void)fprintf(stderr, "\nfuzz: does not hold: %s\n", what);
    abort();
}

char *fuzz_text(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);
    fuzz_require(text != NULL, "memory");
    memcpy(text, data, size);
    text[size] = '\0';
    return text;
}

static void counts_tell(void)
{
    (void)fprintf(stderr, "%s: %lu inputs, %lu read\n", counted_name, inputs, inputs_read);
}

void fuzz_count(const char *name, bool was_read)
{
    if (counted_name == NULL) {
        counted_name = name;
        fuzz_require(atexit(counts_tell) == 0, "atexit");
    }
    inputs++;
    inputs_read += was_read;
}

/* FNV-1a. */
uint32_t fuzz_hash(const uint8_t *data, size_t size)
{
    uint32_t hash = 2166136261U;
    for (size_t i = 0; i < size; i++) {
        hash = (uint32_t)((uint64_t)(hash ^ data[i]) * 16777619U & 0xffffffffU);
    }
    return hash;
}

void fuzz_check_error(const struct wire_error *error)
{
    fuzz_require(memchr(error->what, '\0', sizeof error->what) != NULL, "a refusal's sentence ends");
    fuzz_require(memchr(error->path, '\0', sizeof error->path) != NULL, "a refusal's path ends");
    fuzz_require(error->what[0] != '\0', "a refusal says why");
}

const struct fuzz_book *fuzz_book(void)
{
    static struct fuzz_book book;
    static struct arena *arena;
    if (arena == NULL) {
        arena = arena_new(0);
        book.standard = arena == NULL ? NULL : standard_default(arena);
        book.drills = arena == NULL ? NULL : drills_default(arena, &book.drill_count);
        fuzz_require(book.standard != NULL && book.drills != NULL && book.drill_count > 0, "the built-in book is read");
    }
    return &book;
}

static const struct swing_document *swing_of(struct arena *arena, const char *name)
{
    char path[1024];
    struct wire_error error;
    struct swing_document *document = arena_alloc(arena, sizeof *document);
    char *text = arena_alloc(arena, FILE_BYTES_MAX);
    (void)snprintf(path, sizeof path, "%s/data/%s", TESTS_DIR, name);
    FILE *file = fopen(path, "rb");
    fuzz_require(file != NULL && document != NULL && text != NULL, path);
    size_t length = fread(text, 1, FILE_BYTES_MAX, file);
    (void)fclose(file);
    fuzz_require(swing_read(text, length, arena, document, &error), error.what);
    return document;
}

const struct swing_document *const *fuzz_swings(void)
{
    static const char *const names[FUZZ_SWINGS] = {"two_views.json", "left_handed.json", "every_part.json"};
    static const struct swing_document *swings[FUZZ_SWINGS];
    static struct arena *arena;
    if (arena == NULL) {
        arena = arena_new(0);
        fuzz_require(arena != NULL, "memory");
        for (int i = 0; i < FUZZ_SWINGS; i++) {
            swings[i] = swing_of(arena, names[i]);
        }
    }
    return swings;
}

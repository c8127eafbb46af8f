/* What the fuzz targets share. A target reads one input as the product would and goes on as far as the product does;
 * anything that must hold and does not is a finding: it stops the program, and libFuzzer keeps the input. */
#ifndef LEADSIDE_TESTS_FUZZ_FUZZ_H
#define LEADSIDE_TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "core/score.h"
#include "wire/json/error.h"
#include "wire/swing/file.h"

/* libFuzzer's own entry points. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerInitialize(int *argc, char ***argv);
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t max_size);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed);

/* Most memory that one input may take: what the listener gives a request. */
#define FUZZ_ARENA_LIMIT ((size_t)256 << 20)

/* Stops with a message unless held. */
_Noreturn void fuzz_stop(const char *what);
static inline void fuzz_require(bool held, const char *what)
{
    if (!held) {
        fuzz_stop(what);
    }
}

/* The input as text: a copy of exactly its bytes and a NUL. The caller frees it. */
char *fuzz_text(const uint8_t *data, size_t size);

/* Counts inputs, and how many of them were read; told at exit as "fuzz_NAME: N inputs, M read". A corpus of which
 * nothing is read proves nothing, and tests/fuzz/replay looks at this line. */
void fuzz_count(const char *name, bool was_read);

/* A number made of the input, so that choices are the same when it is replayed. */
uint32_t fuzz_hash(const uint8_t *data, size_t size);

/* A refusal says something, and both its texts end within their arrays. */
void fuzz_check_error(const struct wire_error *error);

/* The house standard and the drills that are built in, read once and kept. */
struct fuzz_book {
    const struct standard *standard;
    const struct drill *drills;
    int drill_count;
};
const struct fuzz_book *fuzz_book(void);

/* Documents of tests/data, read once and kept. */
#define FUZZ_SWINGS 3
const struct swing_document *const *fuzz_swings(void);

/* Numbers of a document that was read: finite, within their limits, counts within their arrays. */
void fuzz_check_swing(const struct swing *swing);

/* What was found in motion data: finite, in order, within its arrays; and both drawings can be made. */
void fuzz_check_motion(const struct motion_summary *motion, const struct report *report, struct arena *arena);

/* Scores `times` copies of the document's swing as one lesson for a player who is chosen by pick, checks every number
 * of the report, and writes it both ways. The JSON lives in the arena. */
const char *fuzz_score(const struct swing_document *document, int times, const struct fuzz_book *book, uint32_t pick,
                       struct arena *arena);

/* Reads a marker file by itself and as a swing, with what a coach would say beside it chosen by a hash of the bytes,
 * and goes on as fuzz_score does. True when the file itself was read. */
bool fuzz_markers(enum swing_media media, const uint8_t *data, size_t size, struct arena *arena);

/* A mutator that keeps JSON in shape: it changes numbers, names and structure of a parsed value. Gives 0 when the
 * input is no JSON or the result is too long: the caller then changes bytes. */
size_t fuzz_json_mutate(uint8_t *data, size_t size, size_t max_size, uint32_t seed);

/* The same for tables of text: it changes cells and lines. */
size_t fuzz_cells_mutate(uint8_t *data, size_t size, size_t max_size, uint32_t seed);

#endif

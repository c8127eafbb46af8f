/* The file `erasures` beside a club's: what a disk or an editor left in it is read whole or refused with a sentence
 * that says where. What is read is written again as a server writes it, and read as the same. */
#define _GNU_SOURCE
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "fuzz.h"
#include "store/engine/ledger_file.h"

#define SENTENCE 200

static void fill(int file, const void *bytes, size_t size)
{
    fuzz_require(ftruncate(file, 0) == 0 && pwrite(file, bytes, size, 0) == (ssize_t)size, "a file in memory");
}

static void again(struct ledger *ledger, const struct ledger_line *lines, size_t count, struct arena *arena)
{
    struct ledger_line *twice;
    size_t twice_count;
    char error[SENTENCE];
    for (size_t i = 0; i < count; i++) {
        fuzz_require(ledger_wait(ledger, lines[i].kind, lines[i].id, lines[i].at) == STORE_OK, "a line waits");
    }
    fill(ledger->file, ledger->waiting, ledger->waiting_size);
    fuzz_require(ledger_read(ledger, arena, &twice, &twice_count, error, sizeof error), "what is written is read");
    fuzz_require(twice_count == count, "with as many lines");
    for (size_t i = 0; i < count; i++) {
        fuzz_require(strcmp(twice[i].kind, lines[i].kind) == 0 && strcmp(twice[i].id, lines[i].id) == 0 &&
                         twice[i].at == lines[i].at,
                     "and the same in them");
    }
    free(ledger->waiting);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static int file = -1;
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    struct ledger_line *lines;
    size_t count;
    size_t ends = 0;
    char error[SENTENCE] = "";
    file = file < 0 ? memfd_create("erasures", 0) : file;
    struct ledger ledger = {.file = file};
    fuzz_require(arena != NULL, "memory");
    fill(file, data, size);
    const bool good = ledger_read(&ledger, arena, &lines, &count, error, sizeof error);
    fuzz_count("fuzz_ledger", good && count > 0);
    for (size_t i = 0; i < size; i++) {
        ends += data[i] == '\n';
    }
    fuzz_require(good ? count == ends : error[0] != '\0', "every line is read, or why not is said");
    if (good && count > 0) {
        for (size_t i = 0; i < count; i++) {
            fuzz_require(uuid_valid(lines[i].id) && lines[i].kind[0] != '\0', "a line names something");
        }
        again(&ledger, lines, count, arena);
    }
    arena_free(arena);
    return 0;
}

/* The body that corrects a swing's marks: what is taken for its document lies in it and is one JSON object. */
#include <string.h>

#include "fuzz.h"
#include "wire/json/in.h"
#include "wire/swing/marks.h"

static void read_marks(const char *data, size_t size, struct arena *arena)
{
    static struct swing_marks marks;
    static struct swing_document document;
    struct wire_error error;
    struct json_in in;
    const bool was_read = swing_marks_read(data, size, arena, &marks, &error);
    fuzz_count("fuzz_marks", was_read);
    if (!was_read) {
        fuzz_check_error(&error);
        return;
    }
    fuzz_require(marks.document >= data && marks.document_size <= size - (size_t)(marks.document - data),
                 "the document lies in what was read");
    fuzz_require(marks.document[0] == '{' && marks.document[marks.document_size - 1] == '}',
                 "it is an object, no more");
    json_in_start(&in, marks.document, marks.document_size);
    fuzz_require(json_in_skip(&in) && json_in_finish(&in), "it is JSON by itself");
    fuzz_require(marks.reason[0] != '\0' && strlen(marks.reason) < sizeof marks.reason, "there is a reason");
    memset(&document, 0, sizeof document);
    if (swing_read(marks.document, marks.document_size, arena, &document, &error)) {
        fuzz_check_swing(&document.swing);
    } else {
        fuzz_check_error(&error);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    read_marks((const char *)data, size, arena);
    arena_free(arena);
    return 0;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = fuzz_json_mutate(data, size, max_size, seed);
    return length > 0 ? length : LLVMFuzzerMutate(data, size, max_size);
}

/* A marker file: C3D, binary, of three kinds of processor and two of numbers. */
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    fuzz_count("fuzz_c3d", fuzz_markers(SWING_C3D, data, size, arena));
    arena_free(arena);
    return 0;
}

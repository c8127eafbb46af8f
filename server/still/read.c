/* Stills: which kind it is, told by its first bytes. */
#include "still/read.h"

#include <string.h>

#include "still/parts.h"

static const struct {
    const char *name, *mark;
    size_t from, length; /* where the mark stands */
    bool (*walk)(struct still_walk *walk);
} types[STILL_TYPE_COUNT] = {
    [STILL_JPEG] = {"image/jpeg", "\xff\xd8\xff", 0, 3, still_walk_jpeg},
    [STILL_PNG] = {"image/png", "\x89PNG\r\n\x1a\n", 0, 8, still_walk_png},
    [STILL_WEBP] = {"image/webp", "WEBP", 8, 4, still_walk_webp},
};

const char *still_type_name(enum still_type type)
{
    return types[type].name;
}

bool still_read(const void *data, size_t size, struct arena *arena, struct still *out, const char **why)
{
    struct still_walk walk = {.data = data, .size = size};
    *why = "is no JPEG, PNG or WebP picture";
    if (size > STILL_SIZE_MAX) {
        *why = "is larger than 512 KiB";
        return false;
    }
    for (int i = 0; i < STILL_TYPE_COUNT; i++) {
        if (size < types[i].from + types[i].length ||
            memcmp(walk.data + types[i].from, types[i].mark, types[i].length) != 0) {
            continue;
        }
        walk.out = arena_take(arena, size);
        if (walk.out == NULL) {
            *why = "does not fit into memory";
            return false;
        }
        const bool good = types[i].walk(&walk);
        *why = walk.why;
        *out = (struct still){(enum still_type)i, walk.width, walk.height, walk.out, walk.out_size};
        return good;
    }
    return false;
}

/* The club's map of marker names: the one in force to read, and a new one to read marker files by from now on. Swings
 * that came before keep the map they were read by. */
#include "api/lessons/markers.h"

#include "api/frame/version.h"
#include "api/lessons/handlers.h"

static bool map_check(struct arena *arena, struct store_version *version, struct wire_error *error)
{
    struct marker_map *map = arena_alloc(arena, sizeof *map);
    return map != NULL ? marker_map_read(version->json, version->json_size, arena, map, error)
                       : wire_fail(error, NULL, "needs more memory than there is");
}

static const struct versioned marker_names = {
    .kind = STORE_MARKERS,
    .name = "markers",
    .action = "markers.replace",
    .problem = "invalid-markers",
    .shipped = marker_map_default_json,
    .check = map_check,
};

enum store_status markers_current(struct call *call, const struct marker_map **out)
{
    struct store_version version;
    struct wire_error error;
    struct marker_map *map = arena_alloc(call->arena, sizeof *map);
    *out = NULL;
    if (map == NULL) {
        return STORE_NO_MEMORY;
    }
    const enum store_status status = version_current(call, &marker_names, &version);
    if (status != STORE_OK) {
        return status;
    }
    if (!marker_map_read(version.json, version.json_size, call->arena, map, &error)) {
        return STORE_CORRUPT;
    }
    *out = map;
    return STORE_OK;
}

void markers_get(struct call *call)
{
    version_get(call, &marker_names);
}

void markers_put(struct call *call)
{
    version_put(call, &marker_names);
}

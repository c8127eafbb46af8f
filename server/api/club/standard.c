/* The house standard: the current version to read, and a new version to judge by from now on. */
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/version.h"
#include "wire/rules/standard_read.h"

/* Has an item before this one the same name? */
static bool named_before(int item)
{
    for (int i = 0; i < item; i++) {
        if (strcmp(measure_info((enum measure_item)i)->name, measure_info((enum measure_item)item)->name) == 0) {
            return true;
        }
    }
    return false;
}

/* The unit of every measure that a range may name. */
static void units_write(struct json_out *out)
{
    json_out_object(out, "units");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (!named_before(i)) {
            const struct measure_info *info = measure_info((enum measure_item)i);
            json_out_text(out, info->name, unit_name(info->unit));
        }
    }
    json_out_end_object(out);
}

/* Its own label is the version's. */
static bool standard_check(struct arena *arena, struct store_version *version, struct wire_error *error)
{
    struct standard *standard = arena_alloc(arena, sizeof *standard);
    if (standard == NULL) {
        return wire_fail(error, NULL, "needs more memory than there is");
    }
    const bool good = standard_read(version->json, version->json_size, arena, standard, error);
    version->label = good ? standard->version : NULL;
    return good;
}

static const struct versioned house_standard = {
    .kind = STORE_STANDARD,
    .name = "standard",
    .action = "standard.replace",
    .problem = "invalid-standard",
    .check = standard_check,
    .more = units_write,
};

void standard_get(struct call *call)
{
    version_get(call, &house_standard);
}

void standard_put(struct call *call)
{
    version_put(call, &house_standard);
}

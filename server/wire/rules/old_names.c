/* See old_names.h. */
#include "wire/rules/old_names.h"

#include <string.h>

static const char *name_now(const char *name)
{
    static const char *const renamed[][2] = {
        {"shaft_plan", "shaft_direction"},
        {"pelvis_thrust", "hips_to_ball"},
        {"sway", "hips_slide_away"},
        {"flat_shoulder_turn", "level_shoulders"},
    };
    for (size_t i = 0; i < sizeof renamed / sizeof renamed[0]; i++) {
        if (strcmp(name, renamed[i][0]) == 0) {
            return renamed[i][1];
        }
    }
    return name;
}

bool fault_read(const char *name, enum fault_id *out)
{
    return fault_parse(name, out) || fault_parse(name_now(name), out);
}

bool measure_read(const char *name, enum checkpoint checkpoint, enum measure_item *out)
{
    return measure_find(name, checkpoint, out) || measure_find(name_now(name), checkpoint, out);
}

/* Reading stored reports back, a few measures at a time. */
#include "wire/report/pick.h"
#include "wire/json/load.h"

#include <jansson.h>
#include <string.h>

static bool is_item(const json_t *entry, enum measure_item item)
{
    const struct measure_info *info = measure_info(item);
    const char *name = json_string_value(json_object_get(entry, "measure"));
    const char *at = json_string_value(json_object_get(entry, "checkpoint"));
    const char *checkpoint = info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint);
    return name != NULL && strcmp(name, info->name) == 0 && (at == NULL) == (checkpoint == NULL) &&
           (at == NULL || strcmp(at, checkpoint) == 0);
}

static void entry_take(const json_t *entry, struct report_pick *out)
{
    const json_t *value = json_object_get(entry, "value");
    if (!json_is_number(value) || json_is_true(json_object_get(entry, "guessed"))) {
        return;
    }
    out->measure = (struct measure){
        .observed = true,
        .clipped = json_is_true(json_object_get(entry, "clipped")),
        .value = json_number_value(value),
        .sd_random = json_number_value(json_object_get(entry, "sd_random")),
        .sd_systematic = json_number_value(json_object_get(entry, "sd_systematic")),
        .source = MEASURE_SOURCE_NONE,
    };
    (void)measure_source_parse(json_string_value(json_object_get(entry, "source")), &out->measure.source);
    const json_int_t swings = json_integer_value(json_object_get(entry, "observed_in"));
    out->swings = swings < 1 ? 1 : swings > 1000 ? 1000 : (int)swings;
}

bool report_pick(const char *json, size_t size, const enum measure_item *items, int count, struct report_pick *out,
                 enum club_class *club)
{
    json_t *root = json_load(json, size, 0, NULL);
    const json_t *measures = json_object_get(root, "measures");
    const char *held = json_string_value(json_object_get(json_object_get(root, "player"), "club"));
    const bool good = json_is_array(measures);
    *club = CLUB_CLASS_ANY;
    if (held != NULL && !club_class_parse(held, club)) {
        *club = CLUB_CLASS_ANY;
    }
    for (int i = 0; i < count; i++) {
        out[i] = (struct report_pick){.swings = 0};
        for (size_t k = 0; k < json_array_size(measures); k++) {
            if (is_item(json_array_get(measures, k), items[i])) {
                entry_take(json_array_get(measures, k), &out[i]);
            }
        }
    }
    json_decref(root);
    return good;
}

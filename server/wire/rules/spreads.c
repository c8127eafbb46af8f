/* See spreads.h. */
#include "wire/rules/spreads.h"
#include "wire/json/load.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static double three_digits(double value)
{
    const double step = pow(10, floor(log10(value)) - 2);
    return round(value / step) * step;
}

static bool is_of(const json_t *entry, const struct measure_info *info)
{
    const char *name = json_string_value(json_object_get(entry, "measure"));
    const char *at = json_string_value(json_object_get(entry, "checkpoint"));
    const char *checkpoint = info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint);
    return name != NULL && strcmp(name, info->name) == 0 && (at == NULL) == (checkpoint == NULL) &&
           (at == NULL || strcmp(at, checkpoint) == 0);
}

static bool put(json_t *list, enum measure_item item, double spread)
{
    const struct measure_info *info = measure_info(item);
    for (size_t i = 0; i < json_array_size(list); i++) {
        json_t *entry = json_array_get(list, i);
        if (is_of(entry, info)) {
            return json_object_set_new(entry, "sd", json_real(spread)) == 0;
        }
    }
    json_t *entry = json_pack("{s:s, s:f}", "measure", info->name, "sd", spread);
    if (info->checkpoint != CHECKPOINT_NONE) {
        (void)json_object_set_new(entry, "checkpoint", json_string(checkpoint_name(info->checkpoint)));
    }
    return json_array_append_new(list, entry) == 0;
}

char *standard_with_spreads(const char *json, size_t length, const char *version,
                            const struct maybe spreads[MEASURE_COUNT], struct arena *arena, size_t *size)
{
    json_t *root = json_load(json, length, 0, NULL);
    json_t *list = json_object_get(root, "spread");
    bool good = json_is_array(list) && json_object_set_new(root, "version", json_string(version)) == 0;
    for (int i = 0; i < MEASURE_COUNT && good; i++) {
        good = !spreads[i].given || put(list, (enum measure_item)i, three_digits(spreads[i].value));
    }
    char *text = good ? json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(12)) : NULL;
    char *copy = text == NULL ? NULL : arena_strdup(arena, text);
    *size = copy == NULL ? 0 : strlen(copy);
    json_text_free(text);
    json_decref(root);
    return copy;
}

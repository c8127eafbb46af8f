/* Writes a drill member by member; bits become the names they were read from. */
#include "wire/rules/drill_write.h"

static void areas_write(struct json_out *out, const char *key, unsigned bits)
{
    json_out_array(out, key);
    for (int i = 0; i < AREA_BITS; i++) {
        if ((bits & 1U << i) != 0) {
            json_out_text(out, NULL, area_name((enum area)(1U << i)));
        }
    }
    json_out_end_array(out);
}

static void kit_write(struct json_out *out, unsigned bits)
{
    json_out_array(out, "kit");
    for (int i = 0; i < KIT_BITS; i++) {
        if ((bits & 1U << i) != 0) {
            json_out_text(out, NULL, kit_name((enum kit)(1U << i)));
        }
    }
    json_out_end_array(out);
}

static void place_write(struct json_out *out, unsigned bits)
{
    json_out_array(out, "place");
    for (int i = 0; i < PLACE_BITS; i++) {
        if ((bits & 1U << i) != 0) {
            json_out_text(out, NULL, place_name((enum drill_place)(1U << i)));
        }
    }
    json_out_end_array(out);
}

void drill_write(struct json_out *out, const struct drill *drill)
{
    json_out_text(out, "name", drill->name);
    json_out_array(out, "faults");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (drill->faults[i]) {
            json_out_text(out, NULL, fault_name((enum fault_id)i));
        }
    }
    json_out_end_array(out);
    json_out_text(out, "how_to", drill->how_to);
    json_out_text(out, "feel", drill->feel);
    if (drill->cautions != NULL && drill->cautions[0] != '\0') {
        json_out_text(out, "cautions", drill->cautions);
    }
    kit_write(out, drill->kit);
    place_write(out, drill->place);
    json_out_bool(out, "ball", drill->ball);
    json_out_bool(out, "balance", drill->balance);
    areas_write(out, "loads", drill->loads);
    areas_write(out, "contraindicated", drill->contraindicated);
    json_out_number(out, "minutes", drill->minutes, 0);
    json_out_bool(out, "adult_only", drill->adult_only);
}

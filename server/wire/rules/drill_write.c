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

static void text_write(struct json_out *out, const char *key, const char *text)
{
    if (text != NULL) {
        json_out_text(out, key, text);
    }
}

void drill_line_write(struct json_out *out, const struct drill *drill)
{
    json_out_number(out, "level", drill->level, 0);
    text_write(out, "entry", drill->entry);
    if (drill->pass.of > 0) {
        json_out_object(out, "pass");
        json_out_number(out, "n", drill->pass.n, 0);
        json_out_number(out, "of", drill->pass.of, 0);
        json_out_text(out, "what", drill->pass.what);
        json_out_end_object(out);
    }
    text_write(out, "easier", drill->easier);
    text_write(out, "why", drill->why);
    text_write(out, "source", drill->source);
}

static void asks_write(struct json_out *out, const struct drill *drill)
{
    json_out_array(out, "asks");
    for (int i = 0; i < drill->ask_count; i++) {
        const struct measure_info *info = measure_info(drill->asks[i].item);
        json_out_object(out, NULL);
        json_out_text(out, "measure", info->name);
        if (info->checkpoint != CHECKPOINT_NONE) {
            json_out_text(out, "checkpoint", checkpoint_name(info->checkpoint));
        }
        json_out_number(out, "value", drill->asks[i].value, 3);
        json_out_end_object(out);
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
    drill_line_write(out, drill);
    text_write(out, "next", drill->next);
    if (drill->ask_count > 0) {
        asks_write(out, drill);
    }
}

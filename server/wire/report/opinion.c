/* See opinion.h. */
#include "wire/report/opinion.h"

#include <jansson.h>
#include <string.h>

#include "core/fault.h"
#include "wire/json/load.h"

static void say_nothing(struct opinions *out)
{
    memset(out->of, OPINION_NONE, sizeof out->of);
}

static enum opinion of_verdict(const char *verdict)
{
    return strcmp(verdict, verdict_name(VERDICT_PRESENT)) == 0  ? OPINION_PRESENT
           : strcmp(verdict, verdict_name(VERDICT_ABSENT)) == 0 ? OPINION_ABSENT
                                                                : OPINION_CANT_SEE;
}

bool opinions_of_report(const char *json, size_t size, struct opinions *out)
{
    json_t *root = json_load(json, size, 0, NULL);
    const json_t *faults = json_object_get(root, "faults");
    const bool good = json_is_array(faults);
    say_nothing(out);
    for (size_t i = 0; i < json_array_size(faults); i++) {
        const json_t *entry = json_array_get(faults, i);
        const char *verdict = json_string_value(json_object_get(entry, "verdict"));
        enum fault_id fault;
        if (verdict != NULL && fault_parse(json_string_value(json_object_get(entry, "fault")), &fault)) {
            out->of[fault] = (signed char)of_verdict(verdict);
        }
    }
    json_decref(root);
    return good;
}

bool opinions_read(const char *json, struct opinions *out)
{
    json_t *root = json == NULL ? NULL : json_load(json, strlen(json), 0, NULL);
    const bool good = json_is_object(root);
    say_nothing(out);
    for (int i = 0; i < FAULT_COUNT; i++) {
        enum opinion said;
        if (opinion_parse(json_string_value(json_object_get(root, fault_name((enum fault_id)i))), &said)) {
            out->of[i] = (signed char)said;
        }
    }
    json_decref(root);
    return good;
}

void opinions_write(struct json_out *out, const char *key, const struct opinions *opinions)
{
    json_out_object(out, key);
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (opinions->of[i] != OPINION_NONE) {
            json_out_text(out, fault_name((enum fault_id)i), opinion_name((enum opinion)opinions->of[i]));
        }
    }
    json_out_end_object(out);
}

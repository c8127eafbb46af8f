/* See marks.h. The document is only stepped over here, and read by its own reader. */
#include "wire/swing/marks.h"

#include <string.h>

#include "base/plain_text.h"
#include "wire/json/fields.h"

static bool reason_read(struct json_fields *fields, const struct wire_at *here, struct swing_marks *out)
{
    char why[PLAIN_WHY];
    if (!json_fields_text(fields, here, out->reason, sizeof out->reason)) {
        return false;
    }
    if (out->reason[0] == '\0') {
        return json_fields_refuse(fields, here, "must not be empty");
    }
    return plain_text_check(out->reason, PLAIN_PROSE, why) || json_fields_refuse(fields, here, "%s", why);
}

static bool marks_value(struct json_fields *fields, const struct wire_at *here, int key, void *to)
{
    struct swing_marks *out = to;
    struct json_in *in = &fields->in;
    if (key == 1) {
        return reason_read(fields, here, out);
    }
    if (json_in_peek(in) != JSON_KIND_OBJECT) {
        return json_fields_refuse(fields, here, "must be a swing document");
    }
    const size_t from = in->at;
    if (!json_in_skip(in)) {
        return json_fields_refuse(fields, NULL, "%s", in->error);
    }
    out->document = in->text + from;
    out->document_size = in->at - from;
    return true;
}

bool swing_marks_read(const char *json, size_t length, struct arena *arena, struct swing_marks *out,
                      struct wire_error *error)
{
    static const struct json_field table[] = {JSON_FIELD("document", true), JSON_FIELD("reason", true), {.name = NULL}};
    struct json_fields fields = json_fields_start(json, length, arena, error);
    memset(out, 0, sizeof *out);
    return json_fields_object(&fields, NULL, table, marks_value, out, NULL) && json_fields_finish(&fields);
}

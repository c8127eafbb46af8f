/* Values of a swing that are said in a word. */
#include "wire/swing/parts.h"

#include <string.h>

bool swing_read_checkpoint(struct json_fields *fields, const struct wire_at *place, enum checkpoint *out)
{
    char name[JSON_FIELDS_TEXT];
    return json_fields_text(fields, place, name, sizeof name) &&
           (checkpoint_parse(name, out) || json_fields_refuse(fields, place, "\"%s\" is not a checkpoint", name));
}

bool swing_read_club(struct json_fields *fields, const struct wire_at *place, enum club_kind *out)
{
    char name[JSON_FIELDS_TEXT];
    return json_fields_text(fields, place, name, sizeof name) &&
           (club_kind_parse(name, out) || json_fields_refuse(fields, place, "\"%s\" is not a kind of club", name));
}

bool swing_read_hand(struct json_fields *fields, const struct wire_at *place, enum hand *out)
{
    char name[JSON_FIELDS_TEXT];
    if (!json_fields_text(fields, place, name, sizeof name)) {
        return false;
    }
    *out = strcmp(name, "left") == 0 ? HAND_LEFT : HAND_RIGHT;
    return *out == HAND_LEFT || strcmp(name, "right") == 0 ||
           json_fields_refuse(fields, place, "must be \"right\" or \"left\", not \"%s\"", name);
}

bool swing_read_time(struct json_fields *fields, const struct wire_at *place, int64_t *ms, char text[TIME_TEXT])
{
    char given[JSON_FIELDS_TEXT];
    if (!json_fields_text(fields, place, given, sizeof given)) {
        return false;
    }
    if (!time_parse(given, ms)) {
        return json_fields_refuse(fields, place, "must be a time such as 2026-05-02T09:14:05Z, not \"%s\"", given);
    }
    time_format(*ms, text);
    return true;
}

/* Reads a house standard: lists of ranges, spreads, faults, causes and ball flights, then the core's own validation,
 * whose complaint is turned back into a path of the document. */
#include "wire/rules/standard_read.h"

#include <string.h>

#include "base/embed.h"
#include "wire/json/tree.h"
#include "wire/rules/old_names.h"

#define TEXT_MAX 600
#define LIMIT 1e6 /* no measure comes near it */

/* What every reader below needs. */
struct reading {
    struct arena *arena;
    struct standard *standard;
    struct wire_error *error;
};

typedef bool (*entry_reader)(const struct reading *reading, const json_t *entry, const struct wire_at *at);

/* A name that one of the core's parsers knows. Absent and optional: *found = false. */
static bool read_name(const struct reading *reading, const json_t *entry, const char *key, bool required,
                      const char **name, const struct wire_at *at)
{
    *name = NULL;
    return wire_text_borrow(entry, key, required, 64, name, at, reading->error);
}

static bool unknown_name(const struct reading *reading, const struct wire_at *at, const char *key, const char *name)
{
    struct wire_at here = wire_key(at, key);
    return wire_fail(reading->error, &here, "unknown name \"%.40s\"", name);
}

static bool read_item(const struct reading *reading, const json_t *entry, enum measure_item *out,
                      const struct wire_at *at)
{
    const char *measure;
    const char *checkpoint;
    enum checkpoint when = CHECKPOINT_NONE;
    if (!read_name(reading, entry, "measure", true, &measure, at) ||
        !read_name(reading, entry, "checkpoint", false, &checkpoint, at)) {
        return false;
    }
    if (checkpoint != NULL && !checkpoint_parse(checkpoint, &when)) {
        return unknown_name(reading, at, "checkpoint", checkpoint);
    }
    if (measure_read(measure, when, out)) {
        return true;
    }
    struct wire_at here = wire_key(at, "measure");
    return checkpoint == NULL ? wire_fail(reading->error, &here, "no measure \"%.40s\" without a checkpoint", measure)
                              : wire_fail(reading->error, &here, "no measure \"%.40s\" at %.20s", measure, checkpoint);
}

static bool read_evidence(const struct reading *reading, const json_t *entry, enum evidence *evidence,
                          const char **source, const struct wire_at *at)
{
    const char *name;
    if (!read_name(reading, entry, "evidence", true, &name, at)) {
        return false;
    }
    if (!evidence_parse(name, evidence)) {
        return unknown_name(reading, at, "evidence", name);
    }
    return wire_text(reading->arena, entry, "source", *evidence != EVIDENCE_COMMON_PRACTICE, TEXT_MAX, source, at,
                     reading->error);
}

static bool read_qualifiers(const struct reading *reading, const json_t *entry, struct range_rule *rule,
                            const struct wire_at *at)
{
    const char *club;
    const char *sex;
    const char *age;
    if (!read_name(reading, entry, "club", false, &club, at) || !read_name(reading, entry, "sex", false, &sex, at) ||
        !read_name(reading, entry, "age", false, &age, at)) {
        return false;
    }
    if (club != NULL && !club_class_parse(club, &rule->club)) {
        return unknown_name(reading, at, "club", club);
    }
    if (sex != NULL && !sex_parse(sex, &rule->sex)) {
        return unknown_name(reading, at, "sex", sex);
    }
    if (age != NULL && !age_band_parse(age, &rule->age)) {
        return unknown_name(reading, at, "age", age);
    }
    return true;
}

static bool read_range(const struct reading *reading, const json_t *entry, const struct wire_at *at)
{
    static const char *const keys[] = {"measure", "checkpoint", "club",        "sex",      "age",    "ok_low",
                                       "ok_high", "strong_low", "strong_high", "evidence", "source", NULL};
    struct range_rule *rule = &reading->standard->ranges[reading->standard->range_count];
    *rule = (struct range_rule){.club = CLUB_CLASS_ANY};
    struct measure_range *range = &rule->range;
    struct wire_error *error = reading->error;
    if (!wire_object(entry, keys, at, error) || !read_item(reading, entry, &rule->item, at) ||
        !read_qualifiers(reading, entry, rule, at) ||
        !wire_number(entry, "ok_low", false, -LIMIT, LIMIT, &range->ok_low.value, &range->ok_low.given, at, error) ||
        !wire_number(entry, "ok_high", false, -LIMIT, LIMIT, &range->ok_high.value, &range->ok_high.given, at, error) ||
        !wire_number(entry, "strong_low", false, -LIMIT, LIMIT, &range->strong_low.value, &range->strong_low.given, at,
                     error) ||
        !wire_number(entry, "strong_high", false, -LIMIT, LIMIT, &range->strong_high.value, &range->strong_high.given,
                     at, error) ||
        !read_evidence(reading, entry, &rule->evidence, &rule->source, at)) {
        return false;
    }
    reading->standard->range_count++;
    return true;
}

static bool read_spread(const struct reading *reading, const json_t *entry, const struct wire_at *at)
{
    static const char *const keys[] = {"measure", "checkpoint", "sd", NULL};
    enum measure_item item;
    if (!wire_object(entry, keys, at, reading->error) || !read_item(reading, entry, &item, at) ||
        !wire_number(entry, "sd", true, 0, LIMIT, &reading->standard->spread[item], NULL, at, reading->error)) {
        return false;
    }
    return true;
}

static bool read_sign(const struct reading *reading, const json_t *entry, struct fault_sign *sign,
                      const struct wire_at *at)
{
    static const char *const keys[] = {"measure", "checkpoint", "side", "weight", "required", NULL};
    const char *side;
    if (!wire_object(entry, keys, at, reading->error) || !read_item(reading, entry, &sign->item, at) ||
        !read_name(reading, entry, "side", true, &side, at) ||
        !wire_number(entry, "weight", true, 0, 100, &sign->weight, NULL, at, reading->error) ||
        !wire_boolean(entry, "required", false, &sign->required, at, reading->error)) {
        return false;
    }
    sign->side = strcmp(side, "low") == 0 ? SIDE_LOW : SIDE_HIGH;
    return sign->side == SIDE_LOW || strcmp(side, "high") == 0 || unknown_name(reading, at, "side", side);
}

static bool read_fault_id(const struct reading *reading, const json_t *entry, const char *key, enum fault_id *out,
                          const struct wire_at *at)
{
    const char *name;
    if (!read_name(reading, entry, key, true, &name, at)) {
        return false;
    }
    return fault_read(name, out) || unknown_name(reading, at, key, name);
}

static bool read_signs(const struct reading *reading, const json_t *entry, struct fault_rule *rule,
                       const struct wire_at *at)
{
    const json_t *signs;
    if (!wire_array(entry, "signs", true, SIGNS_MAX, &signs, at, reading->error)) {
        return false;
    }
    struct wire_at list = wire_key(at, "signs");
    rule->sign_count = (int)json_array_size(signs);
    for (int i = 0; i < rule->sign_count; i++) {
        struct wire_at here = wire_index(&list, i);
        if (!read_sign(reading, json_array_get(signs, (size_t)i), &rule->signs[i], &here)) {
            return false;
        }
    }
    return true;
}

static bool read_fault(const struct reading *reading, const json_t *entry, const struct wire_at *at)
{
    static const char *const keys[] = {"fault", "stage", "importance", "signs", "evidence", "source", NULL};
    enum fault_id id;
    const char *stage;
    double importance = 0.0;
    if (!wire_object(entry, keys, at, reading->error) || !read_fault_id(reading, entry, "fault", &id, at) ||
        !read_name(reading, entry, "stage", true, &stage, at) ||
        !wire_number(entry, "importance", true, 0, 1, &importance, NULL, at, reading->error)) {
        return false;
    }
    struct fault_rule *rule = &reading->standard->faults[id];
    if (rule->defined) {
        struct wire_at here = wire_key(at, "fault");
        return wire_fail(reading->error, &here, "the same fault twice");
    }
    rule->defined = true;
    rule->importance = importance;
    if (!stage_parse(stage, &rule->stage)) {
        return unknown_name(reading, at, "stage", stage);
    }
    return read_signs(reading, entry, rule, at) && read_evidence(reading, entry, &rule->evidence, &rule->source, at);
}

static bool read_cause(const struct reading *reading, const json_t *entry, const struct wire_at *at)
{
    static const char *const keys[] = {"from", "to", "share", NULL};
    struct cause *cause = &reading->standard->causes[reading->standard->cause_count];
    if (!wire_object(entry, keys, at, reading->error) || !read_fault_id(reading, entry, "from", &cause->from, at) ||
        !read_fault_id(reading, entry, "to", &cause->to, at) ||
        !wire_number(entry, "share", true, 0, 1, &cause->share, NULL, at, reading->error)) {
        return false;
    }
    reading->standard->cause_count++;
    return true;
}

static bool read_typical(const struct reading *reading, const json_t *entry, const struct wire_at *at)
{
    static const char *const keys[] = {"fault", "start", "curve", "strike", "match", NULL};
    struct typical *typical = &reading->standard->typical[reading->standard->typical_count];
    const char *start;
    const char *curve;
    const char *strike;
    *typical = (struct typical){.start = FLIGHT_UNKNOWN};
    if (!wire_object(entry, keys, at, reading->error) || !read_fault_id(reading, entry, "fault", &typical->fault, at) ||
        !read_name(reading, entry, "start", false, &start, at) ||
        !read_name(reading, entry, "curve", false, &curve, at) ||
        !read_name(reading, entry, "strike", false, &strike, at) ||
        !wire_number(entry, "match", true, 0, 1, &typical->match, NULL, at, reading->error)) {
        return false;
    }
    if (start != NULL && !flight_side_parse(start, &typical->start)) {
        return unknown_name(reading, at, "start", start);
    }
    if (curve != NULL && !flight_side_parse(curve, &typical->curve)) {
        return unknown_name(reading, at, "curve", curve);
    }
    if (strike != NULL && !strike_parse(strike, &typical->strike)) {
        return unknown_name(reading, at, "strike", strike);
    }
    reading->standard->typical_count++;
    return true;
}

static bool read_list(const struct reading *reading, const json_t *root, const char *key, size_t max,
                      entry_reader reader)
{
    const json_t *list;
    if (!wire_array(root, key, true, max, &list, NULL, reading->error)) {
        return false;
    }
    struct wire_at at = wire_key(NULL, key);
    for (size_t i = 0; i < json_array_size(list); i++) {
        struct wire_at here = wire_index(&at, (int)i);
        if (!reader(reading, json_array_get(list, i), &here)) {
            return false;
        }
    }
    return true;
}

/* An object with one number per name: "ease" by stage, "face_share" by club. */
static bool read_table(const struct reading *reading, const json_t *root, const char *key, const char *const *names,
                       double high, double *out)
{
    struct wire_at at = wire_key(NULL, key);
    const json_t *table = json_object_get(root, key);
    if (table == NULL) {
        return wire_fail(reading->error, &at, "missing");
    }
    if (!wire_object(table, names, &at, reading->error)) {
        return false;
    }
    for (int i = 0; names[i] != NULL; i++) {
        if (!wire_number(table, names[i], true, 0, high, &out[i], NULL, &at, reading->error)) {
            return false;
        }
    }
    return true;
}

static bool read_tables(const struct reading *reading, const json_t *root)
{
    const char *stages[STAGE_COUNT + 1];
    const char *clubs[CLUB_CLASS_COUNT + 1];
    for (int i = 0; i < STAGE_COUNT; i++) {
        stages[i] = stage_name((enum fault_stage)i);
    }
    for (int i = 0; i < CLUB_CLASS_COUNT; i++) {
        clubs[i] = club_class_name((enum club_class)i);
    }
    stages[STAGE_COUNT] = NULL;
    clubs[CLUB_CLASS_COUNT] = NULL;
    return read_table(reading, root, "ease", stages, 10, reading->standard->ease) &&
           read_table(reading, root, "face_share", clubs, 1, reading->standard->face_share);
}

/* "balance": from which age on a balance drill needs the coach's word. Standards from before it have none. */
static bool read_balance(const struct reading *reading, const json_t *root)
{
    static const char *const keys[] = {"age", "evidence", "source", NULL};
    const json_t *balance = json_object_get(root, "balance");
    const struct wire_at at = wire_key(NULL, "balance");
    const char *unused = NULL;
    reading->standard->balance_age = STANDARD_BALANCE_AGE;
    return balance == NULL ||
           (wire_object(balance, keys, &at, reading->error) &&
            wire_integer(balance, "age", true, 18, 120, &reading->standard->balance_age, &at, reading->error) &&
            wire_text_borrow(balance, "evidence", false, 64, &unused, &at, reading->error) &&
            wire_text_borrow(balance, "source", false, 400, &unused, &at, reading->error));
}

static bool read_head(const struct reading *reading, const json_t *root)
{
    static const char *const keys[] = {"schema",     "version", "threshold", "present_from", "absent_to", "ease",
                                       "face_share", "ranges",  "spread",    "faults",       "causes",    "ball_flight",
                                       "balance",    NULL};
    struct standard *standard = reading->standard;
    const char *schema = NULL;
    if (!wire_object(root, keys, NULL, reading->error) ||
        !wire_text_borrow(root, "schema", true, 64, &schema, NULL, reading->error)) {
        return false;
    }
    if (strcmp(schema, STANDARD_SCHEMA) != 0) {
        struct wire_at here = wire_key(NULL, "schema");
        return wire_fail(reading->error, &here, "must be \"%s\"", STANDARD_SCHEMA);
    }
    if (!wire_text(reading->arena, root, "version", true, 64, &standard->version, NULL, reading->error) ||
        !wire_number(root, "threshold", true, 0, 1, &standard->threshold, NULL, NULL, reading->error) ||
        !wire_number(root, "present_from", true, 0, 1, &standard->p_present, NULL, NULL, reading->error) ||
        !wire_number(root, "absent_to", true, 0, 1, &standard->p_absent, NULL, NULL, reading->error)) {
        return false;
    }
    return read_tables(reading, root) && read_balance(reading, root);
}

/* The document's own place of what the core complained of: its faults are numbered by the catalogue, not by the list.
 */
static bool complain(const struct reading *reading, const json_t *root, const struct standard_error *why)
{
    struct wire_at where = wire_key(NULL, why->where);
    struct wire_at entry = wire_index(&where, why->index);
    if (strcmp(why->where, "verdict") == 0) {
        where.key = "present_from";
    }
    if (strcmp(why->where, "ease") == 0) {
        entry = wire_key(&where, stage_name((enum fault_stage)why->index));
    } else if (strcmp(why->where, "face_share") == 0) {
        entry = wire_key(&where, club_class_name((enum club_class)why->index));
    } else if (strcmp(why->where, "faults") == 0) {
        const json_t *list = json_object_get(root, "faults");
        for (size_t i = 0; i < json_array_size(list); i++) {
            const char *name = json_string_value(json_object_get(json_array_get(list, i), "fault"));
            if (name != NULL && strcmp(name, fault_name((enum fault_id)why->index)) == 0) {
                entry.index = (int)i;
            }
        }
    }
    bool whole =
        !json_is_array(json_object_get(root, why->where)) && !json_is_object(json_object_get(root, why->where));
    return wire_fail(reading->error, whole ? &where : &entry, "%s", why->what);
}

static bool read_root(const struct reading *reading, const json_t *root)
{
    if (!read_head(reading, root) || !read_list(reading, root, "ranges", RANGE_RULES_MAX, read_range) ||
        !read_list(reading, root, "spread", MEASURE_COUNT, read_spread) ||
        !read_list(reading, root, "faults", FAULT_COUNT, read_fault) ||
        !read_list(reading, root, "causes", CAUSES_MAX, read_cause) ||
        !read_list(reading, root, "ball_flight", TYPICAL_MAX, read_typical)) {
        return false;
    }
    struct standard_error why;
    return standard_validate(reading->standard, &why) || complain(reading, root, &why);
}

bool standard_read(const char *json, size_t length, struct arena *arena, struct standard *out, struct wire_error *error)
{
    json_t *root = wire_parse(json, length, error);
    if (root == NULL) {
        return false;
    }
    memset(out, 0, sizeof *out);
    struct reading reading = {arena, out, error};
    bool ok = read_root(&reading, root);
    json_decref(root);
    return ok;
}

const struct standard *standard_default(struct arena *arena)
{
    struct standard *standard = arena_alloc(arena, sizeof *standard);
    for (size_t i = 0; standard != NULL && i < embedded_standard_count; i++) {
        const struct embedded_file *file = &embedded_standard[i];
        if (strcmp(file->name, "default.json") == 0 &&
            standard_read((const char *)file->data, file->size, arena, standard, NULL)) {
            return standard;
        }
    }
    return NULL;
}

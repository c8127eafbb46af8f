/* Reads a house standard: lists of ranges, spreads, faults, causes and ball flights, then the core's own validation,
 * whose complaint is turned back into a path of the document. */
#include "wire/rules/standard_read.h"

#include <string.h>

#include "base/embed.h"
#include "wire/json/tree.h"
#include "wire/rules/old_names.h"

#define TEXT_MAX 600
#define LIMIT 1e6 /* no measure comes near it */

static bool read_name(struct tree *tree, const char *key, bool required, const char **name)
{
    *name = NULL;
    return tree_text_borrow(tree, key, required, 64, name);
}

static bool unknown_name(struct tree *tree, const char *key, const char *name)
{
    return tree_refuse(tree, key, "unknown name \"%.40s\"", name);
}

/* A name (in the text `name`) that one of the core's parsers knows; absent, *out stays as it is. */
#define READ_ENUM(tree, key, required, parse, out)                                                                     \
    (read_name(tree, key, required, &name) && (name == NULL || parse(name, out) || unknown_name(tree, key, name)))

bool standard_read_item(struct tree *tree, enum measure_item *out)
{
    const char *name;
    const char *measure;
    enum checkpoint when = CHECKPOINT_NONE;
    if (!read_name(tree, "measure", true, &measure) || !READ_ENUM(tree, "checkpoint", false, checkpoint_parse, &when)) {
        return false;
    }
    if (measure_read(measure, when, out)) {
        return true;
    }
    return name == NULL ? tree_refuse(tree, "measure", "no measure \"%.40s\" without a checkpoint", measure)
                        : tree_refuse(tree, "measure", "no measure \"%.40s\" at %.20s", measure, name);
}

static bool read_evidence(struct tree *tree, enum evidence *evidence, const char **source)
{
    const char *name;
    return READ_ENUM(tree, "evidence", true, evidence_parse, evidence) &&
           tree_text(tree, "source", *evidence != EVIDENCE_COMMON_PRACTICE, TEXT_MAX, source);
}

static bool read_limit(struct tree *tree, const char *key, struct maybe *out)
{
    return tree_number(tree, key, false, -LIMIT, LIMIT, &out->value, &out->given);
}

static bool read_range(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"measure", "checkpoint", "club",        "sex",      "age",    "ok_low",
                                       "ok_high", "strong_low", "strong_high", "evidence", "source", NULL};
    struct standard *standard = to;
    struct range_rule *rule = &standard->ranges[index];
    const char *name;
    *rule = (struct range_rule){.club = CLUB_CLASS_ANY};
    return tree_keys(tree, keys) && standard_read_item(tree, &rule->item) &&
           READ_ENUM(tree, "club", false, club_class_parse, &rule->club) &&
           READ_ENUM(tree, "sex", false, sex_parse, &rule->sex) &&
           READ_ENUM(tree, "age", false, age_band_parse, &rule->age) &&
           read_limit(tree, "ok_low", &rule->range.ok_low) && read_limit(tree, "ok_high", &rule->range.ok_high) &&
           read_limit(tree, "strong_low", &rule->range.strong_low) &&
           read_limit(tree, "strong_high", &rule->range.strong_high) &&
           read_evidence(tree, &rule->evidence, &rule->source);
}

static bool read_spread(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"measure", "checkpoint", "sd", NULL};
    struct standard *standard = to;
    enum measure_item item = (enum measure_item)0;
    (void)index;
    return tree_keys(tree, keys) && standard_read_item(tree, &item) &&
           tree_number(tree, "sd", true, 0, LIMIT, &standard->spread[item], NULL);
}

static bool side_parse(const char *name, enum sign_side *out)
{
    *out = strcmp(name, "low") == 0 ? SIDE_LOW : SIDE_HIGH;
    return *out == SIDE_LOW || strcmp(name, "high") == 0;
}

static bool read_sign(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"measure", "checkpoint", "side", "weight", "required", NULL};
    struct fault_rule *rule = to;
    struct fault_sign *sign = &rule->signs[index];
    const char *name;
    return tree_keys(tree, keys) && standard_read_item(tree, &sign->item) &&
           READ_ENUM(tree, "side", true, side_parse, &sign->side) &&
           tree_number(tree, "weight", true, 0, 100, &sign->weight, NULL) &&
           tree_boolean(tree, "required", false, &sign->required);
}

static bool read_fault(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"fault", "stage", "importance", "signs", "evidence", "source", NULL};
    struct standard *standard = to;
    enum fault_id id = (enum fault_id)0;
    enum fault_stage stage = STAGE_COUNT;
    const char *name;
    double importance = 0.0;
    (void)index;
    if (!tree_keys(tree, keys) || !READ_ENUM(tree, "fault", true, fault_read, &id) ||
        !READ_ENUM(tree, "stage", true, stage_parse, &stage) ||
        !tree_number(tree, "importance", true, 0, 1, &importance, NULL)) {
        return false;
    }
    struct fault_rule *rule = &standard->faults[id];
    if (rule->defined) {
        return tree_refuse(tree, "fault", "the same fault twice");
    }
    *rule = (struct fault_rule){.defined = true, .importance = importance, .stage = stage};
    return tree_list(tree, "signs", true, SIGNS_MAX, NULL, read_sign, rule, &rule->sign_count) &&
           read_evidence(tree, &rule->evidence, &rule->source);
}

static bool read_cause(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"from", "to", "share", NULL};
    struct standard *standard = to;
    struct cause *cause = &standard->causes[index];
    const char *name;
    return tree_keys(tree, keys) && READ_ENUM(tree, "from", true, fault_read, &cause->from) &&
           READ_ENUM(tree, "to", true, fault_read, &cause->to) &&
           tree_number(tree, "share", true, 0, 1, &cause->share, NULL);
}

static bool read_typical(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"fault", "start", "curve", "strike", "match", NULL};
    struct standard *standard = to;
    struct typical *typical = &standard->typical[index];
    const char *name;
    *typical = (struct typical){.start = FLIGHT_UNKNOWN};
    return tree_keys(tree, keys) && READ_ENUM(tree, "fault", true, fault_read, &typical->fault) &&
           READ_ENUM(tree, "start", false, flight_side_parse, &typical->start) &&
           READ_ENUM(tree, "curve", false, flight_side_parse, &typical->curve) &&
           READ_ENUM(tree, "strike", false, strike_parse, &typical->strike) &&
           tree_number(tree, "match", true, 0, 1, &typical->match, NULL);
}

static bool read_ease(struct tree *tree, int index, void *to)
{
    struct standard *standard = to;
    bool good = true;
    (void)index;
    for (int i = 0; good && i < STAGE_COUNT; i++) {
        good = tree_number(tree, stage_name((enum fault_stage)i), true, 0, 10, &standard->ease[i], NULL);
    }
    return good;
}

static bool read_face_share(struct tree *tree, int index, void *to)
{
    struct standard *standard = to;
    bool good = true;
    (void)index;
    for (int i = 0; good && i < CLUB_CLASS_COUNT; i++) {
        good = tree_number(tree, club_class_name((enum club_class)i), true, 0, 1, &standard->face_share[i], NULL);
    }
    return good;
}

/* From which age on a balance drill needs the coach's word. */
static bool read_balance(struct tree *tree, int index, void *to)
{
    struct standard *standard = to;
    const char *unused = NULL;
    (void)index;
    return tree_integer(tree, "age", true, 18, 120, &standard->balance_age) &&
           tree_text_borrow(tree, "evidence", false, 64, &unused) &&
           tree_text_borrow(tree, "source", false, 400, &unused);
}

/* The objects with one number per name, "ease" by stage and "face_share" by club, and "balance", which standards from
 * before it have not. */
static bool read_tables(struct tree *tree, struct standard *standard)
{
    static const char *const balance[] = {"age", "evidence", "source", NULL};
    const char *stages[STAGE_COUNT + 1] = {NULL};
    const char *clubs[CLUB_CLASS_COUNT + 1] = {NULL};
    for (int i = 0; i < STAGE_COUNT; i++) {
        stages[i] = stage_name((enum fault_stage)i);
    }
    for (int i = 0; i < CLUB_CLASS_COUNT; i++) {
        clubs[i] = club_class_name((enum club_class)i);
    }
    standard->balance_age = STANDARD_BALANCE_AGE;
    return tree_object(tree, "ease", true, stages, read_ease, standard) &&
           tree_object(tree, "face_share", true, clubs, read_face_share, standard) &&
           tree_object(tree, "balance", false, balance, read_balance, standard);
}

static bool read_head(struct tree *tree, struct standard *standard)
{
    static const char *const keys[] = {"schema",     "version", "threshold", "present_from", "absent_to", "ease",
                                       "face_share", "ranges",  "spread",    "faults",       "causes",    "ball_flight",
                                       "balance",    NULL};
    const char *schema = NULL;
    if (!tree_keys(tree, keys) || !tree_text_borrow(tree, "schema", true, 64, &schema)) {
        return false;
    }
    if (strcmp(schema, STANDARD_SCHEMA) != 0) {
        return tree_refuse(tree, "schema", "must be \"%s\"", STANDARD_SCHEMA);
    }
    return tree_text(tree, "version", true, 64, &standard->version) &&
           tree_number(tree, "threshold", true, 0, 1, &standard->threshold, NULL) &&
           tree_number(tree, "present_from", true, 0, 1, &standard->p_present, NULL) &&
           tree_number(tree, "absent_to", true, 0, 1, &standard->p_absent, NULL) && read_tables(tree, standard);
}

/* The document's own place of what the core complained of: its faults are numbered by the catalogue, not by the list.
 */
static bool complain(struct tree *tree, const struct standard_error *why)
{
    const json_t *root = tree->value;
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
    return tree_refuse_at(tree, whole ? &where : &entry, "%s", why->what);
}

bool standard_read(const char *json, size_t length, struct arena *arena, struct standard *out, struct wire_error *error)
{
    json_t *root = tree_parse(json, length, error);
    struct tree tree = {.value = root, .arena = arena, .error = error};
    struct standard_error why;
    if (root == NULL) {
        return false;
    }
    memset(out, 0, sizeof *out);
    const bool good =
        read_head(&tree, out) &&
        tree_list(&tree, "ranges", true, RANGE_RULES_MAX, NULL, read_range, out, &out->range_count) &&
        tree_list(&tree, "spread", true, MEASURE_COUNT, NULL, read_spread, out, NULL) &&
        tree_list(&tree, "faults", true, FAULT_COUNT, NULL, read_fault, out, NULL) &&
        tree_list(&tree, "causes", true, CAUSES_MAX, NULL, read_cause, out, &out->cause_count) &&
        tree_list(&tree, "ball_flight", true, TYPICAL_MAX, NULL, read_typical, out, &out->typical_count) &&
        (standard_validate(out, &why) || complain(&tree, &why));
    json_decref(root);
    return good;
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

/* See module.h. */
#include "module/module.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "core/score.h"
#include "module/jansson_part.h"
#include "wire/json/tree.h"
#include "wire/report/player.h"
#include "wire/report/write.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"
#include "wire/swing/read.h"

#define INPUT_MAX ((size_t)8 << 20)   /* as the server takes them */
#define MEMORY_MAX ((size_t)96 << 20) /* of one call */

/* A part of the rules with the memory it lives in. */
struct part {
    struct arena *arena;
    void *value;
    int count;
    double number;
};

static struct {
    char *room;
    size_t room_size;
    struct arena *call; /* the output's, and what was read for it */
    const char *output;
    size_t output_size;
    struct part standard, drills;
    bool known;
    bool left;
    struct score_player player;
} module;

char *module_room(size_t bytes)
{
    free(module.room);
    module.room = bytes > INPUT_MAX ? NULL : malloc(bytes + 1);
    module.room_size = module.room == NULL ? 0 : bytes;
    return module.room;
}

const char *module_output(void)
{
    return module.output;
}

size_t module_output_length(void)
{
    return module.output_size;
}

/* The call's own memory, new; what the last one gave is gone. NULL when memory is short. */
static struct arena *call_begin(void)
{
    arena_free(module.call);
    module.call = arena_new(MEMORY_MAX);
    module.output = "";
    module.output_size = 0;
    return module.call;
}

/* Always false. */
static bool refuse(int status, const char *title, const char *type, const char *path, const char *detail)
{
    struct json_out out;
    if (module.call == NULL) {
        return false;
    }
    json_out_start(&out, module.call);
    json_out_object(&out, NULL);
    json_out_text(&out, "type", type);
    json_out_text(&out, "title", title);
    json_out_number(&out, "status", status, 0);
    json_out_text(&out, "detail", detail);
    if (path != NULL) {
        json_out_text(&out, "path", path);
    }
    json_out_end_object(&out);
    const char *text = json_out_finish(&out, &module.output_size);
    module.output = text == NULL ? "" : text;
    return false;
}

static bool refuse_input(const char *type, const char *path, const char *detail)
{
    return refuse(422, "Not acceptable as it is", type, path, detail);
}

static bool no_memory(void)
{
    return refuse(503, "Not just now", "urn:leadside:problem:no-memory", NULL, "memory is short");
}

static void part_set(struct part *part, struct part with)
{
    arena_free(part->arena);
    *part = with;
}

int module_standard(size_t bytes, double number)
{
    struct wire_error error;
    struct part part = {.arena = arena_new(MEMORY_MAX), .number = number};
    if (call_begin() == NULL || part.arena == NULL || bytes > module.room_size ||
        (part.value = arena_alloc(part.arena, sizeof(struct standard))) == NULL) {
        arena_free(part.arena);
        return no_memory();
    }
    jansson_use(module.call);
    if (!standard_read(module.room, bytes, part.arena, part.value, &error)) {
        arena_free(part.arena);
        return refuse_input("urn:leadside:problem:invalid-standard", error.path, error.what);
    }
    part_set(&module.standard, part);
    return true;
}

int module_drills(size_t bytes)
{
    struct wire_error error;
    struct drill *drills;
    struct part part = {.arena = arena_new(MEMORY_MAX)};
    if (call_begin() == NULL || part.arena == NULL || bytes > module.room_size) {
        arena_free(part.arena);
        return no_memory();
    }
    jansson_use(module.call);
    if (!drills_read(module.room, bytes, part.arena, &drills, &part.count, &error)) {
        arena_free(part.arena);
        return refuse_input("urn:leadside:problem:invalid-drills", error.path, error.what);
    }
    part.value = drills;
    part_set(&module.drills, part);
    return true;
}

static unsigned pain_of(const json_t *list)
{
    unsigned pain = 0;
    for (size_t i = 0; i < json_array_size(list); i++) {
        unsigned bit = 0;
        const char *name = json_string_value(json_array_get(list, i));
        pain |= name != NULL && area_parse(name, &bit) ? bit : 0;
    }
    return pain;
}

int module_student(size_t bytes, double now)
{
    struct wire_error error;
    if (call_begin() == NULL || bytes > module.room_size) {
        return no_memory();
    }
    module.known = bytes > 0;
    module.player = (struct score_player){.age_years = -1};
    if (bytes == 0) {
        return true;
    }
    jansson_use(module.call);
    json_t *student = tree_parse(module.room, bytes, &error);
    if (student == NULL) {
        module.known = false;
        return refuse_input("urn:leadside:problem:invalid", error.path, error.what);
    }
    const char *hand = json_string_value(json_object_get(student, "hand"));
    const struct player_known known = {
        .birth_date = json_string_value(json_object_get(student, "birth_date")),
        .birth_year = (int)json_integer_value(json_object_get(student, "birth_year")),
        .junior = json_is_true(json_object_get(student, "junior")),
        .sex = json_string_value(json_object_get(student, "sex")),
        .pain = pain_of(json_object_get(student, "pain")),
    };
    module.left = hand != NULL && strcmp(hand, "left") == 0;
    player_score(&known, (int64_t)now, &module.player);
    json_decref(student);
    return true;
}

/* The report as the server writes it; false when memory is short. */
static bool report_make(const struct swing_document *document)
{
    const struct swing *swing = &document->swing;
    const struct part *drills = &module.drills;
    struct report *report = arena_alloc(module.call, sizeof *report);
    if (report == NULL) {
        return false;
    }
    const struct score_player *player = module.known ? &module.player : &(struct score_player){.age_years = -1};
    const char *const note = module.known ? player_hand_note(module.left ? "left" : "right", swing->hand) : NULL;
    const struct report_context context = {.hand = swing->hand,
                                           .recorded_at = document->recorded_at,
                                           .standard_number = (int64_t)module.standard.number,
                                           .age_years = player->age_years,
                                           .pain = player->pain,
                                           .notes = &note,
                                           .note_count = note == NULL ? 0 : 1};
    score_swings(&swing, 1, module.standard.value, player, drills->value, drills->count, report);
    const char *text = report_write(report, module.standard.value, drills->value, drills->count, &context, module.call,
                                    &module.output_size);
    module.output = text == NULL ? "" : text;
    return text != NULL;
}

int module_score(size_t bytes)
{
    struct wire_error error;
    struct swing_document *document = call_begin() == NULL ? NULL : arena_alloc(module.call, sizeof *document);
    if (document == NULL || bytes > module.room_size) {
        return no_memory();
    }
    if (module.standard.value == NULL || module.drills.value == NULL) {
        return refuse(409, "Conflict", "urn:leadside:problem:no-rules", NULL, "no standard and drills were given");
    }
    if (!swing_read(module.room, bytes, module.call, document, &error)) {
        return refuse_input("urn:leadside:problem:invalid-document", error.path, error.what);
    }
    const struct motion_finding *finding = swing_unusable(&document->swing);
    if (finding != NULL) {
        return refuse_input("urn:leadside:problem:unusable-motion", "motion", motion_issue_name(finding->issue));
    }
    return report_make(document) || no_memory();
}

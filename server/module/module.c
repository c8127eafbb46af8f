/* See module.h. */
#include "module/module.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "core/score.h"
#include "module/jansson_part.h"
#include "module/parts.h"
#include "wire/json/tree.h"
#include "wire/report/player.h"
#include "wire/report/write.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"
#include "wire/swing/read.h"

#define INPUT_MAX ((size_t)72 << 20)   /* a picture of 4096 by 4096 */
#define DOCUMENT_MAX ((size_t)8 << 20) /* as the server takes one */
#define MEMORY_MAX ((size_t)96 << 20)  /* of one call */

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
    struct arena *lesson; /* what the swings below lie in */
    const struct swing *swings[SCORE_SWINGS_MAX];
    int swing_count;
    char recorded_at[TIME_TEXT]; /* of the first */
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

/* ---- for the module's other files ---- */

struct arena *module_begin(void)
{
    arena_free(module.call);
    module.call = arena_new(MEMORY_MAX);
    module.output = "";
    module.output_size = 0;
    jansson_use(module.call);
    return module.call;
}

const char *module_input(size_t bytes)
{
    return bytes <= module.room_size ? module.room : NULL;
}

bool module_answer(struct json_out *out)
{
    const char *text = json_out_finish(out, &module.output_size);
    module.output = text == NULL ? "" : text;
    return text != NULL;
}

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
    (void)module_answer(&out);
    return false;
}

bool module_refuse(const char *type, const char *path, const char *detail)
{
    return refuse(422, "Not acceptable as it is", type, path, detail);
}

bool module_no_memory(void)
{
    return refuse(503, "Not just now", "urn:leadside:problem:no-memory", NULL, "memory is short");
}

const char *module_text(size_t bytes)
{
    const char *text = module_begin() == NULL ? NULL : module_input(bytes);
    if (text == NULL) {
        (void)module_no_memory();
    } else if (bytes > DOCUMENT_MAX) {
        (void)refuse(413, "Too large", "urn:leadside:problem:too-large", NULL, "a text may have 8388608 bytes at most");
        return NULL;
    }
    return text;
}

/* ---- the rules ---- */

static void part_set(struct part *part, struct part with)
{
    arena_free(part->arena);
    *part = with;
}

int module_standard(size_t bytes, double number)
{
    struct wire_error error;
    const char *text = module_text(bytes);
    struct part part = {.arena = text == NULL ? NULL : arena_new(MEMORY_MAX), .number = number};
    if (part.arena == NULL || (part.value = arena_alloc(part.arena, sizeof(struct standard))) == NULL) {
        arena_free(part.arena);
        return text != NULL && module_no_memory();
    }
    if (!standard_read(text, bytes, part.arena, part.value, &error)) {
        arena_free(part.arena);
        return module_refuse("urn:leadside:problem:invalid-standard", error.path, error.what);
    }
    part_set(&module.standard, part);
    return true;
}

int module_drills(size_t bytes)
{
    struct wire_error error;
    struct drill *drills;
    const char *text = module_text(bytes);
    struct part part = {.arena = text == NULL ? NULL : arena_new(MEMORY_MAX)};
    if (part.arena == NULL) {
        return text != NULL && module_no_memory();
    }
    if (!drills_read(text, bytes, part.arena, &drills, &part.count, &error)) {
        arena_free(part.arena);
        return module_refuse("urn:leadside:problem:invalid-drills", error.path, error.what);
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
    const char *text = module_text(bytes);
    if (text == NULL) {
        return false;
    }
    module.known = bytes > 0;
    module.player = (struct score_player){.age_years = -1};
    if (bytes == 0) {
        return true;
    }
    json_t *student = tree_parse(text, bytes, &error);
    if (student == NULL) {
        module.known = false;
        return module_refuse("urn:leadside:problem:invalid", error.path, error.what);
    }
    const char *hand = json_string_value(json_object_get(student, "hand"));
    const json_t *height = json_object_get(student, "height_m");
    const struct player_known known = {
        .birth_date = json_string_value(json_object_get(student, "birth_date")),
        .birth_year = (int)json_integer_value(json_object_get(student, "birth_year")),
        .junior = json_is_true(json_object_get(student, "junior")),
        .sex = json_string_value(json_object_get(student, "sex")),
        .pain = pain_of(json_object_get(student, "pain")),
        .height_m = {json_is_number(height), json_number_value(height)},
    };
    module.left = hand != NULL && strcmp(hand, "left") == 0;
    player_score(&known, (int64_t)now, &module.player);
    json_decref(student);
    return true;
}

/* ---- swings ---- */

static void lesson_forget(void)
{
    arena_free(module.lesson);
    module.lesson = NULL;
    module.swing_count = 0;
}

/* What is scored of a document, without the points that its motion was analysed from: a recording is a hundred times
 * that. */
static const struct swing *swing_copy(const struct swing *from)
{
    struct swing *swing = arena_alloc(module.lesson, sizeof *swing);
    struct motion_summary *motion = from->motion == NULL ? NULL : arena_alloc(module.lesson, sizeof *motion);
    if (swing == NULL || (from->motion != NULL && motion == NULL)) {
        return NULL;
    }
    *swing = *from;
    if (motion != NULL) {
        *motion = *from->motion;
        swing->motion = motion;
    }
    return swing;
}

/* A document beside those of the same lesson; false: refused, and said why. */
static bool lesson_add(const struct swing_document *document)
{
    if (module.swing_count == SCORE_SWINGS_MAX) {
        return module_refuse("urn:leadside:problem:invalid", "swings", "a list of 1 to 50 swings is expected");
    }
    if (module.swing_count > 0 && document->swing.hand != module.swings[0]->hand) {
        return module_refuse("urn:leadside:problem:invalid", "hand", PLAYER_ONE_HAND);
    }
    module.lesson = module.lesson == NULL ? arena_new(MEMORY_MAX) : module.lesson;
    const struct swing *swing = module.lesson == NULL ? NULL : swing_copy(&document->swing);
    if (swing == NULL) {
        return module_no_memory();
    }
    if (module.swing_count == 0) {
        memcpy(module.recorded_at, document->recorded_at, sizeof module.recorded_at);
    }
    module.swings[module.swing_count++] = swing;
    return true;
}

/* The input as a swing of the lesson; false: refused, and said why. */
static bool document_take(const char *text, size_t bytes)
{
    struct wire_error error;
    struct swing_document *document = arena_alloc(module.call, sizeof *document);
    if (document == NULL) {
        return module_no_memory();
    }
    if (!swing_read(text, bytes, module.call, document, &error)) {
        return module_refuse("urn:leadside:problem:invalid-document", error.path, error.what);
    }
    const struct motion_finding *finding = swing_unusable(&document->swing);
    if (finding != NULL) {
        return module_refuse("urn:leadside:problem:unusable-motion", "motion", motion_issue_name(finding->issue));
    }
    return lesson_add(document);
}

/* The report as the server writes it; false when memory is short. */
static bool report_make(void)
{
    const enum hand hand = module.swings[0]->hand;
    const struct part *drills = &module.drills;
    struct report *report = arena_alloc(module.call, sizeof *report);
    if (report == NULL) {
        return false;
    }
    const struct score_player *player = module.known ? &module.player : &(struct score_player){.age_years = -1};
    const char *const note = module.known ? player_hand_note(module.left ? "left" : "right", hand) : NULL;
    const struct report_context context = {.hand = hand,
                                           .recorded_at = module.recorded_at,
                                           .standard_number = (int64_t)module.standard.number,
                                           .age_years = player->age_years,
                                           .pain = player->pain,
                                           .notes = &note,
                                           .note_count = note == NULL ? 0 : 1};
    score_swings(module.swings, module.swing_count, module.standard.value, player, drills->value, drills->count,
                 report);
    const char *text = report_write(report, module.standard.value, drills->value, drills->count, &context, module.call,
                                    &module.output_size);
    module.output = text == NULL ? "" : text;
    return text != NULL;
}

int module_swing(size_t bytes)
{
    const char *text = module_text(bytes);
    const bool good = text != NULL && document_take(text, bytes);
    if (!good) {
        lesson_forget();
    }
    return good;
}

int module_score(size_t bytes)
{
    const char *text = module_text(bytes);
    bool good = text != NULL;
    if (good && (module.standard.value == NULL || module.drills.value == NULL)) {
        good = refuse(409, "Conflict", "urn:leadside:problem:no-rules", NULL, "no standard and drills were given");
    }
    good = good && document_take(text, bytes) && (report_make() || module_no_memory());
    lesson_forget();
    return good;
}

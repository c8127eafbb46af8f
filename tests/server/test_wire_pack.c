/* A report's measures, packed: the very numbers that are read back out of its text. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/embed.h"
#include "wire/json/out.h"
#include "wire/report/pack.h"
#include "wire/report/write.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"
#include "wire/swing/file.h"

static const struct embedded_file *embedded(const char *name)
{
    for (size_t i = 0; i < embedded_standard_count; i++) {
        if (strcmp(embedded_standard[i].name, name) == 0) {
            return &embedded_standard[i];
        }
    }
    return NULL;
}

static char *file_read(struct arena *arena, const char *name, size_t *size)
{
    char path[512];
    snprintf(path, sizeof path, "%s/data/%s.json", TESTS_DIR, name);
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s", path);
    char *text = arena_alloc(arena, 1 << 20);
    *size = fread(text, 1, 1 << 20, file);
    fclose(file);
    return text;
}

/* The shipped standard, and one that asks other things of everything: each limit, weight and share is moved. */
static struct standard *standard_moved(struct arena *arena, const struct standard *from)
{
    struct standard *to = arena_alloc(arena, sizeof *to);
    *to = *from;
    to->threshold *= 0.7;
    to->p_present = 0.7;
    for (int i = 0; i < to->range_count; i++) {
        struct measure_range *range = &to->ranges[i].range;
        range->ok_high.value -= 0.3 * (range->ok_high.value - range->ok_low.value) * (range->ok_low.given != 0);
    }
    for (int i = 0; i < CLUB_CLASS_COUNT; i++) {
        to->face_share[i] *= 0.8;
    }
    return to;
}

/* One swing judged from what is packed is judged as from its document, by the shipped standard and by another: the
 * verdicts to the last digit, and the report's text to the last letter. */
static void judged_again(const char *name, const char *packed, size_t size, const char *text, size_t text_size,
                         const struct swing *swing, struct report_context context, int copies)
{
    struct wire_error error;
    struct arena *arena = arena_new(0);
    struct standard *standards[2];
    struct drill *drills = NULL;
    int drill_count = 0;
    const struct embedded_file *rules = embedded("default.json"), *practice = embedded("drills.json");
    struct report *report = arena_alloc(arena, sizeof *report), *again = arena_alloc(arena, sizeof *again);
    struct report_kept *kept = arena_alloc(arena, sizeof *kept);
    const struct score_kept *const one = &kept->kept;
    standards[0] = arena_alloc(arena, sizeof *standards[0]);
    cr_assert(standard_read((const char *)rules->data, rules->size, arena, standards[0], &error), "%s", error.what);
    cr_assert(drills_read((const char *)practice->data, practice->size, arena, &drills, &drill_count, &error), "%s",
              error.what);
    standards[1] = standard_moved(arena, standards[0]);
    cr_assert(!report_unpack_kept(text, text_size, kept), "%s: a text tells too little", name);
    cr_assert_eq(report_unpack_kept(packed, size, kept), copies == 1, "%s", name);
    cr_assert_eq(kept->whole, copies == 1 && swing->motion == NULL, "%s: whole", name);
    for (int i = 0; i < 4 && copies == 1; i++) {
        size_t length, length_again;
        const struct score_player player = {
            .age_years = i % 2 ? 70 : 14, .sex = i % 2 ? SEX_FEMALE : SEX_ANY, .pain = i % 2 ? AREA_LOW_BACK : 0};
        context.age_years = player.age_years;
        context.pain = player.pain;
        score_swings(&swing, 1, standards[i / 2], &player, drills, drill_count, report);
        score_again(&one, 1, standards[i / 2], &player, drills, drill_count, again);
        for (int f = 0; f < FAULT_COUNT; f++) {
            const struct fault_result *a = &report->faults[f], *b = &again->faults[f];
            cr_assert(a->verdict == b->verdict && a->basis == b->basis && a->p == b->p && a->score == b->score &&
                          a->expected == b->expected && a->settle == b->settle && a->word == b->word,
                      "%s: %s, %.17g and %.17g", name, fault_name((enum fault_id)f), a->p, b->p);
        }
        cr_assert_eq(report->fixes.count, again->fixes.count, "%s", name);
        for (int k = 0; k < report->fixes.count; k++) {
            cr_assert(report->fixes.items[k].fault == again->fixes.items[k].fault &&
                          report->fixes.items[k].priority == again->fixes.items[k].priority,
                      "%s: fix %d", name, k);
        }
        const char *from_document =
            report_write(report, standards[i / 2], drills, drill_count, &context, arena, &length);
        context.hand = kept->whole ? kept->hand : context.hand;
        context.recorded_at = kept->whole ? kept->recorded_at : context.recorded_at;
        const char *from_kept =
            report_write(again, standards[i / 2], drills, drill_count, &context, arena, &length_again);
        cr_assert(!kept->whole || (length == length_again && memcmp(from_document, from_kept, length) == 0),
                  "%s: the same report\n%s\n%s", name, from_document, from_kept);
    }
    arena_free(arena);
}

/* Seven swings together, from what is packed of each alone: the report that their documents give. */
static void judged_together(const char *name, const struct swing *swing, struct report_context context)
{
    enum { SEVEN = 7 };
    struct wire_error error;
    size_t length, length_again, size;
    struct arena *arena = arena_new(0);
    const struct embedded_file *rules = embedded("default.json");
    struct standard *standard = arena_alloc(arena, sizeof *standard);
    struct report *report = arena_alloc(arena, sizeof *report);
    struct report_kept *kept = arena_alloc(arena, sizeof *kept);
    struct score_player player = {.age_years = 40};
    const struct swing *swings[SEVEN];
    const struct score_kept *all[SEVEN];
    cr_assert(standard_read((const char *)rules->data, rules->size, arena, standard, &error), "%s", error.what);
    player.spread[3] = (struct maybe){true, 0.5};
    for (int i = 0; i < SEVEN; i++) {
        swings[i] = swing;
        all[i] = &kept->kept;
    }
    score_swings(swings, 1, standard, &player, NULL, 0, report);
    const char *packed = report_pack(report, swing, &context, arena, &size);
    cr_assert(report_unpack_kept(packed, size, kept) && kept->whole, "%s", name);
    score_swings(swings, SEVEN, standard, &player, NULL, 0, report);
    const char *from_documents = report_write(report, standard, NULL, 0, &context, arena, &length);
    score_again(all, SEVEN, standard, &player, NULL, 0, report);
    const char *from_kept = report_write(report, standard, NULL, 0, &context, arena, &length_again);
    cr_assert(length == length_again && memcmp(from_documents, from_kept, length) == 0, "%s\n%s\n%s", name,
              from_documents, from_kept);
    arena_free(arena);
}

/* The report on one document, and both ways to its bytes. */
static void both_ways(const char *name, int copies)
{
    struct wire_error error;
    struct arena *arena = arena_new(0);
    struct standard *standard = arena_alloc(arena, sizeof *standard);
    struct swing_document *document = arena_alloc(arena, sizeof *document);
    struct report *report = arena_alloc(arena, sizeof *report);
    const struct embedded_file *rules = embedded("default.json");
    const struct score_player player = {.age_years = -1};
    const struct swing *swings[SCORE_SWINGS_MAX];
    struct report_context context = {.recorded_at = "2026-05-02T09:14:05Z", .age_years = -1};
    size_t size;
    cr_assert(standard_read((const char *)rules->data, rules->size, arena, standard, &error), "%s", error.what);
    const char *text = file_read(arena, name, &size);
    cr_assert(swing_read(text, size, arena, document, &error), "%s: %s %s", name, error.path, error.what);
    for (int i = 0; i < copies; i++) {
        swings[i] = &document->swing;
    }
    score_swings(swings, copies, standard, &player, NULL, 0, report);
    context.hand = document->swing.hand;
    size_t length, direct_size, read_size;
    const char *json = report_write(report, standard, NULL, 0, &context, arena, &length);
    const char *direct = report_pack(report, copies == 1 ? swings[0] : NULL, &context, arena, &direct_size);
    const char *read = report_pack_json(json, length, arena, &read_size);
    cr_assert(read_size > 16 + 32 * 5 || strcmp(name, "every_part") == 0, "%s has a few measures", name);

    /* and each measure is what report_pick gives */
    enum measure_item items[MEASURE_COUNT];
    struct report_pick picked[MEASURE_COUNT], unpacked[MEASURE_COUNT], from_text[MEASURE_COUNT];
    enum club_class club, other, third;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        items[i] = (enum measure_item)(MEASURE_COUNT - 1 - i);
    }
    cr_assert(report_pick(json, length, items, MEASURE_COUNT, picked, &club));
    cr_assert_eq(report_unpack(direct, direct_size, items, MEASURE_COUNT, unpacked, &other), REPORT_UNPACKED);
    cr_assert_eq(report_unpack(read, read_size, items, MEASURE_COUNT, from_text, &third), REPORT_UNPACKED);
    cr_assert(club == other && club == third);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *a = &picked[i].measure, *b = &unpacked[i].measure;
        cr_assert(a->observed == b->observed && a->clipped == b->clipped && a->source == b->source &&
                      a->value == b->value && a->sd_random == b->sd_random && a->sd_systematic == b->sd_systematic,
                  "%s: %s", name, measure_info(items[i])->name);
        cr_assert(!a->observed || picked[i].swings == unpacked[i].swings);
        const struct measure *c = &from_text[i].measure;
        cr_assert(b->observed == c->observed && b->clipped == c->clipped && b->source == c->source &&
                      b->value == c->value && b->sd_random == c->sd_random && b->sd_systematic == c->sd_systematic &&
                      unpacked[i].swings == from_text[i].swings,
                  "%s: %s, packed from its text", name, measure_info(items[i])->name);
    }
    judged_again(name, direct, direct_size, read, read_size, swings[0], context, copies);
    if (copies > 1 && swings[0]->motion == NULL) {
        judged_together(name, swings[0], context);
    }
    arena_free(arena);
}

Test(pack, gives_what_the_text_gives)
{
    static const char *const names[] = {"down_the_line", "every_part", "face_on",  "left_handed",
                                        "motion",        "sound",      "two_views"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        both_ways(names[i], 1);
        both_ways(names[i], 7);
    }
}

Test(pack, tells_what_is_stale_and_what_is_no_report)
{
    struct arena *arena = arena_new(0);
    enum measure_item item = (enum measure_item)0;
    struct report_pick pick;
    enum club_class club;
    size_t size;
    char *packed = report_pack_json("{\"measures\":[]}", 15, arena, &size);
    cr_assert_eq(report_unpack(packed, size, &item, 1, &pick, &club), REPORT_UNPACKED);
    cr_assert(!pick.measure.observed);
    cr_assert_eq(report_unpack(NULL, 0, &item, 1, &pick, &club), REPORT_STALE);
    cr_assert_eq(report_unpack(packed, size - 1, &item, 1, &pick, &club), REPORT_STALE);
    packed[0]++;
    cr_assert_eq(report_unpack(packed, size, &item, 1, &pick, &club), REPORT_STALE, "another catalogue's");
    packed = report_pack_json("no report", 9, arena, &size);
    cr_assert_eq(report_unpack(packed, size, &item, 1, &pick, &club), REPORT_UNREADABLE);
    arena_free(arena);
}

Test(pack, a_written_number_is_known_without_reading_it)
{
    struct arena *arena = arena_new(0);
    srand(7);
    for (int i = 0; i < 200000; i++) {
        struct json_out out;
        size_t length;
        double known = 0;
        const int decimals = i % 6;
        const double value = ((double)rand() / RAND_MAX - 0.5) * pow(10, i % 9 - 3);
        if (i % 1000 == 0) {
            arena_free(arena);
            arena = arena_new(0);
        }
        json_out_start(&out, arena);
        json_out_number(&out, NULL, value, decimals);
        const char *text = json_out_finish(&out, &length);
        cr_assert(json_out_as_read(value, decimals, &known));
        cr_assert_eq(strtod(text, NULL), known, "%s of %.17g gives %.17g", text, value, known);
    }
    double known;
    cr_assert(!json_out_as_read(NAN, 3, &known));
    cr_assert(!json_out_as_read(INFINITY, 3, &known));
    cr_assert(!json_out_as_read(1e300, 3, &known));
    arena_free(arena);
}

static bool collect(void *context, const char *text, size_t length)
{
    char *to = context;
    strncat(to, text, length);
    return true;
}

static bool refuse(void *context, const char *text, size_t length)
{
    (void)context;
    (void)text;
    (void)length;
    return false;
}

Test(pack, text_handed_on_in_pieces_is_the_same_text)
{
    struct arena *arena = arena_new(0);
    struct json_out whole, pieces;
    size_t length;
    char *joined = calloc(1, 1 << 20);
    char *large = arena_alloc(arena, 100001);
    memset(large, 'x', 100000);
    json_out_start(&whole, arena);
    json_out_start_to(&pieces, arena, collect, joined);
    struct json_out *outs[] = {&whole, &pieces};
    for (int i = 0; i < 2; i++) {
        json_out_object(outs[i], NULL);
        for (int k = 0; k < 3000; k++) {
            json_out_number(outs[i], "n", k * 1.25, 2);
        }
        json_out_text(outs[i], "large", large);
        json_out_base64(outs[i], "bytes", large, 10001);
        json_out_base64(outs[i], "none", "", 0);
        json_out_raw(outs[i], "raw", "[1,2]", 5);
        json_out_end_object(outs[i]);
    }
    cr_assert(json_out_flush(&pieces));
    cr_assert_str_eq(joined, json_out_finish(&whole, &length));
    cr_assert_not_null(strstr(joined, "\"bytes\":\"eHh4"));
    cr_assert_not_null(strstr(joined, "\"none\":\"\""));
    json_out_start_to(&pieces, arena, refuse, NULL);
    json_out_text(&pieces, NULL, large);
    cr_assert(!json_out_flush(&pieces));
    free(joined);
    arena_free(arena);
}

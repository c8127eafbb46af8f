/* See report_pack.h. A head, one record for each measure that was observed, and of one swing what the coach saw, the
 * ball did, its measures share, and what was found about its cameras and marks. */
#include "wire/report/pack.h"

#include <stdatomic.h>
#include <stdint.h>
#include <string.h>

#include "wire/json/out.h"
#include "wire/maker.h"

struct head {
    uint64_t catalogue;
    uint8_t readable, club;
    uint8_t kept; /* numbers are as they were found, and what else judging takes is there; else as they were written */
    uint8_t has_flight;
    uint8_t records, seen; /* how many follow */
    uint16_t links;        /* and how many pairs of measures share something */
};

struct record {
    uint16_t item, swings;
    uint8_t source, flags, marks, unused;
    double value, sd_random, sd_systematic;
};

enum { IS_CLIPPED = 1, IS_GUESSED = 2, IS_SUSPECT = 4 };

struct seen_word {
    uint8_t fault, word;
};

struct link {
    uint8_t a, b; /* a > b */
    int16_t random, systematic;
};

struct ball {
    double values[6]; /* in the order of ball_values */
    uint8_t given, start, curve, strike, unused[4];
};

#define RECORDED_AT_MAX 64

/* What else a report says, then the moment it was recorded at with its NUL, a camera_record for each finding about the
 * cameras and a mark_record for each about marks. Not there: the report says more than this. */
struct rest {
    uint64_t maker;
    uint16_t recorded_at; /* bytes with the NUL; 0 = not said */
    uint8_t hand, cameras, marks, unused[3];
};

struct camera_record {
    uint8_t view, kind, issue, fault, unused[4];
    double value, moves[4]; /* in the order of camera_moves */
};

struct mark_record {
    uint8_t view, view_kind, kind, unused;
    uint16_t point;
    int16_t checkpoint;
    double by;
};

_Static_assert(sizeof(struct rest) == 16 && sizeof(struct camera_record) == 48 && sizeof(struct mark_record) == 16,
               "nor in the rest");
_Static_assert(CAMERA_FINDINGS_MAX <= UINT8_MAX && CHECK_FINDINGS_MAX <= UINT8_MAX, "their numbers fit");
_Static_assert(sizeof(struct head) == 16 && sizeof(struct record) == 32 && sizeof(struct ball) == 56,
               "no bytes that nobody wrote");
_Static_assert(sizeof(struct link) == 6 && MEASURE_COUNT <= UINT8_MAX, "nor in a link");

/* What struct head means: another number makes what was packed before stale. */
#define FORM 3.0

/* ---- the catalogue's mark ---- */

static uint64_t mix(uint64_t mark, const void *bytes, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        mark = (mark ^ ((const unsigned char *)bytes)[i]) * 0x100000001b3U;
    }
    return mark;
}

static uint64_t mix_text(uint64_t mark, const char *text)
{
    return text == NULL ? mix(mark, "\1", 1) : mix(mark, text, strlen(text) + 1);
}

/* Of everything that the numbers in a record stand for. */
static uint64_t catalogue_mark(void)
{
    static _Atomic uint64_t known;
    uint64_t mark = atomic_load_explicit(&known, memory_order_relaxed);
    if (mark != 0) {
        return mark;
    }
    const double form = FORM;
    mark = mix(0xcbf29ce484222325U, &form, sizeof form);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure_info *info = measure_info((enum measure_item)i);
        mark = mix_text(mark, info->name);
        mark = mix_text(mark, info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint));
    }
    for (int i = 0; i < MEASURE_SOURCE_COUNT; i++) {
        mark = mix_text(mark, measure_source_name((enum measure_source)i));
    }
    for (int i = 0; i < CLUB_CLASS_COUNT; i++) {
        mark = mix_text(mark, club_class_name((enum club_class)i));
    }
    for (int i = 0; i < FAULT_COUNT; i++) {
        mark = mix_text(mark, fault_name((enum fault_id)i));
    }
    mark = mark == 0 ? 1 : mark;
    atomic_store_explicit(&known, mark, memory_order_relaxed);
    return mark;
}

/* ---- packing ---- */

/* As it is written into the report and read again; 0 for what is written as null. */
static double as_written(double value, int decimals)
{
    double kept = 0;
    return json_out_as_read(value, decimals, &kept) ? kept : 0;
}

static struct record record_of(enum measure_item item, const struct measure *measure, int swings)
{
    const int most = UINT8_MAX;
    return (struct record){.item = (uint16_t)item,
                           .swings = (uint16_t)(swings < 1      ? 1
                                                : swings > 1000 ? 1000
                                                                : swings),
                           .source = (uint8_t)measure->source,
                           .flags =
                               (uint8_t)((measure->clipped ? IS_CLIPPED : 0) | (measure->guessed ? IS_GUESSED : 0) |
                                         (measure->suspect ? IS_SUSPECT : 0)),
                           .marks = (uint8_t)(measure->marks > most ? most : measure->marks),
                           .value = measure->value,
                           .sd_random = measure->sd_random,
                           .sd_systematic = measure->sd_systematic};
}

/* The head, and one record for each observed measure; *end is set behind them, with room for more. */
static char *pack(struct head head, const struct measure_set *measures, const int swings[MEASURE_COUNT], size_t more,
                  struct arena *arena, char **end)
{
    char *packed =
        arena_take(arena, sizeof head + MEASURE_COUNT * sizeof(struct record) + FAULT_COUNT * sizeof(struct seen_word) +
                              sizeof(struct ball) + head.links * sizeof(struct link) + more);
    if (packed == NULL) {
        return NULL;
    }
    char *at = packed + sizeof head;
    head.catalogue = catalogue_mark();
    for (int i = 0; i < MEASURE_COUNT && head.readable; i++) {
        double written = 0;
        const struct measure *measure = &measures->items[i];
        if (measure->observed && json_out_as_read(measure->value, report_decimals((enum measure_item)i), &written)) {
            const struct record record = record_of((enum measure_item)i, measure, swings[i]);
            memcpy(at, &record, sizeof record);
            at += sizeof record;
            head.records++;
        }
    }
    memcpy(packed, &head, sizeof head);
    *end = at;
    return packed;
}

static void ball_values(struct swing_flight *flight, struct maybe *out[6])
{
    struct maybe *const values[] = {&flight->path_deg,         &flight->face_deg,      &flight->attack_deg,
                                    &flight->dynamic_loft_deg, &flight->ball_speed_ms, &flight->spin_rpm};
    memcpy(out, values, sizeof values);
}

static char *ball_pack(struct swing_flight flight, char *at)
{
    struct maybe *values[6];
    struct ball ball = {
        .start = (uint8_t)flight.start, .curve = (uint8_t)flight.curve, .strike = (uint8_t)flight.strike};
    ball_values(&flight, values);
    for (int i = 0; i < 6; i++) {
        ball.values[i] = values[i]->given ? values[i]->value : 0;
        ball.given |= (uint8_t)(values[i]->given << i);
    }
    memcpy(at, &ball, sizeof ball);
    return at + sizeof ball;
}

static bool linked(const struct measure_set *measures, int a, int b)
{
    const struct measure_shared *shared = &measures->shared[measure_pair(a, b)];
    return measures->items[a].observed && measures->items[b].observed &&
           (shared->random != 0 || shared->systematic != 0);
}

static uint16_t links_count(const struct measure_set *measures)
{
    uint16_t count = 0;
    for (int a = 1; a < MEASURE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            count = (uint16_t)(count + linked(measures, a, b));
        }
    }
    return count;
}

static char *links_pack(const struct measure_set *measures, char *at)
{
    for (int a = 1; a < MEASURE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            const struct measure_shared *shared = &measures->shared[measure_pair(a, b)];
            const struct link link = {(uint8_t)a, (uint8_t)b, shared->random, shared->systematic};
            if (linked(measures, a, b)) {
                memcpy(at, &link, sizeof link);
                at += sizeof link;
            }
        }
    }
    return at;
}

static void camera_moves(struct camera_finding *finding, double *out[4])
{
    double *const moves[] = {&finding->move_right_m, &finding->move_up_m, &finding->turn_right_deg,
                             &finding->roll_clockwise_deg};
    memcpy(out, moves, sizeof moves);
}

static char *cameras_pack(const struct camera_findings *findings, char *at)
{
    for (int i = 0; i < findings->count; i++) {
        double *moves[4];
        struct camera_finding finding = findings->items[i];
        struct camera_record record = {.view = (uint8_t)finding.view,
                                       .kind = (uint8_t)finding.kind,
                                       .issue = (uint8_t)finding.issue,
                                       .fault = finding.fault,
                                       .value = finding.value};
        camera_moves(&finding, moves);
        for (int k = 0; k < 4; k++) {
            record.moves[k] = *moves[k];
        }
        memcpy(at, &record, sizeof record);
        at += sizeof record;
    }
    return at;
}

static char *marks_pack(const struct mark_findings *findings, char *at)
{
    for (int i = 0; i < findings->count; i++) {
        const struct mark_finding *finding = &findings->items[i];
        const struct mark_record record = {.view = (uint8_t)finding->view,
                                           .view_kind = (uint8_t)finding->view_kind,
                                           .kind = (uint8_t)finding->kind,
                                           .point = (uint16_t)finding->point,
                                           .checkpoint = (int16_t)finding->checkpoint,
                                           .by = finding->by};
        memcpy(at, &record, sizeof record);
        at += sizeof record;
    }
    return at;
}

static size_t rest_size(const struct rest *rest)
{
    return sizeof *rest + rest->recorded_at + rest->cameras * sizeof(struct camera_record) +
           rest->marks * sizeof(struct mark_record);
}

/* Does kept tell all that a report on the swing says? A file's markers come with motion data. */
static bool all_kept(const struct score_kept *kept, const struct report_context *context)
{
    bool all =
        kept->motion == NULL && (context->recorded_at == NULL || strlen(context->recorded_at) <= RECORDED_AT_MAX);
    for (int i = 0; i < MEASURE_COUNT && all; i++) {
        double written = 0;
        const struct measure *measure = &kept->measures.items[i];
        all = !measure->observed || (measure->marks <= UINT8_MAX &&
                                     json_out_as_read(measure->value, report_decimals((enum measure_item)i), &written));
    }
    return all;
}

static char *rest_pack(const struct score_kept *kept, const struct report_context *context, struct rest rest, char *at)
{
    memcpy(at, &rest, sizeof rest);
    at += sizeof rest;
    if (rest.recorded_at > 0) {
        memcpy(at, context->recorded_at, rest.recorded_at);
        at += rest.recorded_at;
    }
    at = cameras_pack(&kept->camera, at);
    return marks_pack(&kept->marks, at);
}

char *report_pack(const struct report *report, const struct swing *swing, const struct report_context *context,
                  struct arena *arena, size_t *size)
{
    struct score_kept *kept = arena_take(arena, sizeof *kept);
    if (kept == NULL) {
        return NULL;
    }
    *kept = (struct score_kept){.club = report->player.club, .measures = report->measures};
    if (swing != NULL) {
        score_keep(report, swing, kept);
    }
    const struct head head = {.readable = 1,
                              .club = (uint8_t)kept->club,
                              .kept = swing != NULL,
                              .has_flight = kept->has_flight,
                              .seen = (uint8_t)kept->seen_count,
                              .links = swing == NULL ? 0 : links_count(&kept->measures)};
    const struct rest rest = {.maker = WIRE_MAKER,
                              .recorded_at =
                                  (uint16_t)(context->recorded_at == NULL ? 0 : strlen(context->recorded_at) + 1),
                              .hand = context->hand == HAND_LEFT,
                              .cameras = (uint8_t)kept->camera.count,
                              .marks = (uint8_t)kept->marks.count};
    const bool all = swing != NULL && all_kept(kept, context);
    char *at = NULL;
    char *packed = pack(head, &kept->measures, report->observed_in, all ? rest_size(&rest) : 0, arena, &at);
    if (packed == NULL) {
        return NULL;
    }
    for (int i = 0; i < kept->seen_count; i++) {
        const struct seen_word seen = {.fault = (uint8_t)kept->seen[i].fault, .word = (uint8_t)kept->seen[i].word};
        memcpy(at, &seen, sizeof seen);
        at += sizeof seen;
    }
    at = kept->has_flight ? ball_pack(kept->flight, at) : at;
    at = head.links > 0 ? links_pack(&kept->measures, at) : at;
    at = all ? rest_pack(kept, context, rest, at) : at;
    *size = (size_t)(at - packed);
    return packed;
}

char *report_pack_json(const char *json, size_t length, struct arena *arena, size_t *size)
{
    enum measure_item items[MEASURE_COUNT];
    struct report_pick picks[MEASURE_COUNT];
    struct measure_set measures;
    int swings[MEASURE_COUNT];
    enum club_class club = CLUB_CLASS_ANY;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        items[i] = (enum measure_item)i;
    }
    const bool readable = report_pick(json, length, items, MEASURE_COUNT, picks, &club);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        measures.items[i] = readable ? picks[i].measure : (struct measure){.observed = false};
        swings[i] = readable ? picks[i].swings : 0;
    }
    char *at = NULL;
    const struct head head = {.readable = readable, .club = (uint8_t)(readable ? club : CLUB_CLASS_ANY)};
    char *packed = pack(head, &measures, swings, 0, arena, &at);
    *size = packed == NULL ? 0 : (size_t)(at - packed);
    return packed;
}

/* ---- unpacking ---- */

/* Of the head and all that it counts. */
static size_t head_size(const struct head *head)
{
    return sizeof *head + head->records * sizeof(struct record) + head->seen * sizeof(struct seen_word) +
           (head->has_flight ? sizeof(struct ball) : 0) + head->links * sizeof(struct link);
}

/* False: it is not there. */
static bool rest_read(const char *packed, size_t size, size_t before, struct rest *out)
{
    if (size < before + sizeof *out) {
        return false;
    }
    memcpy(out, packed + before, sizeof *out);
    return size == before + rest_size(out);
}

/* False: stale. */
static bool head_read(const char *packed, size_t size, struct head *out)
{
    struct rest rest;
    if (packed == NULL || size < sizeof *out) {
        return false;
    }
    memcpy(out, packed, sizeof *out);
    return out->catalogue == catalogue_mark() && out->club < CLUB_CLASS_COUNT &&
           (size == head_size(out) || rest_read(packed, size, head_size(out), &rest));
}

static bool record_read(const char *packed, int number, struct record *out)
{
    memcpy(out, packed + sizeof(struct head) + (size_t)number * sizeof *out, sizeof *out);
    return out->item < MEASURE_COUNT && out->source < MEASURE_SOURCE_COUNT;
}

/* A guess is shown in the report and used nowhere. */
static void record_take(const struct record *record, struct report_pick *out)
{
    const int decimals = report_decimals((enum measure_item)record->item);
    if (record->flags & IS_GUESSED) {
        return;
    }
    *out = (struct report_pick){.measure = {.observed = true,
                                            .clipped = (record->flags & IS_CLIPPED) != 0,
                                            .value = as_written(record->value, decimals),
                                            .sd_random = as_written(record->sd_random, decimals + 1),
                                            .sd_systematic = as_written(record->sd_systematic, decimals + 1),
                                            .source = (enum measure_source)record->source},
                                .swings = record->swings};
}

enum report_unpacked report_unpack(const char *packed, size_t size, const enum measure_item *items, int count,
                                   struct report_pick *out, enum club_class *club)
{
    struct head head;
    if (!head_read(packed, size, &head)) {
        return REPORT_STALE;
    }
    if (!head.readable) {
        return REPORT_UNREADABLE;
    }
    *club = (enum club_class)head.club;
    for (int i = 0; i < count; i++) {
        out[i] = (struct report_pick){.swings = 0};
    }
    for (int n = 0; n < head.records; n++) {
        struct record record;
        if (!record_read(packed, n, &record)) {
            return REPORT_STALE;
        }
        for (int i = 0; i < count; i++) {
            if (items[i] == (enum measure_item)record.item) {
                record_take(&record, &out[i]);
            }
        }
    }
    return REPORT_UNPACKED;
}

static bool ball_unpack(const char *at, struct swing_flight *out)
{
    struct ball ball;
    struct maybe *values[6];
    memcpy(&ball, at, sizeof ball);
    *out = (struct swing_flight){.start = (enum flight_side)ball.start,
                                 .curve = (enum flight_side)ball.curve,
                                 .strike = (enum strike)ball.strike};
    ball_values(out, values);
    for (int i = 0; i < 6; i++) {
        *values[i] = (struct maybe){.given = (ball.given >> i & 1) != 0, .value = ball.values[i]};
    }
    return ball.start < FLIGHT_SIDE_COUNT && ball.curve < FLIGHT_SIDE_COUNT && ball.strike < STRIKE_COUNT;
}

static bool links_unpack(const char *at, int count, struct measure_set *out)
{
    for (int i = 0; i < count; i++) {
        struct link link;
        memcpy(&link, at + (size_t)i * sizeof link, sizeof link);
        if (link.a >= MEASURE_COUNT || link.b >= link.a) {
            return false;
        }
        out->shared[measure_pair(link.a, link.b)] = (struct measure_shared){link.random, link.systematic};
    }
    return true;
}

static void cameras_unpack(const char *at, int count, struct camera_findings *out)
{
    out->count = count;
    for (int i = 0; i < count; i++) {
        double *moves[4];
        struct camera_record record;
        memcpy(&record, at + (size_t)i * sizeof record, sizeof record);
        out->items[i] = (struct camera_finding){.view = record.view,
                                                .kind = (enum view_kind)record.kind,
                                                .issue = (enum camera_issue)record.issue,
                                                .fault = record.fault != 0,
                                                .value = record.value};
        camera_moves(&out->items[i], moves);
        for (int k = 0; k < 4; k++) {
            *moves[k] = record.moves[k];
        }
    }
}

static void marks_unpack(const char *at, int count, struct mark_findings *out)
{
    out->count = count;
    for (int i = 0; i < count; i++) {
        struct mark_record record;
        memcpy(&record, at + (size_t)i * sizeof record, sizeof record);
        out->items[i] = (struct mark_finding){.view = record.view,
                                              .view_kind = (enum view_kind)record.view_kind,
                                              .checkpoint = (enum checkpoint)record.checkpoint,
                                              .point = (enum point)record.point,
                                              .kind = (enum mark_kind)record.kind,
                                              .by = record.by};
    }
}

/* This very program wrote it, so its numbers are what they should be. */
static bool rest_unpack(const char *packed, size_t size, size_t before, struct report_kept *out)
{
    struct rest rest;
    if (!rest_read(packed, size, before, &rest) || rest.maker != WIRE_MAKER || rest.cameras > CAMERA_FINDINGS_MAX ||
        rest.marks > CHECK_FINDINGS_MAX) {
        return false;
    }
    const char *at = packed + before + sizeof rest;
    out->hand = rest.hand ? HAND_LEFT : HAND_RIGHT;
    out->recorded_at = rest.recorded_at == 0 ? NULL : at;
    at += rest.recorded_at;
    cameras_unpack(at, rest.cameras, &out->kept.camera);
    marks_unpack(at + rest.cameras * sizeof(struct camera_record), rest.marks, &out->kept.marks);
    return true;
}

static bool records_unpack(const char *packed, int count, struct measure_set *out)
{
    for (int n = 0; n < count; n++) {
        struct record record;
        if (!record_read(packed, n, &record)) {
            return false;
        }
        out->items[record.item] = (struct measure){.observed = true,
                                                   .clipped = (record.flags & IS_CLIPPED) != 0,
                                                   .guessed = (record.flags & IS_GUESSED) != 0,
                                                   .suspect = (record.flags & IS_SUSPECT) != 0,
                                                   .value = record.value,
                                                   .sd_random = record.sd_random,
                                                   .sd_systematic = record.sd_systematic,
                                                   .source = (enum measure_source)record.source,
                                                   .marks = record.marks};
    }
    return true;
}

bool report_unpack_kept(const char *packed, size_t size, struct report_kept *out)
{
    struct head head;
    struct score_kept *kept = &out->kept;
    if (!head_read(packed, size, &head) || !head.readable || !head.kept || head.seen > FAULT_COUNT) {
        return false;
    }
    *out = (struct report_kept){.whole = false};
    *kept = (struct score_kept){
        .club = (enum club_class)head.club, .has_flight = head.has_flight != 0, .seen_count = head.seen};
    if (!records_unpack(packed, head.records, &kept->measures)) {
        return false;
    }
    const char *at = packed + sizeof head + head.records * sizeof(struct record);
    for (int i = 0; i < head.seen; i++) {
        struct seen_word seen;
        memcpy(&seen, at, sizeof seen);
        at += sizeof seen;
        if (seen.fault >= FAULT_COUNT || seen.word >= SEVERITY_WORD_COUNT) {
            return false;
        }
        kept->seen[i] = (struct seen_fault){.fault = seen.fault, .word = (enum severity_word)seen.word};
    }
    const char *links = at + (kept->has_flight ? sizeof(struct ball) : 0);
    out->whole = rest_unpack(packed, size, head_size(&head), out);
    return (!kept->has_flight || ball_unpack(at, &kept->flight)) && links_unpack(links, head.links, &kept->measures);
}

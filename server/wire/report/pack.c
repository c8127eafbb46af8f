/* See report_pack.h. A head (the catalogue's mark, whether it is a report, the class of club), then one record for each
 * measure that was observed and not guessed. */
#include "wire/report/pack.h"

#include <stdatomic.h>
#include <stdint.h>
#include <string.h>

#include "wire/json/out.h"
#include "wire/report/write.h"

struct head {
    uint64_t catalogue;
    uint32_t readable, club;
};

struct record {
    uint16_t item, swings;
    uint8_t source, clipped, unused[2];
    double value, sd_random, sd_systematic;
};

_Static_assert(sizeof(struct head) == 16 && sizeof(struct record) == 32, "no bytes that nobody wrote");

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
    const double one = 1.5;
    mark = mix(0xcbf29ce484222325U, &one, sizeof one);
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
    mark = mark == 0 ? 1 : mark;
    atomic_store_explicit(&known, mark, memory_order_relaxed);
    return mark;
}

/* ---- packing ---- */

static char *pack(const struct report_pick picks[MEASURE_COUNT], bool readable, enum club_class club,
                  struct arena *arena, size_t *size)
{
    const struct head head = {.catalogue = catalogue_mark(), .readable = readable, .club = (uint32_t)club};
    char *packed = arena_take(arena, sizeof head + MEASURE_COUNT * sizeof(struct record));
    if (packed == NULL) {
        return NULL;
    }
    char *at = packed;
    memcpy(at, &head, sizeof head);
    at += sizeof head;
    for (int i = 0; i < MEASURE_COUNT && readable; i++) {
        const struct measure *measure = &picks[i].measure;
        if (measure->observed) {
            const struct record record = {.item = (uint16_t)i,
                                          .swings = (uint16_t)picks[i].swings,
                                          .source = (uint8_t)measure->source,
                                          .clipped = measure->clipped,
                                          .value = measure->value,
                                          .sd_random = measure->sd_random,
                                          .sd_systematic = measure->sd_systematic};
            memcpy(at, &record, sizeof record);
            at += sizeof record;
        }
    }
    *size = (size_t)(at - packed);
    return packed;
}

/* As it is written into the report and read again; 0 for what is written as null. */
static double as_written(double value, int decimals)
{
    double kept = 0;
    return json_out_as_read(value, decimals, &kept) ? kept : 0;
}

char *report_pack(const struct report *report, struct arena *arena, size_t *size)
{
    struct report_pick picks[MEASURE_COUNT];
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &report->measures.items[i];
        const int decimals = report_decimals((enum measure_item)i);
        const int swings = report->observed_in[i];
        double value = 0;
        picks[i] = (struct report_pick){.swings = swings < 1 ? 1 : swings > 1000 ? 1000 : swings};
        if (measure->observed && !measure->guessed && json_out_as_read(measure->value, decimals, &value)) {
            picks[i].measure = (struct measure){.observed = true,
                                                .clipped = measure->clipped,
                                                .value = value,
                                                .sd_random = as_written(measure->sd_random, decimals + 1),
                                                .sd_systematic = as_written(measure->sd_systematic, decimals + 1),
                                                .source = measure->source};
        }
    }
    return pack(picks, true, report->player.club, arena, size);
}

char *report_pack_json(const char *json, size_t length, struct arena *arena, size_t *size)
{
    enum measure_item items[MEASURE_COUNT];
    struct report_pick picks[MEASURE_COUNT];
    enum club_class club;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        items[i] = (enum measure_item)i;
    }
    const bool readable = report_pick(json, length, items, MEASURE_COUNT, picks, &club);
    return pack(picks, readable, club, arena, size);
}

/* ---- unpacking ---- */

static void record_take(const struct record *record, struct report_pick *out)
{
    *out = (struct report_pick){.measure = {.observed = true,
                                            .clipped = record->clipped != 0,
                                            .value = record->value,
                                            .sd_random = record->sd_random,
                                            .sd_systematic = record->sd_systematic,
                                            .source = (enum measure_source)record->source},
                                .swings = record->swings};
}

enum report_unpacked report_unpack(const char *packed, size_t size, const enum measure_item *items, int count,
                                   struct report_pick *out, enum club_class *club)
{
    struct head head;
    if (packed == NULL || size < sizeof head || (size - sizeof head) % sizeof(struct record) != 0) {
        return REPORT_STALE;
    }
    memcpy(&head, packed, sizeof head);
    if (head.catalogue != catalogue_mark() || head.club >= CLUB_CLASS_COUNT) {
        return REPORT_STALE;
    }
    if (!head.readable) {
        return REPORT_UNREADABLE;
    }
    *club = (enum club_class)head.club;
    for (int i = 0; i < count; i++) {
        out[i] = (struct report_pick){.swings = 0};
    }
    for (size_t at = sizeof head; at < size; at += sizeof(struct record)) {
        struct record record;
        memcpy(&record, packed + at, sizeof record);
        if (record.source >= MEASURE_SOURCE_COUNT) {
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

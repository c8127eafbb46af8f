/* struct report -> "leadside.report/1" (docs: the report is what the server stores, and what pages and tablets show).
 * Angles in degrees, lengths in metres, weight in per cent. sd fields are one standard deviation. */
#ifndef LEADSIDE_WIRE_REPORT_WRITE_H
#define LEADSIDE_WIRE_REPORT_WRITE_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "core/score.h"
#include "wire/json/out.h"

#define REPORT_SCHEMA "leadside.report/1"

struct marker_match; /* marker_map.h */

/* What a report says beside what was scored. */
struct report_context {
    enum hand hand;          /* as the player swings: sides in sentences are turned back for a left-hander */
    const char *recorded_at; /* RFC 3339, NULL = not said */
    int64_t standard_number; /* the store's; 0 = none */
    int age_years;           /* < 0: unknown */
    unsigned pain;           /* enum area bits */
    /* Of each swing, what became of its file's markers: NULL entries for documents; NULL = none came as a marker file.
     */
    const struct marker_match *const *markers;
    const char *const *notes; /* further sentences; may be NULL */
    int note_count;
};

/* In the arena; NULL when memory is short. drills are those given to score_swings. */
char *report_write(const struct report *report, const struct standard *standard, const struct drill *drills,
                   int drill_count, const struct report_context *context, struct arena *arena, size_t *length)
    __attribute__((warn_unused_result));

/* Decimals that a measure's value is written with; its errors have one more. */
int report_decimals(enum measure_item item);
/* A range's two limits as an array, null where there is none on that side. */
void report_limits_write(struct json_out *out, const char *key, struct maybe low, struct maybe high);

#endif

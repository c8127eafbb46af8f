/* A report's measures as a few hundred bytes, so that a hundred reports can be set side by side without reading their
 * JSON: exactly the numbers that report_pick takes out of it; and, of one swing, all that it takes to judge it again.
 * Bytes of another catalogue of measures, or of another kind of machine, are told as stale; they are then made anew
 * from the report. */
#ifndef LEADSIDE_WIRE_REPORT_PACK_H
#define LEADSIDE_WIRE_REPORT_PACK_H

#include "base/arena.h"
#include "core/score.h"
#include "wire/report/pick.h"
#include "wire/report/write.h"

/* In the arena; NULL when memory is short. swing: the one that the report is on, NULL = it is on several; context: what
 * the report was written with. */
char *report_pack(const struct report *report, const struct swing *swing, const struct report_context *context,
                  struct arena *arena, size_t *size) __attribute__((warn_unused_result));
/* The same from a stored report's text, which does not tell enough to judge again. Text that is no report is packed
 * too, and told as such. */
char *report_pack_json(const char *json, size_t length, struct arena *arena, size_t *size)
    __attribute__((warn_unused_result));

enum report_unpacked { REPORT_UNPACKED, REPORT_UNREADABLE, REPORT_STALE };

/* As report_pick: fills one pick for each item, and club, when REPORT_UNPACKED. REPORT_UNREADABLE: report_pick would
 * give false. */
enum report_unpacked report_unpack(const char *packed, size_t size, const enum measure_item *items, int count,
                                   struct report_pick *out, enum club_class *club) __attribute__((warn_unused_result));

struct report_kept {
    struct score_kept kept;
    /* What else a report on it says is known too, and all of it was found by this very program: score_again and
     * report_write give the report that the swing's document would. Not so of a swing with motion data. */
    bool whole;
    enum hand hand;          /* of whole, like the next */
    const char *recorded_at; /* NULL = not said; in the packed bytes */
};

/* What judging the swing again takes, as it was found. False: it is not there (a report on several swings, made from
 * its text, or of another catalogue). */
bool report_unpack_kept(const char *packed, size_t size, struct report_kept *out) __attribute__((warn_unused_result));

#endif

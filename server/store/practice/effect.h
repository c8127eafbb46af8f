/* What became of a fault after a drill, and swings that were repeated: by the numbers of their reports. */
#ifndef LEADSIDE_STORE_PRACTICE_EFFECT_H
#define LEADSIDE_STORE_PRACTICE_EFFECT_H

#include "store/engine/store.h"

struct store_effect {
    char student_id[UUID_TEXT];
    const char *fault;
    int64_t done;          /* how often it was ticked off */
    int64_t before, after; /* numbers of reports; 0 = there is none */
};

struct store_effect_list {
    struct store_effect *items; /* newest first */
    size_t count;
    bool more;
};

#define STORE_EFFECTS_MAX 2000

/* Each homework of the drill, given from page->from to page->to. */
enum store_status store_effect_list(struct store_db *db, const char *drill_id, const struct store_page *page,
                                    int64_t now, struct arena *arena, struct store_effect_list *out) STORE_CHECKED;

struct store_report_numbers {
    int64_t *items;
    size_t count;
    bool more;
};

/* Reports of the first `repeats` swings of the student's newest lesson that has so many; none: an empty list. */
enum store_status store_effect_repeats(struct store_db *db, const char *student_id, int repeats, struct arena *arena,
                                       struct store_report_numbers *out) STORE_CHECKED;

/* What is kept beside a report (store_measures_put). STORE_NOT_FOUND: nothing yet. */
enum store_status store_effect_measures(struct store_db *db, int64_t report, struct arena *arena, const char **packed,
                                        size_t *size) STORE_CHECKED;

#endif

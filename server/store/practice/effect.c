/* See effect.h. */
#include "store/practice/effect.h"

#include "store/engine/query.h"

static void read_effect(struct query *query, struct arena *arena, void *item)
{
    struct store_effect *out = item;
    *out = (struct store_effect){.fault = query_get_text(query, 1, arena),
                                 .done = query_get_integer(query, 2),
                                 .before = query_get_integer(query, 3),
                                 .after = query_get_integer(query, 4)};
    query_get_id(query, 0, out->student_id, sizeof out->student_id);
}

enum store_status store_effect_list(struct store_db *db, const char *drill_id, const struct store_page *page,
                                    int64_t now, struct arena *arena, struct store_effect_list *out)
{
    struct query query;
    query_open(&query, db, EFFECT_OF_DRILL);
    query_text(&query, 1, drill_id);
    query_page_times(&query, 2, page);
    query_integer(&query, 4, now);
    query_integer(&query, 5, STORE_EFFECTS_MAX + 1);
    return query_list(&query, arena, STORE_EFFECTS_MAX, read_effect, out);
}

static void read_number(struct query *query, struct arena *arena, void *item)
{
    int64_t *out = item;
    (void)arena;
    *out = query_get_integer(query, 0);
}

enum store_status store_effect_repeats(struct store_db *db, const char *student_id, int repeats, struct arena *arena,
                                       struct store_report_numbers *out)
{
    struct query query;
    query_open(&query, db, EFFECT_REPEATS);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, repeats);
    return query_list(&query, arena, repeats, read_number, out);
}

enum store_status store_effect_measures(struct store_db *db, int64_t report, struct arena *arena, const char **packed,
                                        size_t *size)
{
    struct query query;
    query_open(&query, db, EFFECT_MEASURES);
    query_integer(&query, 1, report);
    return query_one_bytes(&query, arena, packed, size);
}

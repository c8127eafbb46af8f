/* See figures.h. */
#include "store/club/figures.h"

#include "store/engine/query.h"

#define ROWS_MAX 100000
/* How much later than its time a row may be written. */
#define WRITTEN_WITHIN_MS INT64_C(3600000)

static void read_figure(struct query *query, struct arena *arena, void *item)
{
    struct store_figure *out = item;
    *out = (struct store_figure){.count = query_get_integer(query, 3)};
    query_get_id(query, 0, out->key, sizeof out->key);
    out->what = query_get_text(query, 1, arena);
    out->fault = query_get_text(query, 2, arena);
}

enum store_status store_figures(struct store_db *db, int64_t from, int64_t to, enum store_figures_by by,
                                struct arena *arena, struct store_figure_list *out)
{
    struct query query;
    char least[UUID_TEXT];
    char end[UUID_TEXT];
    uuid7_least(from, least);
    uuid7_least(to + WRITTEN_WITHIN_MS, end);
    query_open(&query, db, FIGURES_OF);
    query_integer(&query, 1, from);
    query_integer(&query, 2, to);
    query_integer(&query, 3, by);
    query_text(&query, 4, least);
    query_text(&query, 5, end);
    return query_list(&query, arena, ROWS_MAX, read_figure, out);
}

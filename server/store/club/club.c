/* The club's own row. */
#include "store/club/club.h"

#include "store/engine/query.h"

static void read_club(struct query *query, struct arena *arena, void *item)
{
    struct store_club *out = item;
    *out = (struct store_club){
        .name = query_get_text(query, 0, arena),
        .notes = query_get_text(query, 1, arena),
        .settings = query_get_text(query, 2, arena),
        .created = query_get_integer(query, 3),
        .version = query_get_integer(query, 4),
    };
}

enum store_status store_club_get(struct store_db *db, struct arena *arena, struct store_club *out)
{
    struct query query;
    query_open(&query, db, CLUB_GET);
    return query_one(&query, arena, read_club, out);
}

enum store_status store_club_insert(struct store_db *db, const struct store_club *club)
{
    struct query query;
    query_open(&query, db, CLUB_INSERT);
    query_text(&query, 1, club->name);
    query_text(&query, 2, club->notes);
    query_text(&query, 3, club->settings ? club->settings : "{}");
    query_integer(&query, 4, club->created);
    return query_run(&query);
}

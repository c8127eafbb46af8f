/* The club's own row. */
#include "store/club/club.h"

#include "store/engine/internal.h"

enum { GET, INSERT, UPDATE, EXISTS, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [GET] = "SELECT name, notes, settings, created, version FROM club WHERE id = 1",
    [INSERT] = "INSERT INTO club (id, name, notes, settings, created) VALUES (1, ?1, ?2, ?3, ?4)",
    [UPDATE] =
        "UPDATE club SET name = ?1, notes = ?2, settings = ?3, version = version + 1 WHERE id = 1 AND version = ?4",
    [EXISTS] = "SELECT 1 FROM club WHERE id = ?1",
};
const struct store_statements store_club_statements = {"club", sql, STATEMENTS};

enum store_status store_club_get(struct store_db *db, struct arena *arena, struct store_club *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_CLUB, GET);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *out = (struct store_club){
            .name = query_get_text(&query, 0, arena),
            .notes = query_get_text(&query, 1, arena),
            .settings = query_get_text(&query, 2, arena),
            .created = query_get_integer(&query, 3),
            .version = query_get_integer(&query, 4),
        };
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_club_insert(struct store_db *db, const struct store_club *club)
{
    struct query query;
    query_open(&query, db, STATEMENTS_CLUB, INSERT);
    query_text(&query, 1, club->name);
    query_text(&query, 2, club->notes);
    query_text(&query, 3, club->settings ? club->settings : "{}");
    query_integer(&query, 4, club->created);
    return query_run(&query);
}

enum store_status store_club_update(struct store_db *db, struct store_club *club)
{
    struct query query;
    query_open(&query, db, STATEMENTS_CLUB, UPDATE);
    query_text(&query, 1, club->name);
    query_text(&query, 2, club->notes);
    query_text(&query, 3, club->settings ? club->settings : "{}");
    query_integer(&query, 4, club->version);
    const enum store_status status = query_run_versioned(&query, STATEMENTS_CLUB, EXISTS, "1");
    club->version += status == STORE_OK;
    return status;
}

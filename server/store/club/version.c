/* Versions of what the club replaces whole. */
#include "store/club/version.h"

#include "store/engine/query.h"

static const struct {
    enum statement insert, current, number;
    int64_t shipped; /* the number in force while none is kept */
} kinds[] = {
    [STORE_STANDARD] = {VERSION_STANDARD_INSERT, VERSION_STANDARD_CURRENT, VERSION_STANDARD_NUMBER, 0},
    [STORE_MARKERS] = {VERSION_MARKERS_INSERT, VERSION_MARKERS_CURRENT, VERSION_MARKERS_NUMBER, 1},
};

enum store_status store_version_number(struct store_db *db, enum store_version_kind kind, int64_t *out)
{
    struct query query;
    query_open(&query, db, kinds[kind].number);
    const enum store_status status = query_number(&query, out);
    *out = *out != 0 ? *out : kinds[kind].shipped;
    return status;
}

enum store_status store_version_insert(struct store_db *db, enum store_version_kind kind, struct store_version *version,
                                       int64_t base)
{
    int64_t current = 0;
    const enum store_status status = store_version_number(db, kind, &current);
    if (status != STORE_OK) {
        return status;
    }
    if (base >= 0 && base != current) {
        return STORE_STALE;
    }
    struct query query;
    query_open(&query, db, kinds[kind].insert);
    query_integer(&query, 1, current + 1);
    query_text(&query, 2, version->label);
    query_id(&query, 3, version->created_by);
    query_integer(&query, 4, version->created);
    query_long_text(&query, 5, version->json, version->json_size);
    version->number = current + 1;
    return query_run(&query);
}

static void read_version(struct query *query, struct arena *arena, void *item)
{
    struct store_version *out = item;
    *out = (struct store_version){.number = query_get_integer(query, 0), .created = query_get_integer(query, 3)};
    out->label = query_get_text(query, 1, arena);
    query_get_id(query, 2, out->created_by, sizeof out->created_by);
    out->json = query_get_bytes(query, 4, arena, &out->json_size);
}

enum store_status store_version_current(struct store_db *db, enum store_version_kind kind, struct arena *arena,
                                        struct store_version *out)
{
    struct query query;
    query_open(&query, db, kinds[kind].current);
    return query_one(&query, arena, read_version, out);
}

enum store_status store_version_standard(struct store_db *db, int64_t number, struct arena *arena,
                                         struct store_version *out)
{
    struct query query;
    query_open(&query, db, VERSION_STANDARD_BY_NUMBER);
    query_integer(&query, 1, number);
    return query_one(&query, arena, read_version, out);
}

static void read_seen(struct query *query, struct arena *arena, void *item)
{
    struct store_version_seen *out = item;
    *out = (struct store_version_seen){.swings = query_get_integer(query, 5)};
    out->version.number = query_get_integer(query, 0);
    out->version.label = query_get_text(query, 1, arena);
    query_get_id(query, 2, out->version.created_by, sizeof out->version.created_by);
    out->version.created = query_get_integer(query, 3);
    out->created_by_name = query_get_text(query, 4, arena);
}

enum store_status store_version_list(struct store_db *db, struct arena *arena, struct store_version_list *out)
{
    struct query query;
    query_open(&query, db, VERSION_STANDARD_LIST);
    query_integer(&query, 1, STORE_PAGE_MAX + 1);
    return query_list(&query, arena, STORE_PAGE_MAX, read_seen, out);
}

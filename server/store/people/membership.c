/* Adding, removing, asking for and listing memberships, whichever table the statement is about. */
#include "store/people/membership.h"

static void open_between(struct query *query, struct store_db *db, enum statement statement, const char *account_id,
                         const char *student_id)
{
    query_open(query, db, statement);
    query_text(query, 1, account_id);
    query_text(query, 2, student_id);
}

enum store_status membership_add(struct store_db *db, enum statement statement, const char *account_id,
                                 const char *student_id, int64_t now)
{
    struct query query;
    open_between(&query, db, statement, account_id, student_id);
    query_integer(&query, 3, now);
    return query_run(&query);
}

enum store_status membership_remove(struct store_db *db, enum statement statement, const char *account_id,
                                    const char *student_id)
{
    struct query query;
    open_between(&query, db, statement, account_id, student_id);
    return query_run(&query);
}

enum store_status membership_may(struct store_db *db, enum statement statement, const char *account_id,
                                 const char *student_id)
{
    struct query query;
    open_between(&query, db, statement, account_id, student_id);
    return query_exists(&query);
}

enum store_status membership_list(struct store_db *db, enum statement statement, const char *id, struct arena *arena,
                                  struct store_id_list *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, id);
    query_integer(&query, 2, STORE_PAGE_MAX);
    return query_list(&query, arena, STORE_PAGE_MAX, query_read_id, out);
}

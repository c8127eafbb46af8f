/* Every statement the store can run is explained: none may read a whole table unless it says so and why. */
#include <criterion/criterion.h>

#include "store_fixture.h"

static bool reads_all(struct store_db *db, const char *statement, char *detail, size_t size)
{
    char explained[8192];
    sqlite3_stmt *plan = NULL;
    bool found = false;
    snprintf(explained, sizeof explained, "EXPLAIN QUERY PLAN %s", statement);
    cr_assert_eq(sqlite3_prepare_v2(db->handle, explained, -1, &plan, NULL), SQLITE_OK, "%s: %s", statement,
                 sqlite3_errmsg(db->handle));
    while (sqlite3_step(plan) == SQLITE_ROW) {
        const char *step = (const char *)sqlite3_column_text(plan, 3);
        /* A constant row is no table. */
        if ((strncmp(step, "SCAN", 4) == 0 && strcmp(step, "SCAN CONSTANT ROW") != 0) || strstr(step, "AUTOMATIC") ||
            strstr(step, "USE TEMP B-TREE FOR GROUP BY")) {
            snprintf(detail, size, "%s", step);
            found = true;
        }
    }
    sqlite3_finalize(plan);
    return found;
}

Test(store_plan, every_statement_goes_by_index)
{
    struct fixture fixture;
    char detail[512];
    int looked = 0;
    int whole = 0;
    fixture_open(&fixture);
    for (int i = 0; i < STATEMENT_COUNT; i++) {
        const struct statement_text *text = &store_statements[i];
        cr_assert_not_null(text->sql);
        cr_expect(text->whole || !reads_all(fixture.db, text->sql, detail, sizeof detail), "%s: %s in %s", text->name,
                  detail, text->sql);
        looked++;
        whole += text->whole != NULL;
    }
    cr_assert_gt(looked, 90);
    cr_assert_lt(whole, 30);
    fixture_close(&fixture);
}

Test(store_plan, a_statement_that_changes_gives_no_row_and_one_that_reads_changes_nothing)
{
    struct fixture fixture;
    fixture_open(&fixture);
    for (int i = 0; i < STATEMENT_COUNT; i++) {
        sqlite3_stmt *statement = NULL;
        const char *rest = NULL;
        cr_assert_eq(sqlite3_prepare_v2(fixture.db->handle, store_statements[i].sql, -1, &statement, &rest), SQLITE_OK);
        cr_expect_str_eq(rest, "", "%s is more than one statement", store_statements[i].name);
        const bool reads = sqlite3_column_count(statement) > 0;
        cr_expect_eq(reads, store_statements[i].kind != STATEMENT_EXEC, "%s", store_statements[i].name);
        cr_expect(!reads || sqlite3_stmt_readonly(statement), "%s", store_statements[i].name);
        sqlite3_finalize(statement);
    }
    fixture_close(&fixture);
}

Test(store_plan, a_statement_used_for_what_it_is_not_fails)
{
    struct fixture fixture;
    struct query query;
    fixture_open(&fixture);
    query_open(&query, fixture.db, STUDENT_EXISTS);
    query_text(&query, 1, "nobody");
    cr_assert_eq(query_run(&query), STORE_ERROR);
    query_open(&query, fixture.db, ACCOUNT_LIST);
    query_text(&query, 1, "");
    query_integer(&query, 2, 1);
    cr_assert_eq(query_exists(&query), STORE_ERROR);
    fixture_close(&fixture);
}

Test(store_plan, the_test_sees_a_scan)
{
    struct fixture fixture;
    char detail[512];
    fixture_open(&fixture);
    cr_assert(reads_all(fixture.db, "SELECT id FROM swing WHERE uploaded_by = ?1", detail, sizeof detail));
    fixture_close(&fixture);
}

Test(store_plan, every_reference_to_a_row_that_may_go_is_indexed)
{
    struct fixture fixture;
    sqlite3_stmt *missing = NULL;
    int64_t references = 0;
    fixture_open(&fixture);
    /* Standards and drills are never removed; removing anything else looks for the rows that refer to it. */
    cr_assert_eq(sqlite3_prepare_v2(fixture.db->handle,
                                    "SELECT t.name, k.\"from\" FROM sqlite_schema AS t "
                                    "JOIN pragma_foreign_key_list(t.name) AS k WHERE t.type = 'table' "
                                    "AND k.\"table\" NOT IN ('standard', 'drill') AND NOT EXISTS (SELECT 1 FROM "
                                    "pragma_index_list(t.name) AS i JOIN pragma_index_info(i.name) AS c "
                                    "WHERE c.seqno = 0 AND c.name = k.\"from\") "
                                    /* the row's own number is found without an index */
                                    "AND NOT EXISTS (SELECT 1 FROM pragma_table_info(t.name) AS c "
                                    "WHERE c.name = k.\"from\" AND c.pk = 1 AND c.type = 'INTEGER')",
                                    -1, &missing, NULL),
                 SQLITE_OK, "%s", sqlite3_errmsg(fixture.db->handle));
    while (sqlite3_step(missing) == SQLITE_ROW) {
        cr_expect(false, "%s.%s", (const char *)sqlite3_column_text(missing, 0),
                  (const char *)sqlite3_column_text(missing, 1));
    }
    sqlite3_finalize(missing);
    cr_assert_eq(store_db_number(fixture.db,
                                 "SELECT count(*) FROM sqlite_schema AS t JOIN pragma_foreign_key_list(t.name) "
                                 "WHERE t.type = 'table'",
                                 &references),
                 STORE_OK);
    cr_assert_gt(references, 20);
    fixture_close(&fixture);
}

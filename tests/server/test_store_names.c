/* Names that earlier releases wrote, in a file that this one opens. */
#include <criterion/criterion.h>

#include "store_fixture.h"

static void execute(struct store_db *db, const char *sql)
{
    cr_assert_eq(store_db_execute(db, sql), STORE_OK, "%s: %s", sql, sqlite3_errmsg(db->handle));
}

static void expect_kept(struct fixture *fixture, const char *sql, const char *expected)
{
    char question[1024];
    int64_t number = -1;
    snprintf(question, sizeof question, "SELECT count(*) FROM (%s) WHERE kept = '%s'", sql, expected);
    cr_assert_eq(store_db_number(fixture->db, question, &number), STORE_OK, "%s", sqlite3_errmsg(fixture->db->handle));
    cr_assert_eq(number, 1, "%s: %s", sql, expected);
}

/* A file of the first release: names change where the program reads them, in a standard with any spacing, and nowhere
 * in a text that somebody wrote. */
Test(store_names, old_names_become_new_ones_and_what_people_wrote_stays)
{
    struct fixture fixture;
    size_t before = 0;
    fixture_directory(&fixture);
    fixture.db = store_db_open(fixture.path, STORE_OPEN_WRITER, 1000, fixture.error, sizeof fixture.error);
    cr_assert_not_null(fixture.db, "%s", fixture.error);
    while (before < embedded_migrations_count && strncmp(embedded_migrations[before].name, "0011", 4) < 0) {
        before++;
    }
    cr_assert_eq(store_migrate(fixture.db, embedded_migrations, before, fixture.error, sizeof fixture.error), STORE_OK,
                 "%s", fixture.error);
    execute(
        fixture.db,
        "INSERT INTO student (id, name, hand, tendencies, created) VALUES ('01900000-0000-7000-8000-000000000001', "
        "'sway', 'right', 'sway', 1);"
        "INSERT INTO note (id, student_id, author, text, readers, created) VALUES "
        "('01900000-0000-7000-8000-00000000000d', '01900000-0000-7000-8000-000000000001', 'x', 'sway', 0, 1);"
        "INSERT INTO standard (number, label, created, json) VALUES (1, 'sway', 1, '{\"version\": \"sway\", "
        "\"ranges\" : [{\"measure\" :\n\"shaft_plan\",\"ok_low\": -6.50, \"source\": \"shaft_plan\"}, {\"measure\": "
        "\"pelvis_thrust\"}], \"causes\": [{\"from\": \"sway\", \"to\": \"flat_shoulder_turn\"}]}');"
        "INSERT INTO drill (id, name, built_in, created, json) VALUES ('sway', 'sway', 0, 1, "
        "'{\"faults\":[\"standing_up\",\"sway\"],\"how_to\":\"sway\"}'), ('other', 'Other', 0, 1, '{ }');"
        "INSERT INTO fix (id, student_id, fault, place, opened_by, opened_at, status, reason) VALUES "
        "('01900000-0000-7000-8000-00000000000a', '01900000-0000-7000-8000-000000000001', 'sway', 1, 'x', 10, "
        "'open', 'sway');"
        "INSERT INTO swing (id, student_id, uploaded_by, recorded_at, received_at, document_hash, document_size, "
        "document) VALUES ('01900000-0000-7000-8000-00000000000b', '01900000-0000-7000-8000-000000000001', 'x', 1, "
        "2, zeroblob(32), 16, CAST('{\"fault\":\"sway\"}' AS BLOB));"
        "INSERT INTO report (number, id, swing_id, standard, created, json) VALUES (1, "
        "'01900000-0000-7000-8000-00000000000c', '01900000-0000-7000-8000-00000000000b', 1, 3, "
        "'{\"fault\":\"sway\",\"signs\":[{\"measure\":\"pelvis_thrust\"}],\"notes\":[\"sway\",\"\\\"fault\\\":\\\"sway"
        "\\\"\"]}');"
        "INSERT INTO idempotency (principal, key, route, body_hash, status, created, response) VALUES ('x', 'k', "
        "'POST', zeroblob(32), 201, 1, '{\"fault\":\"flat_shoulder_turn\",\"reason\":\"sway\"}')");
    cr_assert_eq(
        store_migrate(fixture.db, embedded_migrations, embedded_migrations_count, fixture.error, sizeof fixture.error),
        STORE_OK, "%s", fixture.error);
    expect_kept(&fixture, "SELECT fault || ' ' || reason AS kept FROM fix", "hips_slide_away sway");
    expect_kept(&fixture, "SELECT name || ' ' || tendencies AS kept FROM student", "sway sway");
    expect_kept(&fixture, "SELECT text AS kept FROM note", "sway");
    expect_kept(&fixture, "SELECT label || ' ' || json AS kept FROM standard",
                "sway {\"version\":\"sway\",\"ranges\":[{\"measure\":\"shaft_direction\",\"ok_low\":-6.50,\"source\":"
                "\"shaft_plan\"},{\"measure\":\"hips_to_ball\"}],\"causes\":[{\"from\":\"hips_slide_away\",\"to\":"
                "\"level_shoulders\"}]}");
    expect_kept(&fixture, "SELECT id || ' ' || name || ' ' || json AS kept FROM drill WHERE id = 'sway'",
                "sway sway {\"faults\":[\"standing_up\",\"hips_slide_away\"],\"how_to\":\"sway\"}");
    expect_kept(&fixture, "SELECT json AS kept FROM drill WHERE id = 'other'", "{ }");
    expect_kept(&fixture, "SELECT CAST(document AS TEXT) AS kept FROM swing", "{\"fault\":\"sway\"}");
    expect_kept(
        &fixture, "SELECT json AS kept FROM report",
        "{\"fault\":\"hips_slide_away\",\"signs\":[{\"measure\":\"hips_to_ball\"}],\"notes\":[\"sway\",\"\\\"fault"
        "\\\":\\\"sway\\\"\"]}");
    expect_kept(&fixture, "SELECT response AS kept FROM idempotency",
                "{\"fault\":\"level_shoulders\",\"reason\":\"sway\"}");
    fixture_close(&fixture);
}

/* What is counted of each coach when it changes is what can be counted anew, after whatever was done in any order; and
 * lists that go by an index of names find what the names themselves say. */
#include <criterion/criterion.h>

#include "store/club/overview.h"
#include "store/engine/query.h"
#include "store_fixture.h"

#define COACHES 4
#define STUDENTS 10
#define DEEDS 3000
#define WEEK (7 * 24 * HOUR)

/* What the head is told, each coach a line, out of the rows themselves. */
#define COUNTED                                                                                                        \
    "SELECT group_concat(line, char(10)) FROM (SELECT a.id || ' ' || (SELECT count(*) FROM team t JOIN student s ON "  \
    "s.id = t.student_id WHERE t.account_id = a.id AND s.archived IS NULL) || ' ' || (SELECT count(*) FROM team t "    \
    "JOIN student s ON s.id = t.student_id WHERE t.account_id = a.id AND s.archived IS NULL AND NOT EXISTS (SELECT 1 " \
    "FROM fix f WHERE f.student_id = s.id AND f.status = 'open')) || ' ' || (SELECT count(*) FROM team t JOIN "        \
    "homework h ON h.student_id = t.student_id JOIN homework_done d ON d.homework_id = h.id WHERE t.account_id = "     \
    "a.id AND (d.pain_area IS NULL OR d.passed IS NOT NULL) AND d.done_at >= ?1) AS line FROM account a WHERE a.role " \
    "IN ('head', 'coach') ORDER BY a.role, a.id)"

struct club {
    struct fixture fixture;
    char coaches[COACHES][UUID_TEXT], students[STUDENTS][UUID_TEXT];
    unsigned random, told;
    bool older; /* of a time when pain alone was a session too */
};

static unsigned lot(struct club *club, unsigned below)
{
    club->random = club->random * 1664525u + 1013904223u;
    return (club->random >> 8) % below;
}

static void run(struct store_db *db, const char *sql)
{
    cr_assert_eq(store_db_execute(db, sql), STORE_OK, "%s: %s", sql, sqlite3_errmsg(db->handle));
}

static int64_t week_start(int64_t at)
{
    const int64_t days = at / (24 * HOUR); /* as homework_week_start */
    return (days - (days + 3) % 7) * 24 * HOUR;
}

static void expect_true(struct club *club, int64_t since, int deed)
{
    struct store_coach_rows rows;
    sqlite3_stmt *counted = NULL;
    char told[2048] = "";
    size_t length = 0;
    cr_assert_eq(store_overview_coaches(club->fixture.db, since, club->fixture.arena, &rows), STORE_OK);
    for (size_t i = 0; i < rows.count; i++) {
        length +=
            (size_t)snprintf(told + length, sizeof told - length, "%s%s %lld %lld %lld", i > 0 ? "\n" : "",
                             rows.items[i].account_id, (long long)rows.items[i].students,
                             (long long)rows.items[i].students_without_fix, (long long)rows.items[i].homework_done);
    }
    cr_assert_eq(sqlite3_prepare_v2(club->fixture.db->handle, COUNTED, -1, &counted, NULL), SQLITE_OK);
    sqlite3_bind_int64(counted, 1, since);
    cr_assert_eq(sqlite3_step(counted), SQLITE_ROW);
    cr_assert_str_eq(told, (const char *)sqlite3_column_text(counted, 0), "after deed %d", deed);
    sqlite3_finalize(counted);
}

static void some(struct club *club, const char *sql)
{
    char text[512];
    snprintf(text, sizeof text, sql, lot(club, 1000000));
    run(club->fixture.db, text);
}

static void fix_deed(struct club *club, const char *student, const char *coach)
{
    static const char *const faults[] = {"standing_up", "hips_slide_away", "chicken_wing"};
    char id[UUID_TEXT];
    if (lot(club, 2) == 0) {
        (void)make_fix(club->fixture.db, student, coach, faults[lot(club, 3)], id); /* two at most; not twice */
    } else if (lot(club, 2) == 0) {
        some(club,
             "UPDATE fix SET status = 'closed', ended_at = 1 WHERE id = (SELECT id FROM fix WHERE status = 'open' "
             "ORDER BY id LIMIT 1 OFFSET %u %% (SELECT max(1, count(*)) FROM fix WHERE status = 'open'))");
    } else {
        some(club, "UPDATE OR IGNORE fix SET status = 'open', ended_at = NULL WHERE id = (SELECT id FROM fix WHERE "
                   "status <> 'open' ORDER BY id LIMIT 1 OFFSET %u %% (SELECT max(1, count(*)) FROM fix WHERE status "
                   "<> 'open'))");
    }
}

static void tick_deed(struct club *club, const char *student, const char *coach)
{
    const bool pain = !club->older && ++club->told % 4 == 0; /* told of pain alone: no session */
    char text[640];
    char id[UUID_TEXT];
    snprintf(text, sizeof text, "SELECT count(*) FROM fix WHERE student_id = '%s' AND status = 'open'", student);
    int64_t open = 0;
    cr_assert_eq(store_db_number(club->fixture.db, text, &open), STORE_OK);
    if (open > 0) {
        sqlite3_stmt *first = NULL;
        char fix[UUID_TEXT];
        snprintf(text, sizeof text, "SELECT id FROM fix WHERE student_id = '%s' AND status = 'open'", student);
        cr_assert_eq(sqlite3_prepare_v2(club->fixture.db->handle, text, -1, &first, NULL), SQLITE_OK);
        cr_assert_eq(sqlite3_step(first), SQLITE_ROW);
        snprintf(fix, sizeof fix, "%s", (const char *)sqlite3_column_text(first, 0));
        sqlite3_finalize(first);
        (void)make_homework(club->fixture.db, student, fix, coach, "a-drill", id); /* once */
    }
    uuid7_new(id);
    snprintf(
        text, sizeof text,
        "INSERT INTO homework_done (id, homework_id, done_at%s) SELECT '%s', id, %lld%s FROM homework WHERE student_id "
        "= '%s' LIMIT 1",
        pain ? ", pain_area, pain_level" : "", id, (long long)(NOW - lot(club, 30) * (WEEK / 7) - lot(club, 1000000)),
        pain ? ", 1, 3" : "", student);
    run(club->fixture.db, text);
}

static void deed(struct club *club)
{
    struct store_db *db = club->fixture.db;
    char *const student = club->students[lot(club, STUDENTS)];
    char *const coach = club->coaches[lot(club, COACHES)];
    char text[256];
    const unsigned what = lot(club, 100);
    if (what < 20) {
        cr_assert_eq(store_team_add(db, student, coach, NOW), STORE_OK); /* once more is nothing */
    } else if (what < 32) {
        cr_assert_eq(store_team_remove(db, student, coach), STORE_OK);
    } else if (what < 55) {
        fix_deed(club, student, coach);
    } else if (what < 85) {
        tick_deed(club, student, coach);
    } else if (what < 92) {
        snprintf(text, sizeof text, "UPDATE student SET archived = iif(archived IS NULL, 5, NULL) WHERE id = '%s'",
                 student);
        run(db, text);
    } else if (what < 94) {
        some(club,
             "DELETE FROM homework_done WHERE id = (SELECT id FROM homework_done ORDER BY id LIMIT 1 OFFSET %u %% "
             "(SELECT max(1, count(*)) FROM homework_done))");
    } else if (what < 95) {
        some(club, "DELETE FROM fix WHERE id = (SELECT id FROM fix ORDER BY id LIMIT 1 OFFSET %u %% (SELECT max(1, "
                   "count(*)) FROM fix))");
    } else if (what < 99) {
        cr_assert_eq(store_student_erase(db, student), STORE_OK);
        cr_assert_eq(make_student(db, "Another", student), STORE_OK);
    } else {
        static unsigned number;
        snprintf(text, sizeof text, "another%u", number++);
        cr_assert_eq(store_account_erase(db, coach), STORE_OK);
        cr_assert_eq(make_account(db, STORE_COACH, text, "", coach), STORE_OK);
    }
}

static void club_open(struct club *club)
{
    fixture_open(&club->fixture);
    for (int i = 0; i < COACHES; i++) {
        char sign_in[16];
        snprintf(sign_in, sizeof sign_in, "coach%d", i);
        cr_assert_eq(make_account(club->fixture.db, i == 0 ? STORE_HEAD : STORE_COACH, sign_in, "", club->coaches[i]),
                     STORE_OK);
    }
    for (int i = 0; i < STUDENTS; i++) {
        cr_assert_eq(make_student(club->fixture.db, "Somebody", club->students[i]), STORE_OK);
    }
    cr_assert_eq(make_drill(club->fixture.db, "a-drill"), STORE_OK);
}

Test(store_tally, is_true_after_whatever_was_done)
{
    struct club club = {.random = 11};
    int64_t ticks = 0;
    club_open(&club);
    for (int i = 0; i < DEEDS; i++) {
        deed(&club);
        arena_free(club.fixture.arena);
        club.fixture.arena = arena_new(0);
        expect_true(&club, week_start(NOW) - lot(&club, 4) * WEEK, i);
    }
    cr_assert_eq(store_db_number(club.fixture.db, "SELECT sum(ticks) FROM coach_week", &ticks), STORE_OK);
    cr_expect_gt(ticks, 20, "something was counted");
    struct query wrong;
    query_open(&wrong, club.fixture.db, CHECK_TALLY); /* `leadside check` counts anew too, and finds no difference */
    cr_assert_eq(query_row(&wrong), STORE_NOT_FOUND);
    query_close(&wrong);
    fixture_close(&club.fixture);
}

/* A file of before, with everything in it, counts the same when it is brought up to date. */
Test(store_tally, an_older_file_is_counted_once)
{
    struct club club = {.random = 12, .older = true};
    club_open(&club);
    for (int i = 0; i < 400; i++) {
        deed(&club);
    }
    run(club.fixture.db, "DROP INDEX student_listed; DROP INDEX account_listed; DROP TRIGGER team_joined; DROP TRIGGER "
                         "team_left; DROP TRIGGER student_goes; DROP TRIGGER homework_goes; DROP TRIGGER "
                         "student_archived; DROP TRIGGER fix_opened; DROP TRIGGER fix_turned; DROP TRIGGER fix_gone; "
                         "DROP TRIGGER homework_ticked; DROP TRIGGER homework_unticked; DROP TABLE coach_tally; DROP "
                         "TABLE coach_week");
    for (size_t i = 0; i < embedded_migrations_count; i++) {
        if (strstr(embedded_migrations[i].name, "large_club") != NULL) {
            run(club.fixture.db, (const char *)embedded_migrations[i].data);
        }
    }
    expect_true(&club, week_start(NOW), 0);
    expect_true(&club, 0, 0);
    fixture_close(&club.fixture);
}

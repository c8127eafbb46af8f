/* Erased means gone: after each of many erasures in a club that is being read and written, nothing of the student's is
 * left in any file of the directory, neither in a row nor as an old copy inside a page or the log. */
#include <criterion/criterion.h>
#include <pthread.h>
#include <sodium.h>
#include <stdatomic.h>
#include <sys/stat.h>

#include "store/engine/check.h"
#include "store/engine/ledger.h"
#include "store/open.h"
#include "store_fixture.h"

#ifdef TESTS_SANITIZED /* four times as slow; the same code is tried longer without */
#define ERASURES 80
#else
#define ERASURES 240
#endif
#define LIVING 60 /* students with data at any time */
#define MARK 33

struct person {
    char student[UUID_TEXT], mark[MARK];
};

static char coach[UUID_TEXT];

static void new_mark(char mark[MARK])
{
    unsigned char bytes[16];
    randombytes_buf(bytes, sizeof bytes);
    (void)sodium_bin2hex(mark, MARK, bytes, sizeof bytes);
}

static enum store_status sql(struct store_db *db, const char *format, ...) __attribute__((format(printf, 2, 3)));

static enum store_status sql(struct store_db *db, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = sqlite3_vmprintf(format, arguments);
    va_end(arguments);
    const enum store_status status = store_db_execute(db, text);
    if (status != STORE_OK) {
        fprintf(stderr, "%s: %s\n", text, sqlite3_errmsg(db->handle));
    }
    sqlite3_free(text);
    return status;
}

static int filler(void)
{
    return (int)randombytes_uniform(5) == 0 ? 6000 + (int)randombytes_uniform(9000) : (int)randombytes_uniform(900);
}

/* What coaches tell each other of a student. */
static enum store_status furnish_shared(struct store_db *db, const struct person *person, const char *swing,
                                        const char *fix, const char *homework)
{
    const char *student = person->student;
    const char *mark = person->mark;
    char id[UUID_TEXT];
    uuid7_new(id);
    return sql(
        db,
        "UPDATE fix SET overrule = 'all the same %s', conflicts = '[%s]' WHERE id = '%s';"
        "UPDATE homework SET resumed_at = 1, resumed_by = '%s', resumed_reason = 'fine again %s' WHERE id = '%s';"
        "INSERT INTO fix_event (fix_id, at, account_id, status, reason) VALUES ('%s', 1, '%s', 'open', 'so %s');"
        "INSERT INTO handover (id, student_id, from_id, to_id, note, stays, created, status, answered_by, "
        "answered_at, reason) VALUES ('%s', '%s', '%s', 'x', 'to you %s', 0, 1, 'declined', 'x', 1, 'no %s');"
        "INSERT INTO retest (id, student_id, fix_id, begun_at, due_at, planned_by, moved_by, moved_at, "
        "moved_reason) VALUES ('%s', '%s', '%s', 1, 2, '%s', '%s', 1, 'later %s');"
        "INSERT INTO look (id, swing_id, account_id, created, json, changed_at, later) VALUES ('%s', '%s', '%s', "
        "1, '{\"%s\"}', 1, '{\"%s\"}');"
        "INSERT INTO consent_request (id, student_id, scope, note, asked_by, asked_at) VALUES ('%s', '%s', "
        "'teach_with', 'may we %s', '%s', 1);"
        "INSERT INTO inbox (id, student_id, kind, urgent, head, created, by_id, handover_id) VALUES ('%s', "
        "'%s', 'handover', 0, 0, 1, 'by %s', '%s');"
        "INSERT INTO round (id, student_id, made_by, played_at, created, holes, count, shots) VALUES ('%s', '%s', "
        "'%s', "
        "1, 1, 1, 1, '[\"%s\"]');"
        "INSERT OR REPLACE INTO report_measures (report, packed) SELECT number, CAST('%s' AS BLOB) FROM report "
        "WHERE swing_id = '%s'",
        mark, mark, fix, coach, mark, homework, fix, coach, mark, id, student, coach, mark, mark, id, student, fix,
        coach, coach, mark, id, swing, coach, mark, mark, id, student, mark, coach, id, student, mark, id, id, student,
        coach, mark, mark, swing);
}

/* Rows of every kind that hold something of a student, the mark in each. */
static enum store_status furnish(struct store_db *db, const struct person *person)
{
    char account[UUID_TEXT], guardian[UUID_TEXT], lesson[UUID_TEXT], swing[UUID_TEXT], fix[UUID_TEXT],
        homework[UUID_TEXT], id[UUID_TEXT];
    const char *student = person->student;
    const char *mark = person->mark;
    enum store_status status = STORE_OK;
    char *const ids[] = {account, guardian, lesson, swing, fix, homework, id};
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
        uuid7_new(ids[i]);
    }
    status = sql(db,
                 "INSERT INTO student (id, name, hand, tendencies, pain, pain_note, wants, junior, created) "
                 "VALUES ('%s', 'name %s', 'right', 'tends %s', 1, 'hurts %s', 'wants %s', 1, 1);"
                 "INSERT INTO consent (id, student_id, scope, as_junior, said_by, given_at) "
                 "VALUES ('%s', '%s', 'store_pictures', 1, 'by %s', 1)",
                 student, mark, mark, mark, mark, student, student, mark);
    for (int kind = 0; kind < 2 && status == STORE_OK; kind++) {
        status = sql(db,
                     "INSERT INTO account (id, role, name, sign_in, sign_in_key, student_id, created) VALUES "
                     "('%s', '%s', 'name %s', 'sign %d %s', 'key %d %s', %s%s%s, 1)",
                     kind ? guardian : account, kind ? "guardian" : "student", mark, kind, mark, kind, mark,
                     kind ? "NULL" : "'", kind ? "" : student, kind ? "" : "'");
    }
    status = status != STORE_OK
                 ? status
                 : sql(db, "INSERT INTO guardian VALUES ('%s', '%s', 1); INSERT INTO team VALUES ('%s', '%s', 1)",
                       guardian, student, coach, student);
    status = status != STORE_OK ? status
                                : sql(db,
                                      "INSERT INTO lesson (id, student_id, coach, held_at, created, note) VALUES "
                                      "('%s', '%s', '%s', 1, 1, 'lesson %s')",
                                      lesson, student, coach, mark);
    for (int i = 0; i < 3 && status == STORE_OK; i++) {
        const int size = filler();
        uuid7_new(swing);
        status = sql(
            db,
            "INSERT INTO swing (id, student_id, lesson_id, uploaded_by, recorded_at, received_at, document_hash, "
            "document_size, document) SELECT '%s', '%s', '%s', '%s', 1, 1, zeroblob(32), length(d), CAST(d AS BLOB) "
            "FROM (SELECT '%s' || hex(zeroblob(%d)) || '%s' AS d);"
            "INSERT INTO report (id, swing_id, standard, created, json) VALUES ('%s', '%s', 1, 1, "
            "'%s' || hex(zeroblob(%d)) || '%s');"
            "INSERT INTO swing_edit (swing_id, revision, revised_at, revised_by, revised_reason) VALUES ('%s', 2, 1, "
            "'%s', "
            "'why %s');"
            "INSERT INTO revision (id, swing_id, number, made_by, created, document_hash, document_size, document) "
            "SELECT "
            "'%s', '%s', 1, '%s', 1, zeroblob(32), length(d), CAST(d AS BLOB) FROM (SELECT hex(zeroblob(%d)) || '%s' "
            "AS "
            "d);"
            "INSERT INTO still (id, swing_id, view, checkpoint, media_type, width, height, put_by, created, "
            "picture_hash, picture_size, picture) SELECT '%s', '%s', 'face_on', 'top', 'image/png', 1, 1, '%s', 1, "
            "zeroblob(32), length(d), CAST(d AS BLOB) FROM (SELECT hex(zeroblob(%d)) || '%s' AS d)",
            swing, student, lesson, coach, mark, size, mark, swing, swing, mark, size / 2, mark, swing, coach, mark,
            swing, swing, coach, size / 3, mark, swing, swing, coach, size, mark);
    }
    for (int i = 0; i < 3 && status == STORE_OK; i++) {
        uuid7_new(id);
        status = sql(db,
                     "INSERT INTO note (id, student_id, author, text, readers, created) VALUES "
                     "('%s', '%s', '%s', 'note %s' || hex(zeroblob(%d)), 0, 1)",
                     id, student, coach, mark, (int)randombytes_uniform(300));
    }
    status =
        status != STORE_OK
            ? status
            : sql(db,
                  "INSERT INTO fix (id, student_id, fault, place, opened_by, opened_at, status, reason) VALUES "
                  "('%s', '%s', 'hips_slide_away', 1, '%s', 1, 'open', 'because %s');"
                  "INSERT INTO homework (id, fix_id, student_id, drill_id, sessions_per_week, minutes, "
                  "self_check_every, retest_at, confirmed, assigned_by, created) VALUES ('%s', '%s', '%s', "
                  "'top-check', "
                  "1, 1, 0, 1, 'sure %s', '%s', 1);"
                  "INSERT INTO homework_done (id, homework_id, done_at, comment) VALUES ('%s', '%s', 1, 'ouch %s')",
                  fix, student, coach, mark, homework, fix, student, mark, coach, id, homework, mark);
    status = status != STORE_OK ? status : furnish_shared(db, person, swing, fix, homework);
    status =
        status != STORE_OK
            ? status
            : sql(db,
                  "INSERT INTO idempotency (principal, key, route, body_hash, status, student_id, created, response) "
                  "VALUES ('%s', '%s', 'POST', zeroblob(32), 201, '%s', 1, 'answer %s');"
                  "INSERT INTO idempotency (principal, key, route, body_hash, status, created, response) "
                  "VALUES ('%s', 'k', 'POST', zeroblob(32), 201, 1, 'own answer %s')",
                  coach, student, student, mark, account, mark);
    if (status == STORE_OK) {
        struct store_audit audit = {.at = NOW, .action = "made", .object_kind = "student", .detail = mark};
        strcpy(audit.object_id, student);
        strcpy(audit.student_id, student);
        status = store_audit_add(db, &audit);
    }
    return status;
}

static enum store_status enter(struct store_db *db, void *argument)
{
    struct person *person = argument;
    uuid7_new(person->student);
    new_mark(person->mark);
    return furnish(db, person);
}

/* Rows that move their neighbours about: they grow, shrink and come between. */
static enum store_status stir(struct store_db *db, void *argument)
{
    const struct person *person = argument;
    store_audit_waive(db);
    return sql(db,
               "UPDATE student SET wants = 'wants %s' || hex(zeroblob(%d)), version = version + 1 WHERE id = '%s';"
               "UPDATE note SET text = 'note %s' || hex(zeroblob(%d)) WHERE student_id = '%s';"
               "UPDATE handover SET note = 'to you %s' || hex(zeroblob(%d)) WHERE student_id = '%s';"
               "UPDATE report SET json = '%s' || hex(zeroblob(%d)) WHERE swing_id IN (SELECT id FROM swing "
               "WHERE student_id = '%s')",
               person->mark, filler() / 4, person->student, person->mark, filler() / 3, person->student, person->mark,
               filler() / 20, person->student, person->mark, filler(), person->student);
}

/* Every table has rows of such a person, or is known to hold nothing of students: a new one is to be thought of here.
 */
static enum store_status every_table(struct store_db *db, void *argument)
{
    static const char known[] = " club device session standard drill marker_map account_link calendar second_factor "
                                "recovery_code ended ledger running inbox_seen standard_tally standard_job ";
    sqlite3_stmt *tables = NULL;
    char text[128];
    (void)argument;
    store_audit_waive(db);
    cr_assert_eq(sqlite3_prepare_v2(db->handle,
                                    "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%'",
                                    -1, &tables, NULL),
                 SQLITE_OK);
    while (sqlite3_step(tables) == SQLITE_ROW) {
        const char *name = (const char *)sqlite3_column_text(tables, 0);
        int64_t rows = 0;
        snprintf(text, sizeof text, " %s ", name);
        const bool empty = strstr(known, text) != NULL;
        snprintf(text, sizeof text, "SELECT count(*) FROM %s", name);
        cr_assert_eq(store_db_number(db, text, &rows), STORE_OK);
        cr_assert(rows > 0 || empty, "%s has nothing of a student in this test", name);
    }
    sqlite3_finalize(tables);
    return STORE_OK;
}

static enum store_status erase(struct store_db *db, void *argument)
{
    const struct person *person = argument;
    store_audit_waive(db);
    return store_student_erase(db, person->student);
}

static enum store_status prepare(struct store_db *db, void *argument)
{
    (void)argument;
    enum store_status status = make_account(db, STORE_COACH, "coach", "", coach);
    status = status == STORE_OK ? make_standard(db, 0) : status;
    return status == STORE_OK ? make_drill(db, "top-check") : status;
}

static bool holds(const char *bytes, size_t size, const char *mark)
{
    const char *end = bytes + size;
    for (const char *at = bytes; end - at >= MARK - 1 && (at = memchr(at, mark[0], (size_t)(end - at))) != NULL; at++) {
        if (end - at >= MARK - 1 && memcmp(at, mark, MARK - 1) == 0) {
            return true;
        }
    }
    return false;
}

/* Files of the directory that hold the mark. */
static int holding(const struct fixture *fixture, const char *mark)
{
    int found = 0;
    DIR *directory = opendir(fixture->directory);
    for (struct dirent *entry; (entry = readdir(directory));) {
        char path[400];
        struct stat status;
        snprintf(path, sizeof path, "%s/%s", fixture->directory, entry->d_name);
        FILE *file = fopen(path, "rb");
        if (!file || fstat(fileno(file), &status) != 0 || !S_ISREG(status.st_mode)) {
            continue;
        }
        char *bytes = malloc((size_t)status.st_size + 1);
        const size_t size = fread(bytes, 1, (size_t)status.st_size, file);
        found += holds(bytes, size, mark);
        free(bytes);
        fclose(file);
    }
    closedir(directory);
    return found;
}

struct bustle {
    struct store *store;
    atomic_bool stop;
    atomic_int reads, writes;
};

static void *read_on(void *argument)
{
    struct bustle *bustle = argument;
    while (!atomic_load(&bustle->stop)) {
        struct arena *arena = arena_new(0);
        struct store_student_list list;
        struct store_db *db = store_reader(bustle->store);
        if (store_read_begin(db) == STORE_OK) {
            atomic_fetch_add(&bustle->reads,
                             store_student_list(db, &(struct store_page){.limit = 100}, arena, &list) == STORE_OK);
            store_read_end(db);
        }
        arena_free(arena);
        usleep(500);
    }
    return NULL;
}

static void *write_on(void *argument)
{
    struct bustle *bustle = argument;
    struct person person;
    while (!atomic_load(&bustle->stop)) {
        atomic_fetch_add(&bustle->writes, store_run(bustle->store, enter, &person) == STORE_OK &&
                                              store_run(bustle->store, stir, &person) == STORE_OK &&
                                              store_run(bustle->store, erase, &person) == STORE_OK);
        usleep(8000);
    }
    return NULL;
}

Test(store_erase, nothing_of_an_erased_student_is_left, .timeout = 300)
{
    struct fixture fixture;
    static struct person people[LIVING];
    struct bustle bustle = {0};
    pthread_t reader, writer;
    int late = 0;
    int left = 0;
    int returned = 0;
    static char erased[ERASURES][MARK];
    fixture_directory(&fixture);
    bustle.store = store_open(&(struct store_config){.directory = fixture.directory, .idle_ms = 60000}, fixture.error,
                              sizeof fixture.error);
    cr_assert_not_null(bustle.store, "%s", fixture.error);
    cr_assert_eq(store_run(bustle.store, prepare, NULL), STORE_OK);
    for (int i = 0; i < LIVING; i++) {
        cr_assert_eq(store_run(bustle.store, enter, &people[i]), STORE_OK);
    }
    cr_assert_gt(holding(&fixture, people[0].mark), 0, "the search finds what is there");
    cr_assert_eq(store_run(bustle.store, every_table, NULL), STORE_OK);
    cr_assert_eq(pthread_create(&reader, NULL, read_on, &bustle), 0);
    cr_assert_eq(pthread_create(&writer, NULL, write_on, &bustle), 0);
    for (int i = 0; i < ERASURES && left < 5; i++) {
        for (int k = 0; k < 4; k++) {
            cr_assert_eq(store_run(bustle.store, stir, &people[randombytes_uniform(LIVING)]), STORE_OK);
        }
        struct person *person = &people[randombytes_uniform(LIVING)];
        cr_assert_eq(store_run(bustle.store, erase, person), STORE_OK);
        late += holding(&fixture, person->mark) > 0;
        cr_assert_eq(store_run(bustle.store, stir, &people[randombytes_uniform(LIVING)]), STORE_OK);
        int files = holding(&fixture, person->mark);
        for (int wait = 0; files > 0 && wait < 40; wait++) {
            /* a reader was in the middle of something: the next write takes it out */
            cr_assert_eq(store_run(bustle.store, stir, &people[randombytes_uniform(LIVING)]), STORE_OK);
            files = holding(&fixture, person->mark);
        }
        left += files > 0;
        memcpy(erased[i], person->mark, MARK);
        /* a page that was kept in memory all the while must not bring an old copy back */
        for (int k = 0; i % (ERASURES / 2) == ERASURES / 2 - 1 && k <= i; k++) {
            returned += holding(&fixture, erased[k]) > 0;
        }
        cr_assert_eq(store_run(bustle.store, enter, person), STORE_OK);
    }
    atomic_store(&bustle.stop, true);
    pthread_join(reader, NULL);
    pthread_join(writer, NULL);
    fprintf(stderr,
            "%d erasures: %d with a byte left when answered, %d a moment later, %d later still; %d reads, %d other "
            "erasures\n",
            ERASURES, late, left, returned, atomic_load(&bustle.reads), atomic_load(&bustle.writes));
    cr_assert_eq(left, 0);
    cr_assert_eq(returned, 0);
    cr_assert_leq(late, ERASURES / 20);
    cr_assert_gt(atomic_load(&bustle.reads), ERASURES);
    cr_assert_gt(atomic_load(&bustle.writes), 20);
    store_close(bustle.store);
    fixture_close(&fixture);
}

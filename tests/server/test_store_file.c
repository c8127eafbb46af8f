/* The file itself: whose it is, its versions, a copy taken while it is written, planted damage found, a student
 * forgotten. */
#include <criterion/criterion.h>
#include <pthread.h>
#include <sodium.h>
#include <sys/stat.h>

#include "store/engine/check.h"
#include "store/engine/idempotency.h"
#include "store/lessons/note.h"
#include "store/open.h"
#include "store/people/export.h"
#include "store_fixture.h"

static char coach[UUID_TEXT], student[UUID_TEXT], other[UUID_TEXT], swing[UUID_TEXT], fix[UUID_TEXT],
    homework[UUID_TEXT];

static void make_true_swing(struct store_db *db, const char *of, char id[UUID_TEXT])
{
    struct store_swing row = {.recorded_at = NOW, .received_at = NOW, .document = "{\"a\":1}", .document_size = 7};
    uuid7_new(row.id);
    strcpy(id, row.id);
    strcpy(row.student_id, of);
    strcpy(row.uploaded_by, coach);
    crypto_hash_sha256(row.document_hash, (const unsigned char *)row.document, row.document_size);
    cr_assert_eq(store_swing_insert(db, &row), STORE_OK);
    cr_assert_eq(make_report(db, id, "", "{}"), STORE_OK);
}

static void keep_answer(struct store_db *db, const char *key, const char *kind, const char *id, const char *of)
{
    struct store_idempotency row = {.key = key,
                                    .route = "POST /v1/x",
                                    .status = 201,
                                    .response = "{\"name\":\"Ada\"}",
                                    .object_kind = kind,
                                    .created = NOW};
    strcpy(row.principal, coach);
    strcpy(row.object_id, id);
    strcpy(row.student_id, of);
    cr_assert_eq(store_idempotency_insert(db, &row), STORE_OK);
}

/* A small, sound club with one of everything for `student`. */
static void furnish(struct fixture *fixture)
{
    struct store_db *db = fixture->db;
    cr_assert_eq(make_account(db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_student(db, "Ada", student), STORE_OK);
    cr_assert_eq(make_student(db, "Bea", other), STORE_OK);
    cr_assert_eq(make_standard(db, 0), STORE_OK);
    cr_assert_eq(make_drill(db, "top-check"), STORE_OK);
    cr_assert_eq(store_team_add(db, student, coach, NOW), STORE_OK);
    make_true_swing(db, student, swing);
    cr_assert_eq(make_fix(db, student, coach, "hips_slide_away", fix), STORE_OK);
    cr_assert_eq(make_homework(db, student, fix, coach, "top-check", homework), STORE_OK);
    keep_answer(db, "k", "swing", swing, student);
}

static void execute(struct store_db *db, const char *sql)
{
    cr_assert_eq(store_db_execute(db, sql), STORE_OK, "%s: %s", sql, sqlite3_errmsg(db->handle));
}

static int64_t count(struct store_db *db, const char *sql)
{
    int64_t number = -1;
    cr_assert_eq(store_db_number(db, sql, &number), STORE_OK, "%s", sqlite3_errmsg(db->handle));
    return number;
}

static struct store *try_open(struct fixture *fixture)
{
    const struct store_config config = {.directory = fixture->directory};
    return store_open(&config, fixture->error, sizeof fixture->error);
}

Test(store_file, a_newer_file_is_refused_untouched)
{
    struct fixture fixture;
    fixture_open(&fixture);
    execute(fixture.db, "PRAGMA user_version = 9999");
    cr_assert_null(try_open(&fixture));
    cr_assert_not_null(strstr(fixture.error, "newer"), "%s", fixture.error);
    cr_assert_eq(count(fixture.db, "PRAGMA user_version"), 9999);
    fixture_close(&fixture);
}

Test(store_file, a_foreign_file_is_refused_untouched)
{
    struct fixture fixture;
    sqlite3 *handle;
    fixture_directory(&fixture);
    cr_assert_eq(sqlite3_open(fixture.path, &handle), SQLITE_OK);
    cr_assert_eq(sqlite3_exec(handle, "CREATE TABLE theirs (a)", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(handle);
    cr_assert_null(try_open(&fixture));
    cr_assert_not_null(strstr(fixture.error, "another program"), "%s", fixture.error);
    FILE *file = fopen(fixture.path, "rb+");
    fseek(file, 18, SEEK_SET);
    cr_assert_eq(fgetc(file), 1, "still not in WAL mode");
    rewind(file);
    fputs("this is no database at all", file);
    fclose(file);
    cr_assert_null(try_open(&fixture));
    fixture_close(&fixture);
}

Test(store_file, one_server_for_one_directory)
{
    struct fixture fixture;
    fixture_directory(&fixture);
    cr_assert_null(store_open(&(struct store_config){.directory = fixture.directory, .must_exist = true}, fixture.error,
                              sizeof fixture.error));
    struct store *first = try_open(&fixture);
    cr_assert_not_null(first);
    cr_assert_null(try_open(&fixture));
    cr_assert_not_null(strstr(fixture.error, "Another server"), "%s", fixture.error);
    struct store *command = store_open(&(struct store_config){.directory = fixture.directory, .shared = true},
                                       fixture.error, sizeof fixture.error);
    cr_assert_not_null(command, "%s", fixture.error);
    store_close(command);
    store_close(first);
    struct store *second = try_open(&fixture);
    cr_assert_not_null(second, "%s", fixture.error);
    store_close(second);
    struct stat status;
    cr_assert_eq(stat(fixture.path, &status), 0);
    cr_assert_eq(status.st_mode & 0777, 0600);
    fixture_close(&fixture);
}

Test(store_file, safeguards_are_on)
{
    struct fixture fixture;
    fixture_open(&fixture);
    cr_assert_eq(count(fixture.db, "PRAGMA synchronous"), 2);
    cr_assert_eq(count(fixture.db, "PRAGMA foreign_keys"), 1);
    cr_assert_eq(count(fixture.db, "PRAGMA trusted_schema"), 0);
    cr_assert_eq(count(fixture.db, "PRAGMA cell_size_check"), 1);
    cr_assert_eq(count(fixture.db, "PRAGMA secure_delete"), 1);
    cr_assert_eq(count(fixture.db, "PRAGMA application_id"), STORE_APPLICATION_ID);
    cr_assert_eq(count(fixture.db, "SELECT journal_mode = 'wal' FROM pragma_journal_mode"), 1);
    int64_t number;
    cr_assert_neq(store_db_number(fixture.db, "SELECT \"nosuch\"", &number), STORE_OK);
    cr_assert_neq(store_db_execute(fixture.db, "UPDATE sqlite_schema SET sql = ''"), STORE_OK);
    fixture_close(&fixture);
}

struct told {
    int count;
    char all[4096];
};

static void remember(void *context, const char *sentence)
{
    struct told *told = context;
    told->count++;
    strncat(told->all, sentence, sizeof told->all - strlen(told->all) - 2);
    strcat(told->all, "\n");
}

/* A club of the first version keeps every row, and its swings are documents. */
Test(store_file, a_file_of_the_first_version_is_brought_up)
{
    struct fixture fixture;
    fixture_directory(&fixture);
    fixture.db = store_db_open(fixture.path, STORE_OPEN_WRITER, 1000, fixture.error, sizeof fixture.error);
    cr_assert_not_null(fixture.db, "%s", fixture.error);
    cr_assert_eq(store_migrate(fixture.db, embedded_migrations, 1, fixture.error, sizeof fixture.error), STORE_OK, "%s",
                 fixture.error);
    cr_assert_eq(count(fixture.db, "PRAGMA user_version"), 1);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM pragma_table_info('swing') WHERE name = 'reading'"), 0);
    cr_assert_eq(make_account(fixture.db, STORE_COACH, "coach", "", coach), STORE_OK);
    /* as that version wrote it */
    uuid7_new(student);
    char old[1024];
    snprintf(old, sizeof old, "INSERT INTO student (id, name, hand, created) VALUES ('%s', 'Ada', 'right', 1)",
             student);
    execute(fixture.db, old);
    audit_for(fixture.db, "student", student, student);
    cr_assert_eq(make_standard(fixture.db, 0), STORE_OK);
    snprintf(old, sizeof old,
             "INSERT INTO swing (id, student_id, uploaded_by, recorded_at, received_at, document_hash, document_size, "
             "document) VALUES ('01900000-0000-7000-8000-000000000001', '%s', '%s', 1, 2, X'"
             "015abd7f5cc57a2dd94b7590f04ad8084273905ee33ec5cebeae62276a97f862', 7, CAST('{\"a\":1}' AS BLOB)); "
             "INSERT INTO report (id, swing_id, standard, created, json) VALUES "
             "('01900000-0000-7000-8000-000000000002', '01900000-0000-7000-8000-000000000001', 1, 3, '{}')",
             student, coach);
    execute(fixture.db, old);
    cr_assert_eq(
        store_migrate(fixture.db, embedded_migrations, embedded_migrations_count, fixture.error, sizeof fixture.error),
        STORE_OK, "%s", fixture.error);
    cr_assert_geq(count(fixture.db, "PRAGMA user_version"), 2);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM swing WHERE media_type = 'application/json' AND reading IS "
                                   "NULL AND document = CAST('{\"a\":1}' AS BLOB) AND recorded_at = 1"),
                 1);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM report JOIN swing ON swing.id = report.swing_id"), 1);
    struct told told = {0};
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 0, "%s%s",
                 told.all, fixture.error);
    execute(fixture.db, "DELETE FROM swing");
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM report"), 0, "reports still go with their swing");
    fixture_close(&fixture);
}

/* Two fixes at once with four drills: the older goes on, the newer waits with all it had; why a report was overruled no
 * longer stands where the family reads. */
Test(store_file, two_open_fixes_become_one_that_runs_and_one_that_waits)
{
    struct fixture fixture;
    size_t before = 0;
    char old[4096];
    fixture_directory(&fixture);
    fixture.db = store_db_open(fixture.path, STORE_OPEN_WRITER, 1000, fixture.error, sizeof fixture.error);
    cr_assert_not_null(fixture.db, "%s", fixture.error);
    while (before < embedded_migrations_count && strncmp(embedded_migrations[before].name, "0007", 4) < 0) {
        before++;
    }
    cr_assert_eq(store_migrate(fixture.db, embedded_migrations, before, fixture.error, sizeof fixture.error), STORE_OK,
                 "%s", fixture.error);
    cr_assert_eq(make_account(fixture.db, STORE_COACH, "coach", "", coach), STORE_OK);
    snprintf(
        old, sizeof old,
        "INSERT INTO student (id, name, hand, pain, created) VALUES ('01900000-0000-7000-8000-000000000001', 'Ada', "
        "'right', 32, 1);"
        "INSERT INTO drill (id, name, built_in, created, json) VALUES ('one', 'One', 1, 1, '{}'), ('two', 'Two', 1, "
        "1, '{}');"
        "INSERT INTO fix (id, student_id, fault, place, opened_by, opened_at, status, reason, overrule) VALUES "
        "('01900000-0000-7000-8000-00000000000a', '01900000-0000-7000-8000-000000000001', 'hips_slide_away', 2, '%s', "
        "10, "
        "'open', NULL, NULL), "
        "('01900000-0000-7000-8000-00000000000b', '01900000-0000-7000-8000-000000000001', 'reaching', 1, '%s', 20, "
        "'open', 'between us', 'between us');"
        "INSERT INTO fix_event (fix_id, at, account_id, status, reason) SELECT id, opened_at, opened_by, 'open', "
        "reason FROM fix;"
        "INSERT INTO homework (id, fix_id, student_id, drill_id, sessions_per_week, minutes, self_check_every, "
        "retest_at, confirmed, assigned_by, created) SELECT substr(f.id, 1, 35) || (CASE d.id WHEN 'one' THEN 1 "
        "ELSE 2 END) || '', f.id, f.student_id, d.id, 4, 8, 2, 99, CASE f.fault WHEN 'hips_slide_away' THEN 'agreed' "
        "END, "
        "f.opened_by, 10 FROM fix AS f, drill AS d WHERE f.fault = 'hips_slide_away' AND d.id = 'one' OR f.fault = "
        "'reaching' AND d.id = 'two'",
        coach, coach);
    execute(fixture.db, old);
    cr_assert_eq(
        store_migrate(fixture.db, embedded_migrations, embedded_migrations_count, fixture.error, sizeof fixture.error),
        STORE_OK, "%s", fixture.error);
    cr_assert_eq(
        count(fixture.db, "SELECT count(*) FROM fix WHERE fault = 'hips_slide_away' AND waits = 0 AND version = 1"), 1);
    cr_assert_eq(count(fixture.db,
                       "SELECT count(*) FROM fix WHERE fault = 'reaching' AND waits = 1 AND version = 2 AND "
                       "status = 'open' AND reason IS NULL AND overrule = 'between us'"),
                 1);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM fix_event WHERE reason IS NOT NULL"), 0);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM homework WHERE ended IS NULL"), 2, "nothing is lost");
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM homework WHERE word_pain = 32"), 1,
                 "a word given stays given");
    fixture_close(&fixture);
}

Test(store_file, a_failing_migration_leaves_nothing_behind)
{
    static const unsigned char good[] = "CREATE TABLE added (a) STRICT_TYPO";
    static const unsigned char half[] = "CREATE TABLE half (a INTEGER) STRICT; INSERT INTO nosuch VALUES (1);";
    static const unsigned char whole[] = "CREATE TABLE half (a INTEGER) STRICT; INSERT INTO half VALUES (1);";
    struct fixture fixture;
    fixture_open(&fixture);
    const int64_t before = count(fixture.db, "PRAGMA user_version");
    const struct embedded_file bad[] = {{.name = "9001_bad.sql", .data = half, .size = sizeof half - 1},
                                        {.name = "9002_bad.sql", .data = good, .size = sizeof good - 1}};
    cr_assert_neq(store_migrate(fixture.db, bad, 2, fixture.error, sizeof fixture.error), STORE_OK);
    cr_assert_not_null(strstr(fixture.error, "9001_bad.sql"));
    cr_assert_eq(count(fixture.db, "PRAGMA user_version"), before);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM sqlite_schema WHERE name = 'half'"), 0);
    const struct embedded_file fine[] = {{.name = "9001_fine.sql", .data = whole, .size = sizeof whole - 1}};
    cr_assert_eq(store_migrate(fixture.db, fine, 1, fixture.error, sizeof fixture.error), STORE_OK, "%s",
                 fixture.error);
    cr_assert_eq(store_migrate(fixture.db, fine, 1, fixture.error, sizeof fixture.error), STORE_OK, "once only");
    cr_assert_eq(count(fixture.db, "PRAGMA user_version"), 9001);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM half"), 1);
    const struct embedded_file disorder[] = {fine[0],
                                             {.name = "0002_late.sql", .data = whole, .size = sizeof whole - 1}};
    cr_assert_neq(store_migrate(fixture.db, disorder, 2, fixture.error, sizeof fixture.error), STORE_OK);
    fixture_close(&fixture);
}

Test(store_file, check_finds_each_planted_fault)
{
    static const struct {
        const char *damage, *expected;
    } plants[] = {
        {"SELECT 1", NULL},
        {"DELETE FROM report", "has no report"},
        {"UPDATE swing SET document = zeroblob(7)", "is not what was received"},
        {"UPDATE swing SET packed = x'00', size = 9", "is not what was received"},
        {"UPDATE report SET packed = x'00', size = 9", "is not what was kept"},
        {"INSERT INTO swing_edit (swing_id, revision, revised_at, revised_by, revised_reason) SELECT id, 2, 1, 'x', "
         "'why' "
         "FROM swing",
         "has lost a former document"},
        {"INSERT INTO revision (id, swing_id, number, made_by, created, document_hash, document_size, document) SELECT "
         "id, id, 1, 'x', 1, zeroblob(32), 2, x'7b7d' FROM swing",
         "A former document of swing"},
        {"UPDATE homework SET student_id = (SELECT max(id) FROM student)", "fix of another student"},
        {"UPDATE fix SET student_id = (SELECT max(id) FROM student), baseline_swing = (SELECT id FROM swing); "
         "UPDATE homework SET student_id = (SELECT max(id) FROM student)",
         "compared with a swing"},
        {"DELETE FROM fix_event", "no history"},
        {"UPDATE swing SET media_type = 'application/c3d', reading = 'no JSON'", "marker file of swing"},
        {"PRAGMA ignore_check_constraints = ON; UPDATE swing SET media_type = 'text/tab-separated-values'",
         "CHECK constraint failed in swing"},
        {"INSERT INTO marker_map VALUES (2, 'x', 1, '{}')", "Marker map 2"},
        {"DELETE FROM audit WHERE object_kind = 'account'", "Account "},
        {"DELETE FROM audit WHERE object_kind = 'student'", "Student "},
        {"DELETE FROM audit WHERE object_kind = 'fix'", "Fix "},
        {"UPDATE idempotency SET object_id = 'gone'", "kept answer for key k"},
        {"UPDATE student SET junior = 1", "no recorded consent"},
        {"INSERT INTO coach_tally SELECT min(id), 2, 1 FROM account WHERE true ON CONFLICT DO UPDATE SET students = "
         "students + 1",
         "What is counted of coach "},
        {"INSERT INTO coach_tally SELECT min(id), 0, 1 FROM account WHERE true ON CONFLICT DO UPDATE SET without_fix = "
         "without_fix + 1",
         "What is counted of coach "},
        {"INSERT INTO coach_week SELECT min(id), 1777852800000, 4 FROM account", "What is counted of coach "},
        {"INSERT OR IGNORE INTO team SELECT a.id, s.id, 1 FROM account a, student s; DELETE FROM coach_tally",
         "What is counted of coach "},
        {"UPDATE standard_tally SET swings = swings + 1", "What is counted of standard 1 is not"},
        {"DELETE FROM standard_tally", "What is counted of standard 1 is not"},
        {"UPDATE swing SET uploaded_by = 'ghost'", "an account that does not exist"},
        {"PRAGMA foreign_keys = OFF; DELETE FROM student", "leads nowhere"},
        {"DROP INDEX fix_open_place", "fix_open_place is missing"},
    };
    for (size_t i = 0; i < sizeof plants / sizeof plants[0]; i++) {
        struct fixture fixture;
        struct told told = {0};
        fixture_open(&fixture);
        furnish(&fixture);
        execute(fixture.db, plants[i].damage);
        const int findings = store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error);
        cr_assert_eq(findings, told.count, "%s", fixture.error);
        if (plants[i].expected) {
            cr_assert_not_null(strstr(told.all, plants[i].expected), "%s: %s", plants[i].damage, told.all);
        } else {
            cr_assert_eq(findings, 0, "%s", told.all);
        }
        fixture_close(&fixture);
    }
}

Test(store_file, check_sees_broken_pages_and_missing_files)
{
    struct fixture fixture;
    struct told told = {0};
    fixture_directory(&fixture);
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), -1);
    fixture_connect(&fixture);
    furnish(&fixture);
    store_db_close(fixture.db);
    fixture.db = NULL;
    FILE *file = fopen(fixture.path, "rb+");
    for (int page = 6; page < 40; page += 3) {
        fseek(file, page * 4096 + 1, SEEK_SET);
        fputs("\377\377\377\377\377", file);
    }
    fclose(file);
    cr_assert_gt(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 0);
    cr_assert_not_null(strstr(told.all, "damaged"), "%s", told.all);
    fixture_close(&fixture);
}

static enum store_status add_two(struct store_db *db, void *argument)
{
    char id[UUID_TEXT];
    (void)argument;
    enum store_status status = make_student(db, "First", id);
    return status == STORE_OK ? make_student(db, "Second", id) : status;
}

struct flood {
    struct store *store;
    bool stop;
    pthread_mutex_t mutex;
    int written;
};

static void *write_on(void *argument)
{
    struct flood *flood = argument;
    for (;;) {
        pthread_mutex_lock(&flood->mutex);
        const bool stop = flood->stop;
        pthread_mutex_unlock(&flood->mutex);
        if (stop) {
            return NULL;
        }
        if (store_run(flood->store, add_two, NULL) == STORE_OK) {
            pthread_mutex_lock(&flood->mutex);
            flood->written++;
            pthread_mutex_unlock(&flood->mutex);
        }
    }
}

Test(store_file, a_copy_of_a_live_file_is_one_sound_moment)
{
    struct fixture fixture;
    char copy_directory[128], copy[200];
    pthread_t thread;
    fixture_directory(&fixture);
    struct flood flood = {.store = try_open(&fixture)};
    cr_assert_not_null(flood.store);
    pthread_mutex_init(&flood.mutex, NULL);
    snprintf(copy_directory, sizeof copy_directory, "%s/copy", fixture.directory);
    snprintf(copy, sizeof copy, "%s/" STORE_FILE, copy_directory);
    cr_assert_eq(mkdir(copy_directory, 0700), 0);
    cr_assert_eq(pthread_create(&thread, NULL, write_on, &flood), 0);
    for (bool began = false; !began; usleep(10000)) { /* a slow machine may take a while to its first */
        pthread_mutex_lock(&flood.mutex);
        began = flood.written > 0;
        pthread_mutex_unlock(&flood.mutex);
    }
    for (int i = 0; i < 5; i++) {
        const enum store_status status =
            store_backup(fixture.directory, copy, NULL, fixture.error, sizeof fixture.error);
        cr_assert_eq(status, STORE_OK, "%s", fixture.error);
        struct told told = {0};
        cr_assert_eq(store_check(copy_directory, remember, &told, fixture.error, sizeof fixture.error), 0, "%s",
                     told.all);
        struct store_db *db = store_db_open(copy, STORE_OPEN_READER, 0, fixture.error, sizeof fixture.error);
        cr_assert_not_null(db);
        const int64_t students = count(db, "SELECT count(*) FROM student");
        cr_assert_gt(students, 0);
        cr_assert_eq(students % 2, 0, "no half of a job");
        store_db_close(db);
    }
    pthread_mutex_lock(&flood.mutex);
    flood.stop = true;
    pthread_mutex_unlock(&flood.mutex);
    pthread_join(thread, NULL);
    cr_assert_gt(flood.written, 0);
    cr_assert_neq(store_backup(fixture.directory, fixture.path, NULL, fixture.error, sizeof fixture.error), STORE_OK);
    cr_assert_neq(store_backup(copy, "/nonexistent/x", NULL, fixture.error, sizeof fixture.error), STORE_OK);
    store_close(flood.store);
    unlink(copy);
    rmdir(copy_directory);
    fixture_close(&fixture);
}

struct exported {
    int rows, private_notes;
    char tables[512];
};

static enum store_status take_row(void *context, const char *table, const struct store_field *fields,
                                  size_t fields_count)
{
    struct exported *exported = context;
    exported->rows++;
    cr_assert_gt(fields_count, 1);
    for (size_t i = 0; i < fields_count; i++) {
        cr_assert(!strstr(fields[i].name, "hash"));
        if (fields[i].kind == STORE_FIELD_TEXT && strstr(fields[i].text, "between coaches")) {
            exported->private_notes++;
        }
    }
    if (!strstr(exported->tables, table)) {
        strcat(exported->tables, table);
        strcat(exported->tables, " ");
    }
    return STORE_OK;
}

Test(store_file, export_gives_everything_but_private_notes)
{
    struct fixture fixture;
    struct exported own = {0};
    struct exported all = {0};
    fixture_open(&fixture);
    furnish(&fixture);
    struct store_note note = {.text = "between coaches", .created = NOW};
    uuid7_new(note.id);
    strcpy(note.student_id, student);
    strcpy(note.author, coach);
    cr_assert_eq(store_note_insert(fixture.db, &note), STORE_OK);
    cr_assert_eq(store_export_student(fixture.db, student, false, 3, take_row, &own), STORE_OK);
    cr_assert_eq(own.private_notes, 0);
    cr_assert_str_eq(own.tables, "student team swing report fix fix_event homework ");
    struct store_note family = {.text = "between coaches and guardian", .created = NOW, .readers = STORE_NOTE_GUARDIAN};
    struct exported reader = {0};
    uuid7_new(family.id);
    strcpy(family.student_id, student);
    strcpy(family.author, coach);
    cr_assert_eq(store_note_insert(fixture.db, &family), STORE_OK);
    cr_assert_eq(store_export_student(fixture.db, student, false, STORE_NOTE_STUDENT, take_row, &reader), STORE_OK);
    cr_assert_eq(reader.private_notes, 0, "a note for the guardian is not the student's");
    cr_assert_eq(store_export_student(fixture.db, student, false, STORE_NOTE_GUARDIAN, take_row, &reader), STORE_OK);
    cr_assert_eq(reader.private_notes, 1);
    cr_assert_eq(store_export_student(fixture.db, student, true, 0, take_row, &all), STORE_OK);
    cr_assert_eq(all.private_notes, 2);
    cr_assert_not_null(strstr(all.tables, "note audit idempotency"));
    cr_assert_eq(store_export_student(fixture.db, "nobody", true, 0, take_row, &all), STORE_NOT_FOUND);
    fixture_close(&fixture);
}

#define EXPORT "EXPORT_"

/* The table that a statement of the export reads, by the statement's name; NULL: another statement. */
static const char *exported_table(int statement)
{
    static char table[64];
    const char *name = store_statements[statement].name;
    if (strncmp(name, EXPORT, sizeof EXPORT - 1) != 0) {
        return NULL;
    }
    snprintf(table, sizeof table, "%s", name + sizeof EXPORT - 1);
    for (char *at = table; *at; at++) {
        *at = *at == '_' ? '_' : (char)(*at - 'A' + 'a');
    }
    return table;
}

/* Is the table read after FROM or JOIN? */
static bool reads_from(const char *sql, const char *name)
{
    const size_t length = strlen(name);
    for (const char *at = strstr(sql, name); at; at = strstr(at + 1, name)) {
        if ((at[length] == '\0' || at[length] == ' ' || at[length] == '\n' || at[length] == ')') && at - sql > 5 &&
            (strncmp(at - 5, "FROM ", 5) == 0 || strncmp(at - 5, "JOIN ", 5) == 0)) {
            return true;
        }
    }
    return false;
}

Test(store_file, the_register_names_every_table_that_holds_a_person)
{
    struct fixture fixture;
    fixture_open(&fixture);
    sqlite3_stmt *tables = NULL;
    int seen = 0;
    /* Reached from student by references, over any number of steps. */
    cr_assert_eq(
        sqlite3_prepare_v2(fixture.db->handle,
                           "WITH RECURSIVE held (name) AS (VALUES ('student') UNION SELECT s.name FROM held "
                           "JOIN sqlite_schema AS s ON s.type = 'table' JOIN pragma_foreign_key_list(s.name) AS k "
                           "ON k.\"table\" = held.name) SELECT name FROM held",
                           -1, &tables, NULL),
        SQLITE_OK, "%s", sqlite3_errmsg(fixture.db->handle));
    while (sqlite3_step(tables) == SQLITE_ROW) {
        const char *name = (const char *)sqlite3_column_text(tables, 0);
        /* picked out of reports, or counted of teams, fixes and ticks, which are exported whole */
        bool named =
            strcmp(name, "report_measures") == 0 || strcmp(name, "coach_tally") == 0 || strcmp(name, "coach_week") == 0;
        for (int i = 0; i < STATEMENT_COUNT; i++) {
            named = named || (exported_table(i) && reads_from(store_statements[i].sql, name));
        }
        cr_expect(named, "%s is not in the export", name);
        seen++;
    }
    sqlite3_finalize(tables);
    cr_assert_geq(seen, 14);
    fixture_close(&fixture);
}

/* Columns that the export leaves out, and why; every other one of an exported table must be in it. */
static const struct {
    const char *table, *column, *why;
} left_out[] = {
    {"student", "version", "counts edits"},
    {"account", "sign_in_key", "sign_in, folded"},
    {"account", "password_hash", "a secret"},
    {"account", "password_temporary", "about the password"},
    {"account", "student_id", "the student asked for"},
    {"account", "version", "counts edits"},
    {"session", "token_hash", "a secret"},
    {"session", "account_id", "the account that is there"},
    {"session", "idle_ms", "a rule, the same for all"},
    {"second_factor", "sealed", "a secret"},
    {"second_factor", "last_step", "of the secret"},
    {"consent", "student_id", "the student asked for"},
    {"guardian", "student_id", "the student asked for"},
    {"team", "student_id", "the student asked for"},
    {"handover", "student_id", "the student asked for"},
    {"handover", "version", "counts edits"},
    {"lesson", "student_id", "the student asked for"},
    {"lesson", "version", "counts edits"},
    {"swing", "student_id", "the student asked for"},
    {"swing", "document_hash", "of the document that is there"},
    {"swing", "document_size", "of the document that is there"},
    {"swing", "size", "of the document that is there"},
    {"swing", "packed", "the document is there, unpacked"},
    {"revision", "id", "swing and number name it"},
    {"revision", "report", "its id is there"},
    {"revision", "document_hash", "of the document that is there"},
    {"revision", "document_size", "of the document that is there"},
    {"revision", "size", "of the document that is there"},
    {"revision", "packed", "the document is there, unpacked"},
    {"report", "size", "of the report that is there"},
    {"report", "packed", "the report is there, unpacked"},
    {"report", "number", "an order of rows"},
    {"still", "picture_hash", "of the picture at the address that is there"},
    {"still", "picture", "at the address that is there"},
    {"fix", "student_id", "the student asked for"},
    {"fix", "place", "which of two open ones"},
    {"fix", "version", "counts edits"},
    {"fix_event", "number", "an order of rows"},
    {"homework", "student_id", "the student asked for"},
    {"homework", "version", "counts edits"},
    {"inbox", "student_id", "the student asked for"},
    {"retest", "student_id", "the student asked for"},
    {"retest", "version", "counts edits"},
    {"round", "student_id", "the student asked for"},
    {"inbox", "head", "whose list it tops"},
    {"note", "student_id", "the student asked for"},
    {"consent_request", "student_id", "the student asked for"},
    {"audit", "student_id", "the student asked for"},
    {"idempotency", "body_hash", "of what was sent"},
    {"idempotency", "object_kind", "the answer that is there says it"},
    {"idempotency", "object_id", "the answer that is there says it"},
    {"idempotency", "student_id", "the student asked for"},
    {"idempotency", "ran", "a clock of the server's own"},
    {"account_link", "token_hash", "a secret"},
    {"calendar", "token_hash", "a secret"},
};

static bool is_left_out(const char *table, const char *column)
{
    for (size_t i = 0; i < sizeof left_out / sizeof *left_out; i++) {
        if (strcmp(left_out[i].table, table) == 0 && strcmp(left_out[i].column, column) == 0) {
            return true;
        }
    }
    return false;
}

/* Does the statement that reads the table in the export give a column of that name, or of that name and "_json"? A
 * document is there as document_json or as file. */
static bool is_exported(struct fixture *fixture, int statement, const char *column)
{
    sqlite3_stmt *read = NULL;
    char json[80];
    bool found = false;
    snprintf(json, sizeof json, "%s_json", strcmp(column, "json") == 0 ? "" : column);
    cr_assert_eq(sqlite3_prepare_v2(fixture->db->handle, store_statements[statement].sql, -1, &read, NULL), SQLITE_OK,
                 "%s", sqlite3_errmsg(fixture->db->handle));
    for (int i = 0; i < sqlite3_column_count(read) && !found; i++) {
        const char *name = sqlite3_column_name(read, i);
        const size_t length = strlen(name);
        found = strcmp(name, column) == 0 || strcmp(name, json) == 0 ||
                (strcmp(column, "json") == 0 && length > 5 && strcmp(name + length - 5, "_json") == 0);
    }
    sqlite3_finalize(read);
    return found;
}

Test(store_file, every_column_of_every_exported_table_is_in_the_export)
{
    struct fixture fixture;
    fixture_open(&fixture);
    int columns = 0;
    int used = 0;
    for (int i = 0; i < STATEMENT_COUNT; i++) {
        sqlite3_stmt *info = NULL;
        const char *table = exported_table(i);
        if (!table) {
            continue;
        }
        cr_assert_eq(sqlite3_prepare_v2(fixture.db->handle, "SELECT name FROM pragma_table_info(?1)", -1, &info, NULL),
                     SQLITE_OK);
        sqlite3_bind_text(info, 1, table, -1, SQLITE_STATIC);
        while (sqlite3_step(info) == SQLITE_ROW) {
            const char *column = (const char *)sqlite3_column_text(info, 0);
            const bool out = is_left_out(table, column);
            cr_expect(out || is_exported(&fixture, i, column), "%s.%s is not in the export", table, column);
            cr_expect(!out || !is_exported(&fixture, i, column), "%s.%s is in the export after all", table, column);
            columns++;
            used += out;
        }
        sqlite3_finalize(info);
    }
    cr_expect_eq(used, (int)(sizeof left_out / sizeof *left_out), "what is left out is there to be left out");
    cr_assert_gt(columns, 150);
    fixture_close(&fixture);
}

static const char juniors[] =
    "UPDATE student SET junior = 1; INSERT INTO consent (id, student_id, scope, as_junior, said_by, given_at) "
    "SELECT id, id, 'store_pictures', 1, 'aunt', 1 FROM student";

Test(store_file, an_erased_student_is_gone)
{
    static const char *const emptied[] = {
        "swing",   "report",      "fix",    "fix_event", "homework", "homework_done", "team",     "guardian", "note",
        "session", "idempotency", "lesson", "look",      "still",    "account_link",  "calendar", "consent"};
    struct fixture fixture;
    char account[UUID_TEXT], guardian[UUID_TEXT], both[UUID_TEXT], kept[UUID_TEXT], sql[128];
    struct told told = {0};
    fixture_open(&fixture);
    furnish(&fixture);
    cr_assert_eq(make_account(fixture.db, STORE_STUDENT, "ada", student, account), STORE_OK);
    cr_assert_eq(make_account(fixture.db, STORE_GUARDIAN, "mother", "", guardian), STORE_OK);
    cr_assert_eq(make_account(fixture.db, STORE_GUARDIAN, "aunt", "", both), STORE_OK);
    cr_assert_eq(store_guardian_add(fixture.db, guardian, student, NOW), STORE_OK);
    cr_assert_eq(store_guardian_add(fixture.db, both, student, NOW), STORE_OK);
    cr_assert_eq(store_guardian_may(fixture.db, both, student), STORE_NOT_FOUND, "nobody stands for a grown-up");
    execute(fixture.db, juniors);
    cr_assert_eq(store_guardian_may(fixture.db, both, student), STORE_OK);
    keep_answer(fixture.db, "g", "account", guardian, "");
    execute(fixture.db, "INSERT INTO still SELECT id, id, 'face_on', 'top', 'image/png', 1, 1, id, 1, zeroblob(32), 1, "
                        "x'00' FROM swing");
    execute(fixture.db, "INSERT INTO account_link SELECT randomblob(32), id, id, 1, 2 FROM account WHERE student_id IS "
                        "NOT NULL");
    execute(fixture.db, "INSERT INTO calendar SELECT randomblob(32), account_id, student_id, 1 FROM guardian");
    cr_assert_gt(count(fixture.db, "SELECT count(*) FROM still"), 0);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM account_link"), 1);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM calendar"), 2);
    make_true_swing(fixture.db, other, kept);
    cr_assert_eq(store_student_erase(fixture.db, student), STORE_OK);
    cr_assert_eq(store_student_erase(fixture.db, student), STORE_NOT_FOUND);
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM account WHERE sign_in_key IN ('ada', 'mother', 'aunt')"), 0,
                 "nobody else's guardians");
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM audit WHERE detail IS NOT NULL AND student_id IS NOT NULL"), 1,
                 "the other student's alone");
    cr_assert_eq(count(fixture.db, "SELECT count(*) FROM audit WHERE action = 'made'"), 7);
    for (size_t i = 0; i < sizeof emptied / sizeof emptied[0]; i++) {
        snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", emptied[i]);
        const bool others =
            strcmp(emptied[i], "swing") == 0 || strcmp(emptied[i], "report") == 0 || strcmp(emptied[i], "consent") == 0;
        cr_assert_eq(count(fixture.db, sql), others ? 1 : 0, "%s", emptied[i]);
    }
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 0, "%s",
                 told.all);
    fixture_close(&fixture);
}

Test(store_file, a_guardian_of_two_stays_for_the_other)
{
    struct fixture fixture;
    char guardian[UUID_TEXT];
    struct store_id_list students;
    fixture_open(&fixture);
    furnish(&fixture);
    cr_assert_eq(make_account(fixture.db, STORE_GUARDIAN, "mother", "", guardian), STORE_OK);
    cr_assert_eq(store_guardian_add(fixture.db, guardian, student, NOW), STORE_OK);
    cr_assert_eq(store_guardian_add(fixture.db, guardian, other, NOW), STORE_OK);
    execute(fixture.db, juniors);
    cr_assert_eq(store_student_erase(fixture.db, student), STORE_OK);
    cr_assert_eq(store_guardian_students(fixture.db, guardian, fixture.arena, &students), STORE_OK);
    cr_assert_eq(students.count, 1);
    cr_assert_str_eq(students.items[0], other);
    fixture_close(&fixture);
}

/* What is done to a swing after it was sent: former documents stay, what is void is in no figure, and what is moved
 * takes nothing of the former student along. */
#include <criterion/criterion.h>
#include <sodium.h>

#include "store/club/overview.h"
#include "store/club/standard_job.h"
#include "store/engine/blob.h"
#include "store/engine/check.h"
#include "store/engine/idempotency.h"
#include "store/lessons/edit.h"
#include "store/practice/progress.h"
#include "store_fixture.h"

static struct fixture f;
static char coach[UUID_TEXT], student[UUID_TEXT], other[UUID_TEXT], lesson[UUID_TEXT];
static char swings[3][UUID_TEXT]; /* the first two in the lesson */

static void hash(struct store_swing *swing)
{
    (void)crypto_hash_sha256(swing->document_hash, (const unsigned char *)swing->document, swing->document_size);
}

static void add(const char *document, bool pack, char id[UUID_TEXT])
{
    struct store_swing swing = {.recorded_at = NOW, .received_at = NOW, .document = document};
    char json[64];
    uuid7_new(swing.id);
    strcpy(id, swing.id);
    strcpy(swing.student_id, student);
    strcpy(swing.uploaded_by, coach);
    swing.document_size = strlen(document);
    hash(&swing);
    if (pack) {
        store_swing_pack(f.db, &swing, f.arena);
    }
    cr_assert_eq(store_swing_insert(f.db, &swing), STORE_OK);
    snprintf(json, sizeof json, "{\"of\":\"%.36s\"}", id);
    cr_assert_eq(make_report(f.db, id, "", json), STORE_OK);
}

static void setup(void)
{
    struct store_lesson held = {.held_at = NOW, .created = NOW};
    fixture_open(&f);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_student(f.db, "Ada", student), STORE_OK);
    cr_assert_eq(make_student(f.db, "Bea", other), STORE_OK);
    cr_assert_eq(make_standard(f.db, 0), STORE_OK);
    uuid7_new(held.id);
    strcpy(lesson, held.id);
    strcpy(held.student_id, student);
    strcpy(held.coach, coach);
    cr_assert_eq(store_lesson_insert(f.db, &held), STORE_OK);
    for (int i = 0; i < 3; i++) {
        add(i == 0 ? "{\"first\":\t1 }" : "{\"schema\": \"leadside.swing/1\", \"recorded_at\": \"2026-05-02\"}", i > 0,
            swings[i]);
        if (i < 2) {
            cr_assert_eq(store_lesson_attach(f.db, lesson, swings[i]), STORE_OK);
        }
    }
    cr_assert_eq(make_report(f.db, "", lesson, "{\"lesson\":1}"), STORE_OK);
}

static void teardown(void)
{
    fixture_close(&f);
}

TestSuite(store_edit, .init = setup, .fini = teardown);

static struct store_edit edit_of(const char *swing, const char *reason)
{
    struct store_edit edit = {.note = {.at = NOW + 1000, .reason = reason}};
    struct store_lesson held;
    strcpy(edit.swing_id, swing);
    strcpy(edit.note.by, coach);
    cr_assert_eq(store_edit_state(f.db, swing, &edit.was), STORE_OK);
    if (edit.was.lesson_id[0] != '\0') {
        cr_assert_eq(store_lesson_get(f.db, edit.was.lesson_id, f.arena, &held), STORE_OK);
        edit.lesson_version = held.version;
    }
    return edit;
}

static int64_t number(const char *sql)
{
    int64_t found = -1;
    cr_assert_eq(store_db_number(f.db, sql, &found), STORE_OK, "%s: %s", sql, sqlite3_errmsg(f.db->handle));
    return found;
}

static enum store_status replace(const struct store_edit *edit, const char *document, bool pack)
{
    struct store_swing swing = {.recorded_at = NOW + 5, .document = document, .document_size = strlen(document)};
    hash(&swing);
    if (pack) {
        store_swing_pack(f.db, &swing, f.arena);
    }
    enum store_status status = store_edit_begin(f.db, edit);
    return status == STORE_OK ? store_edit_document(f.db, edit, &swing) : status;
}

static void expect_bytes(const struct store_blob *blob, const char *expected)
{
    char bytes[200] = "";
    cr_assert_eq(blob->size, strlen(expected));
    cr_assert_eq(store_blob_read(f.db, blob, 0, bytes, blob->size), STORE_OK);
    cr_assert_str_eq(bytes, expected);
}

static void sentence(void *context, const char *text)
{
    fprintf(stderr, "%s\n", text);
    (void)context;
}

Test(store_edit, former_documents_stay_to_the_byte)
{
    static const char second[] = "{\"schema\": \"leadside.swing/1\", \"recorded_at\": \"second\"}";
    static const char third[] = "{\"third\":3}";
    struct store_swing swing;
    struct store_revision_list list;
    struct store_edit edit = edit_of(swings[0], "the top was the frame before");
    cr_assert_eq(edit.was.version, 1);
    cr_assert_eq(replace(&edit, second, true), STORE_OK);
    cr_assert_eq(make_report(f.db, swings[0], "", "{\"of\":\"second\"}"), STORE_OK);
    cr_assert_eq(replace(&edit, third, false), STORE_STALE, "an edit rests on what was read");
    edit = edit_of(swings[0], "and a slip");
    cr_assert_eq(replace(&edit, third, false), STORE_OK);
    cr_assert_eq(store_swing_get(f.db, swings[0], true, f.arena, &swing), STORE_OK);
    cr_assert_eq(memcmp(swing.document, third, sizeof third - 1), 0);
    cr_assert_eq(swing.version, 3);
    cr_assert_eq(swing.revision, 3);
    cr_assert_eq(swing.recorded_at, NOW + 5);
    cr_assert_str_eq(swing.revised.reason, "and a slip");
    cr_assert_str_eq(swing.revised.by, coach);
    const struct store_blob now = store_swing_blob(&swing);
    expect_bytes(&now, third);
    cr_assert_eq(store_revision_list(f.db, swings[0], f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 2);
    cr_assert_eq(list.items[0].number, 2);
    cr_assert_str_eq(list.items[0].reason, "the top was the frame before");
    cr_assert_null(list.items[1].reason);
    cr_assert_eq(list.items[1].created, NOW);
    const struct store_blob packed = store_revision_blob(&list.items[0]);
    const struct store_blob plain = store_revision_blob(&list.items[1]);
    expect_bytes(&packed, second);
    expect_bytes(&plain, "{\"first\":\t1 }");
    cr_assert_eq(number("SELECT count(*) FROM revision JOIN report ON report.number = revision.report WHERE "
                        "json LIKE '%second%' AND revision.number = 2"),
                 1, "each with the report that was made of it");
    cr_assert_eq(number("SELECT version FROM lesson"), 3);
    cr_assert_eq(store_check(f.directory, sentence, NULL, f.error, sizeof f.error), 0, "%s", f.error);
    cr_assert_eq(store_db_execute(f.db, "DELETE FROM student"), STORE_OK);
    cr_assert_eq(number("SELECT (SELECT count(*) FROM revision) + (SELECT count(*) FROM swing_edit)"), 0,
                 "they go with their student");
}

Test(store_edit, a_lesson_that_changed_meanwhile_is_told)
{
    struct store_edit first = edit_of(swings[0], "one");
    struct store_edit second = edit_of(swings[1], "another");
    cr_assert_eq(store_edit_begin(f.db, &first), STORE_OK);
    cr_assert_eq(store_edit_begin(f.db, &second), STORE_STALE);
    second = edit_of(swings[2], "it had none");
    cr_assert_eq(store_lesson_attach(f.db, lesson, swings[2]), STORE_OK);
    cr_assert_eq(store_edit_begin(f.db, &second), STORE_STALE);
    cr_assert_eq(store_edit_state(f.db, coach, &second.was), STORE_NOT_FOUND);
    strcpy(second.swing_id, coach);
    cr_assert_eq(store_edit_begin(f.db, &second), STORE_NOT_FOUND);
}

static void make_void(const char *swing, bool voided)
{
    const struct store_edit edit = edit_of(swing, "another player stood there");
    cr_assert_eq(store_edit_begin(f.db, &edit), STORE_OK);
    cr_assert_eq(store_edit_void(f.db, &edit, voided), STORE_OK);
}

/* In how many of the lists that figures are made of does it stand? */
static int places(const char *swing)
{
    struct store_progress_list reports;
    struct store_kept_swing_list all;
    const struct store_job job = {.swings_until = "~"};
    struct store_progress_list progress;
    struct store_progress one;
    int found = 0;
    cr_assert_eq(store_progress_all(f.db, student, STORE_PAGE_MAX, f.arena, &reports), STORE_OK);
    for (size_t i = 0; i < reports.count; i++) {
        found += strcmp(reports.items[i].swing_id, swing) == 0;
    }
    cr_assert_eq(store_job_kept_swings(f.db, &job, STORE_PAGE_MAX, f.arena, &all), STORE_OK);
    for (size_t i = 0; i < all.count; i++) {
        found += all.items[i].judged.counts && strcmp(all.items[i].judged.id, swing) == 0;
    }
    cr_assert_eq(store_progress_read(f.db, student, f.arena, &progress), STORE_OK);
    for (size_t i = 0; i < progress.count; i++) {
        found += strcmp(progress.items[i].swing_id, swing) == 0;
    }
    return found + (store_progress_swing(f.db, swing, f.arena, &one) == STORE_OK);
}

Test(store_edit, what_is_void_is_in_no_figure)
{
    struct store_swing swing;
    struct store_swing_list list;
    struct store_student_rows overview;
    struct store_lesson held;
    struct store_report report;
    struct store_progress one;
    cr_assert_eq(places(swings[2]), 4);
    cr_assert_eq(store_overview_students(f.db, NULL, f.arena, &overview), STORE_OK);
    cr_assert_neq(overview.items[0].last_swing, 0);
    make_void(swings[2], true);
    cr_assert_eq(places(swings[2]), 0);
    cr_assert_eq(store_swing_get(f.db, swings[2], false, f.arena, &swing), STORE_OK);
    cr_assert_str_eq(swing.voided.reason, "another player stood there");
    cr_assert_eq(store_swing_list(f.db, student, &(struct store_page){.updated_since = NOW + 1000}, f.arena, &list),
                 STORE_OK);
    cr_assert_eq(list.count, 1, "it stands in the list, as changed");
    cr_assert_neq(list.items[0].voided.at, 0);
    make_void(swings[2], false);
    cr_assert_eq(places(swings[2]), 4, "and back");
    cr_assert_eq(store_swing_get(f.db, swings[2], false, f.arena, &swing), STORE_OK);
    cr_assert_eq(swing.voided.at, 0);
    cr_assert_eq(swing.version, 3);
    make_void(swings[0], true);
    cr_assert_eq(store_lesson_get(f.db, lesson, f.arena, &held), STORE_OK);
    cr_assert_eq(held.swings, 1);
    cr_assert_eq(store_report_of_lesson(f.db, lesson, f.arena, &report), STORE_OK);
    make_void(swings[1], true);
    cr_assert_eq(store_report_of_lesson(f.db, lesson, f.arena, &report), STORE_NOT_FOUND, "nothing of it counts");
    cr_assert_eq(store_progress_lesson(f.db, lesson, f.arena, &one), STORE_NOT_FOUND);
    make_void(swings[2], true);
    cr_assert_eq(store_overview_students(f.db, NULL, f.arena, &overview), STORE_OK);
    cr_assert_eq(overview.items[0].last_swing, 0);
}

Test(store_edit, what_is_moved_takes_nothing_along)
{
    struct store_edit edit = edit_of(swings[0], "it was Bea's");
    struct store_idempotency kept = {.principal = "p", .route = "r", .status = 201, .created = NOW};
    struct store_swing_ids left;
    char fix[UUID_TEXT];
    for (int i = 0; i < 2; i++) {
        char sql[900];
        snprintf(
            sql, sizeof sql,
            "INSERT INTO idempotency (principal, key, route, body_hash, status, object_kind, object_id, student_id, "
            "created, response) VALUES ('p', 'k%d', 'r', zeroblob(32), 201, '%s', '%s', '%s', 1, 'Ada hurts')",
            i, i == 0 ? "swing" : "lesson", i == 0 ? swings[0] : lesson, student);
        cr_assert_eq(store_db_execute(f.db, sql), STORE_OK, "%s", sqlite3_errmsg(f.db->handle));
    }
    cr_assert_eq(make_fix(f.db, student, coach, "reaching", fix), STORE_OK);
    char sql[200];
    snprintf(sql, sizeof sql, "UPDATE fix SET baseline_swing = '%s'", swings[0]);
    cr_assert_eq(store_db_execute(f.db, sql), STORE_OK);
    cr_assert_eq(store_edit_begin(f.db, &edit), STORE_OK);
    cr_assert_eq(store_edit_move(f.db, &edit, "nobody", "{}"), STORE_NOT_FOUND);
    cr_assert_eq(store_edit_move(f.db, &edit, other, "{\"id\":1}"), STORE_OK);
    cr_assert_eq(make_report(f.db, swings[0], "", "{\"of\":\"Bea\"}"), STORE_OK);
    cr_assert_eq(make_report(f.db, "", lesson, "{\"lesson\":2}"), STORE_OK);
    cr_assert_eq(number("SELECT count(*) FROM report WHERE swing_id IS NOT NULL"), 3, "its old report is gone");
    cr_assert_eq(number("SELECT count(*) FROM report WHERE lesson_id IS NOT NULL"), 1, "and the lesson's");
    cr_assert_eq(number("SELECT count(*) FROM fix WHERE baseline_swing IS NULL AND version = 2 AND status = 'open'"),
                 1);
    cr_assert_eq(number("SELECT count(*) FROM fix_event"), 2);
    cr_assert_eq(number("SELECT count(*) FROM idempotency WHERE response LIKE '%Ada%'"), 0);
    cr_assert_eq(store_idempotency_find(f.db, "p", "k0", f.arena, &kept), STORE_OK);
    cr_assert_str_eq(kept.student_id, other);
    cr_assert_str_eq(kept.response, "{\"id\":1}");
    cr_assert_eq(store_edit_lesson_swings(f.db, lesson, f.arena, &left), STORE_OK);
    cr_assert_eq(left.count, 1);
    cr_assert_str_eq(left.items[0], swings[1]);
    cr_assert_eq(store_check(f.directory, sentence, NULL, f.error, sizeof f.error), 0, "%s", f.error);
    cr_assert_eq(store_student_erase(f.db, other), STORE_OK);
    cr_assert_eq(number("SELECT count(*) FROM swing"), 2, "it goes with the student it was given to");
    cr_assert_eq(number("SELECT count(*) FROM idempotency"), 0);
}

/* A file of the version before: no swing has a row of its own, and each counts. */
Test(store_edit, an_older_file_is_brought_up)
{
    char old[1200];
    size_t before = 0;
    struct store_swing swing;
    fixture_close(&f);
    fixture_directory(&f);
    f.db = store_db_open(f.path, STORE_OPEN_WRITER, 1000, f.error, sizeof f.error);
    while (strncmp(embedded_migrations[before].name, "0014", 4) < 0) {
        before++;
    }
    cr_assert_eq(store_migrate(f.db, embedded_migrations, before, f.error, sizeof f.error), STORE_OK, "%s", f.error);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_standard(f.db, 0), STORE_OK);
    uuid7_new(student);
    snprintf(old, sizeof old, /* as a program of then wrote them */
             "INSERT INTO student (id, name, hand, created) VALUES ('%s', 'Ada', 'right', 1); "
             "INSERT INTO audit (id, at, action, object_kind, object_id, student_id) VALUES "
             "('01900000-0000-7000-8000-000000000003', 1, 'student.create', 'student', '%s', '%s'); "
             "INSERT INTO swing (id, student_id, uploaded_by, recorded_at, received_at, document_hash, document_size, "
             "document) VALUES ('01900000-0000-7000-8000-000000000001', '%s', '%s', 1, 2, X'"
             "015abd7f5cc57a2dd94b7590f04ad8084273905ee33ec5cebeae62276a97f862', 7, CAST('{\"a\":1}' AS BLOB)); "
             "INSERT INTO report (id, swing_id, standard, created, json) VALUES "
             "('01900000-0000-7000-8000-000000000002', '01900000-0000-7000-8000-000000000001', 1, 3, '{}')",
             student, student, student, student, coach);
    cr_assert_eq(store_db_execute(f.db, old), STORE_OK, "%s", sqlite3_errmsg(f.db->handle));
    cr_assert_eq(store_migrate(f.db, embedded_migrations, embedded_migrations_count, f.error, sizeof f.error), STORE_OK,
                 "%s", f.error);
    cr_assert_eq(store_swing_get(f.db, "01900000-0000-7000-8000-000000000001", true, f.arena, &swing), STORE_OK);
    cr_assert_str_eq(swing.document, "{\"a\":1}");
    cr_assert_eq(swing.version, 1);
    cr_assert_eq(swing.revision, 1);
    cr_assert_eq(swing.voided.at + swing.moved.at + swing.revised.at, 0);
    const struct store_edit edit = edit_of("01900000-0000-7000-8000-000000000001", "a slip");
    cr_assert_eq(replace(&edit, "{\"a\":2}", true), STORE_OK);
    cr_assert_eq(store_check(f.directory, sentence, NULL, f.error, sizeof f.error), 0, "%s", f.error);
}

/* Who is a junior and until when, whose consent counts, what is brought over from older files, and who read what. */
#include <criterion/criterion.h>

#include <time.h>

#include "store/lessons/note.h"
#include "store/people/export.h"
#include "store/practice/calendar.h"
#include "store_fixture.h"

#define DAY (24 * HOUR)

static struct fixture f;

static void open_club(void)
{
    fixture_open(&f);
}

static void close_club(void)
{
    fixture_close(&f);
}

TestSuite(store_children, .init = open_club, .fini = close_club);

static void execute(const char *sql)
{
    cr_assert_eq(store_db_execute(f.db, sql), STORE_OK, "%s: %s", sql, sqlite3_errmsg(f.db->handle));
}

static int64_t number(const char *sql)
{
    int64_t value = -1;
    cr_assert_eq(store_db_number(f.db, sql, &value), STORE_OK, "%s", sql);
    return value;
}

/* Today with other years and days, as SQLite counts them. */
static const char *day_of(const char *modifiers)
{
    char sql[128];
    static char text[16];
    int64_t number_of_day = 0;
    snprintf(sql, sizeof sql, "SELECT CAST(strftime('%%Y%%m%%d', 'now', %s) AS INTEGER)", modifiers);
    number_of_day = number(sql);
    snprintf(text, sizeof text, "%04d-%02d-%02d", (int)(number_of_day / 10000), (int)(number_of_day / 100 % 100),
             (int)(number_of_day % 100));
    return text;
}

static int this_year(void)
{
    return (int)number("SELECT CAST(strftime('%Y', 'now') AS INTEGER)");
}

static struct store_student born(const char *date, int year, bool said_junior)
{
    struct store_student in = {.name = "Wren",
                               .hand = "right",
                               .birth_date = date,
                               .birth_year = date != NULL ? atoi(date) : year,
                               .junior = said_junior,
                               .created = NOW};
    struct store_student out;
    uuid7_new(in.id);
    cr_assert_eq(store_student_insert(f.db, &in), STORE_OK, "%s", sqlite3_errmsg(f.db->handle));
    audit_for(f.db, "student", in.id, in.id);
    cr_assert_eq(store_student_get(f.db, in.id, f.arena, &out), STORE_OK);
    return out;
}

Test(store_children, who_is_a_junior_follows_from_the_day_of_birth)
{
    cr_assert(born(day_of("'-18 years', '+1 day'"), 0, false).junior, "18 tomorrow");
    cr_assert_not(born(day_of("'-18 years'"), 0, true).junior, "18 today, whatever was said");
    cr_assert(born(NULL, this_year() - 17, false).junior);
    cr_assert(born(NULL, this_year() - 18, false).junior, "may not be 18 yet");
    cr_assert_not(born(NULL, this_year() - 19, true).junior, "certainly is");
    const struct store_student unknown = born(NULL, 0, true);
    cr_assert(unknown.junior, "of unknown age: what was said");
    cr_assert_eq(unknown.adult_from, STORE_ADULT_UNKNOWN);
    const struct store_student adult = born(NULL, 0, false);
    cr_assert_not(adult.junior);
    cr_assert_eq(adult.adult_from, 0);
    int64_t day = 0;
    cr_assert(time_parse("2026-03-01T00:00:00Z", &day));
    cr_assert_eq(born("2008-02-29", 0, false).adult_from, day, "born on a day that 2026 has not");
}

Test(store_children, no_day_that_is_none_and_no_year_beside_it)
{
    static const char *const wrong[] = {"2012-02-31", "2012-2-1", "now", "12-02-01", "2012-02-01T00:00"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct store_student in = {
            .name = "Wren", .hand = "right", .birth_date = wrong[i], .birth_year = 2012, .created = NOW};
        uuid7_new(in.id);
        cr_assert_neq(store_student_insert(f.db, &in), STORE_OK, "%s", wrong[i]);
    }
    struct store_student other = {
        .name = "Wren", .hand = "right", .birth_date = "2012-02-01", .birth_year = 2013, .created = NOW};
    uuid7_new(other.id);
    cr_assert_eq(store_student_insert(f.db, &other), STORE_INVALID);
}

static void grow_up(struct store_student *student)
{
    student->birth_date = arena_strdup(f.arena, day_of("'-18 years'"));
    student->birth_year = atoi(student->birth_date);
    cr_assert_eq(store_student_update(f.db, student), STORE_OK);
}

Test(store_children, a_guardians_right_ends_on_the_day)
{
    char guardian[UUID_TEXT];
    struct store_id_list juniors;
    struct store_calendar found;
    static const uint8_t token[STORE_HASH] = {7};
    struct store_student student = born(day_of("'-18 years', '+1 day'"), 0, false);
    struct store_calendar feed = {.created = NOW};
    cr_assert_eq(make_account(f.db, STORE_GUARDIAN, "mother", "", guardian), STORE_OK);
    cr_assert_eq(store_guardian_add(f.db, guardian, student.id, NOW), STORE_OK);
    strcpy(feed.account_id, guardian);
    strcpy(feed.student_id, student.id);
    cr_assert_eq(store_calendar_make(f.db, &feed, token), STORE_OK);
    cr_assert_eq(store_guardian_may(f.db, guardian, student.id), STORE_OK);
    cr_assert_eq(store_calendar_find(f.db, token, &found), STORE_OK);
    grow_up(&student);
    cr_assert_eq(store_guardian_may(f.db, guardian, student.id), STORE_NOT_FOUND);
    cr_assert_eq(store_guardian_students(f.db, guardian, f.arena, &juniors), STORE_OK);
    cr_assert_eq(juniors.count, 0);
    cr_assert_eq(store_calendar_find(f.db, token, &found), STORE_NOT_FOUND, "the feed stops");
}

static void give(const char *student, const char *scope, int64_t expires)
{
    struct store_consent consent = {.scope = scope, .said_by = "Rowan", .given_at = NOW, .expires = expires};
    uuid7_new(consent.id);
    strcpy(consent.student_id, student);
    cr_assert_eq(store_consent_insert(f.db, &consent), STORE_OK);
}

static bool pictures(const char *student)
{
    bool shown = false;
    struct store_student read;
    cr_assert_eq(store_consent_pictures(f.db, student, &shown), STORE_OK);
    cr_assert_eq(store_student_get(f.db, student, f.arena, &read), STORE_OK);
    cr_assert_eq(read.pictures, shown, "both ways say the same");
    return shown;
}

Test(store_children, the_newest_consent_counts_while_it_stands)
{
    char id[UUID_TEXT];
    struct store_consent_list list;
    const struct store_student student = born(day_of("'-10 years'"), 0, false);
    cr_assert_not(pictures(student.id), "nobody said anything");
    give(student.id, "share_with_club", 0);
    cr_assert_not(pictures(student.id), "that was about something else");
    give(student.id, "store_pictures", clock_now_ms() + HOUR);
    cr_assert(pictures(student.id));
    give(student.id, "store_pictures", clock_now_ms() - HOUR);
    cr_assert_not(pictures(student.id), "the newest has run out");
    give(student.id, "store_pictures", 0);
    cr_assert(pictures(student.id));
    cr_assert_eq(store_consent_withdraw(f.db, student.id, "store_pictures", "who", NOW, id), STORE_OK);
    cr_assert_not(pictures(student.id), "taken back; the older ones don't come up again");
    cr_assert_eq(store_consent_withdraw(f.db, student.id, "store_pictures", "who", NOW, id), STORE_NOT_FOUND);
    cr_assert_eq(store_consent_list(f.db, student.id, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 4);
    cr_assert_str_eq(list.items[0].id, id);
    cr_assert_str_eq(list.items[0].withdrawn_by, "who");
    cr_assert_not(list.items[0].counts);
    cr_assert(list.items[3].counts, "the other scope stands");
    struct store_consent nobody = {.scope = "store_pictures", .said_by = "x", .given_at = 1};
    uuid7_new(nobody.id);
    uuid7_new(nobody.student_id);
    cr_assert_eq(store_consent_insert(f.db, &nobody), STORE_NOT_FOUND);
}

Test(store_children, what_a_guardian_said_ends_with_childhood)
{
    struct store_student student = born(day_of("'-18 years', '+1 day'"), 0, false);
    give(student.id, "store_pictures", 0);
    cr_assert(pictures(student.id));
    grow_up(&student);
    cr_assert_not(pictures(student.id), "asked of the person anew");
    cr_assert_eq(store_student_get(f.db, student.id, f.arena, &student), STORE_OK);
    cr_assert_null(student.consent_by);
    give(student.id, "store_pictures", 0);
    cr_assert(pictures(student.id), "who said yes");
}

Test(store_children, a_grown_up_needs_no_consent_until_they_say_no)
{
    char id[UUID_TEXT];
    const struct store_student student = born(NULL, 0, false);
    cr_assert(pictures(student.id));
    struct store_consent refusal = {.scope = "store_pictures", .withdrawn_at = NOW, .withdrawn_by = "self"};
    uuid7_new(refusal.id);
    strcpy(refusal.student_id, student.id);
    cr_assert_eq(store_consent_insert(f.db, &refusal), STORE_OK);
    cr_assert_not(pictures(student.id));
    cr_assert_eq(store_consent_withdraw(f.db, student.id, "store_pictures", "self", NOW, id), STORE_NOT_FOUND);
}

static enum store_status count_stills(void *context, const char *table, const struct store_field *fields,
                                      size_t fields_count)
{
    (void)fields;
    (void)fields_count;
    *(int *)context += strcmp(table, "still") == 0;
    return STORE_OK;
}

Test(store_children, an_export_names_no_picture_that_is_hidden)
{
    char coach[UUID_TEXT], swing[UUID_TEXT], id[UUID_TEXT];
    int stills = 0;
    const struct store_student student = born(day_of("'-10 years'"), 0, false);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_swing(f.db, student.id, coach, "{}", swing), STORE_OK);
    execute("INSERT INTO still SELECT id, id, 'face_on', 'top', 'image/png', 1, 1, id, 1, zeroblob(32), 1, x'00' FROM "
            "swing");
    give(student.id, "store_pictures", 0);
    cr_assert_eq(store_export_student(f.db, student.id, true, 3, count_stills, &stills), STORE_OK);
    cr_assert_eq(stills, 1);
    cr_assert_eq(store_consent_withdraw(f.db, student.id, "store_pictures", "who", NOW, id), STORE_OK);
    cr_assert_eq(store_export_student(f.db, student.id, true, 3, count_stills, &stills), STORE_OK);
    cr_assert_eq(stills, 1, "none came to it");
}

Test(store_children, a_guardian_reads_what_the_child_does)
{
    struct store_note_list list;
    const struct store_student student = born(NULL, 0, false);
    struct store_note note = {.text = "between us", .readers = STORE_NOTE_STUDENT, .created = NOW};
    uuid7_new(note.id);
    strcpy(note.student_id, student.id);
    strcpy(note.author, student.id);
    cr_assert_eq(store_note_insert(f.db, &note), STORE_OK);
    cr_assert_eq(
        store_note_list(f.db, student.id, STORE_NOTE_READ_BY_GUARDIAN, &(struct store_page){0}, f.arena, &list),
        STORE_OK);
    cr_assert_eq(list.count, 1);
}

/* ---- older files ---- */

static const char old_students[] =
    "INSERT INTO student (id, name, hand, birth_year, junior, consent_by, consent_at, created) VALUES "
    "('01900000-0000-7000-8000-000000000001', 'Child', 'right', 2014, 1, 'Mother', 1700000000000, 1690000000000),"
    "('01900000-0000-7000-8000-000000000002', 'Blank', 'right', 2014, 1, ' ', 253402300799000, 1690000000000),"
    "('01900000-0000-7000-8000-000000000003', 'Grown', 'right', 2001, 1, 'Father', 1500000000000, 1490000000000),"
    "('01900000-0000-7000-8000-000000000004', 'Unsaid', 'left', NULL, 1, 'Aunt', 253402300799000, 1690000000000),"
    "('01900000-0000-7000-8000-000000000005', 'Adult', 'left', NULL, 0, NULL, NULL, 1690000000000);"
    "INSERT INTO note SELECT id, id, id, 'hidden', 1, 1 FROM student;"
    "INSERT INTO account (id, role, name, sign_in, sign_in_key, created) VALUES "
    "('01900000-0000-7000-8000-00000000000a', 'coach', 'C', 'c', 'c', 1);"
    "INSERT INTO team SELECT '01900000-0000-7000-8000-00000000000a', id, 1 FROM student;";

Test(store_children, an_older_file_is_brought_up)
{
    struct store_student student;
    fixture_close(&f);
    fixture_directory(&f);
    f.db = store_db_open(f.path, STORE_OPEN_WRITER, 1000, f.error, sizeof f.error);
    cr_assert_eq(store_migrate(f.db, embedded_migrations, 3, f.error, sizeof f.error), STORE_OK, "%s", f.error);
    execute(old_students);
    cr_assert_eq(store_migrate(f.db, embedded_migrations, embedded_migrations_count, f.error, sizeof f.error), STORE_OK,
                 "%s", f.error);
    cr_assert_eq(number("SELECT count(*) FROM student"), 5);
    cr_assert_eq(number("SELECT count(*) FROM team"), 5, "what hangs on a student stays");
    cr_assert_eq(number("SELECT count(*) FROM consent WHERE given_at > unixepoch() * 1000"), 0);
    cr_assert(pictures("01900000-0000-7000-8000-000000000001"));
    cr_assert_not(pictures("01900000-0000-7000-8000-000000000002"), "blanks are nobody");
    cr_assert_not(pictures("01900000-0000-7000-8000-000000000003"), "grown up meanwhile");
    cr_assert(pictures("01900000-0000-7000-8000-000000000004"));
    cr_assert(pictures("01900000-0000-7000-8000-000000000005"));
    cr_assert_eq(store_student_get(f.db, "01900000-0000-7000-8000-000000000003", f.arena, &student), STORE_OK);
    cr_assert_not(student.junior);
    cr_assert_eq(store_student_get(f.db, "01900000-0000-7000-8000-000000000001", f.arena, &student), STORE_OK);
    cr_assert_str_eq(student.consent_by, "Mother");
    cr_assert_eq(student.consent_at, 1700000000000);
    give("01900000-0000-7000-8000-000000000004", "store_pictures", clock_now_ms() - HOUR);
    cr_assert_not(pictures("01900000-0000-7000-8000-000000000004"), "what comes later is newer, whenever it was kept");
    cr_assert_eq(number("SELECT count(*) FROM note WHERE readers = 3"), 4, "a child's guardian reads along");
    cr_assert_eq(number("SELECT sum(length(id) = 36 AND id GLOB '*-*-7*-[89ab]*-*') FROM consent"),
                 number("SELECT count(*) FROM consent"));
}

/* ---- readings ---- */

static int64_t read_by(const char *student, const char *account, const char *kind, int64_t since)
{
    struct store_audit audit = {.at = clock_now_ms(), .action = "student.read", .object_kind = kind};
    strcpy(audit.student_id, student);
    strcpy(audit.account_id, account);
    if (student[0] == '\0') {
        audit.action = "student.list";
    }
    cr_assert_eq(store_audit_add_reading(f.db, &audit, since), STORE_OK);
    return number("SELECT count(*) FROM audit WHERE action IN ('student.read', 'student.list')");
}

Test(store_children, a_reading_is_noted_once)
{
    char coach[UUID_TEXT], head[UUID_TEXT];
    const int64_t today = clock_now_ms() / DAY * DAY;
    const struct store_student child = born(day_of("'-10 years'"), 0, false);
    const struct store_student adult = born(day_of("'-30 years'"), 0, false);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_account(f.db, STORE_HEAD, "head", "", head), STORE_OK);
    cr_assert_eq(read_by(child.id, coach, "note", today), 1);
    cr_assert_eq(read_by(child.id, coach, "note", today), 1, "not twice");
    cr_assert_eq(read_by(child.id, coach, "swing", today), 2, "another kind");
    cr_assert_eq(read_by(child.id, head, "note", today), 3, "somebody else");
    cr_assert_eq(read_by(adult.id, coach, "note", today), 3, "a grown-up's is not noted");
    cr_assert_eq(read_by("", head, "student", today), 4, "the list of all");
    cr_assert_eq(read_by("", head, "student", today), 4);
    cr_assert_eq(read_by(child.id, coach, "note", today + DAY), 5, "and again the next day");
}

/* Every kind of row: put in, read back, changed, and the rules its table keeps. */
#include <criterion/criterion.h>

#include "store/club/club.h"
#include "store/club/overview.h"
#include "store/club/version.h"
#include "store/engine/idempotency.h"
#include "store/engine/running.h"
#include "store/lessons/note.h"
#include "store/people/device.h"
#include "store/practice/progress.h"
#include "store_fixture.h"

static struct fixture f;
static char coach[UUID_TEXT], student[UUID_TEXT], other[UUID_TEXT];

static void setup(void)
{
    fixture_open(&f);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_student(f.db, "Ada", student), STORE_OK);
    cr_assert_eq(make_student(f.db, "Bea", other), STORE_OK);
    cr_assert_eq(make_standard(f.db, 0), STORE_OK);
    cr_assert_eq(make_drill(f.db, "top-check"), STORE_OK);
}

static void teardown(void)
{
    fixture_close(&f);
}

TestSuite(store_rows, .init = setup, .fini = teardown);

Test(store_rows, club)
{
    struct store_club club = {.name = "Larkfield Heath", .created = NOW};
    cr_assert_eq(store_club_get(f.db, f.arena, &club), STORE_NOT_FOUND);
    club.name = "Larkfield Heath";
    cr_assert_eq(store_club_insert(f.db, &club), STORE_OK);
    cr_assert_eq(store_club_insert(f.db, &club), STORE_CONFLICT);
    cr_assert_eq(store_club_get(f.db, f.arena, &club), STORE_OK);
    cr_assert_str_eq(club.settings, "{}");
    cr_assert_null(club.notes);
}

Test(store_rows, student_round_trip)
{
    struct store_student in = {.name = "Cleo",
                               .hand = "left",
                               .sex = "female",
                               .birth_year = 2014,
                               .has_height = true,
                               .height_m = 1.41,
                               .has_handicap = true,
                               .handicap = 0,
                               .tendencies = "[\"slice\"]",
                               .pain = 36,
                               .pain_note = "knee",
                               .wants = "distance",
                               .junior = true,
                               .created = NOW};
    struct store_student out;
    uuid7_new(in.id);
    cr_assert_eq(store_student_insert(f.db, &in), STORE_OK);
    cr_assert_eq(store_student_insert(f.db, &in), STORE_CONFLICT);
    cr_assert_eq(store_student_get(f.db, in.id, f.arena, &out), STORE_OK);
    cr_assert_str_eq(out.name, in.name);
    cr_assert_str_eq(out.hand, "left");
    cr_assert_str_eq(out.sex, "female");
    cr_assert_str_eq(out.tendencies, in.tendencies);
    cr_assert_str_eq(out.pain_note, "knee");
    cr_assert_null(out.consent_by);
    cr_assert_null(out.birth_date);
    cr_assert_not(out.pictures, "a junior's wait for consent");
    cr_assert(out.has_height && out.has_handicap && out.junior);
    cr_assert_float_eq(out.height_m, 1.41, 1e-12);
    cr_assert_eq(out.pain, 36);
    cr_assert_eq(out.birth_year, 2014);
    cr_assert_eq(out.version, 1);
    out.archived = NOW;
    out.has_handicap = false;
    out.birth_date = "2014-02-28";
    cr_assert_eq(store_student_update(f.db, &out), STORE_OK);
    cr_assert_eq(out.version, 2);
    cr_assert_eq(store_student_update(f.db, &in), STORE_STALE);
    uuid7_new(in.id);
    cr_assert_eq(store_student_update(f.db, &in), STORE_NOT_FOUND);
    cr_assert_eq(store_student_get(f.db, out.id, f.arena, &out), STORE_OK);
    cr_assert(!out.has_handicap);
    cr_assert_eq(out.archived, NOW);
    cr_assert_str_eq(out.birth_date, "2014-02-28");
    in.hand = "both";
    cr_assert_eq(store_student_insert(f.db, &in), STORE_INVALID);
}

Test(store_rows, lists_page_without_loss_or_repeat)
{
    struct store_page page = {.limit = 7};
    struct store_student_list list;
    char id[UUID_TEXT];
    int seen = 0;
    int seen_team = 0;
    for (int i = 0; i < 30; i++) {
        cr_assert_eq(make_student(f.db, "Somebody", id), STORE_OK);
        if (i % 2) {
            cr_assert_eq(store_team_add(f.db, id, coach, NOW), STORE_OK);
        }
    }
    do {
        cr_assert_eq(store_student_list(f.db, &page, f.arena, &list), STORE_OK);
        for (size_t i = 0; i < list.count; i++) {
            cr_assert(seen == 0 || i == 0 || strcmp(list.items[i].id, list.items[i - 1].id) > 0);
            seen++;
        }
        page.after = list.items[list.count - 1].id;
    } while (list.more);
    cr_assert_eq(seen, 32);
    page.after = NULL;
    do {
        cr_assert_eq(store_student_list_team(f.db, coach, &page, f.arena, &list), STORE_OK);
        seen_team += (int)list.count;
        page.after = list.items[list.count - 1].id;
    } while (list.more);
    cr_assert_eq(seen_team, 15);
}

Test(store_rows, team)
{
    struct store_id_list team;
    cr_assert_eq(store_team_may(f.db, coach, student), STORE_NOT_FOUND);
    cr_assert_eq(store_team_add(f.db, student, coach, NOW), STORE_OK);
    cr_assert_eq(store_team_add(f.db, student, coach, NOW), STORE_OK);
    cr_assert_eq(store_team_may(f.db, coach, student), STORE_OK);
    cr_assert_eq(store_team_may(f.db, coach, other), STORE_NOT_FOUND);
    cr_assert_eq(store_team_list(f.db, student, f.arena, &team), STORE_OK);
    cr_assert_eq(team.count, 1);
    cr_assert_str_eq(team.items[0], coach);
    cr_assert_eq(store_team_remove(f.db, student, coach), STORE_OK);
    cr_assert_eq(store_team_may(f.db, coach, student), STORE_NOT_FOUND);
    cr_assert_eq(store_team_add(f.db, student, "nobody", NOW), STORE_NOT_FOUND);
}

Test(store_rows, account)
{
    char id[UUID_TEXT];
    struct store_account account;
    struct store_account_list list;
    int64_t heads = -1;
    cr_assert_eq(make_account(f.db, STORE_HEAD, "boss", "", id), STORE_OK);
    cr_assert_eq(make_account(f.db, STORE_COACH, "boss", "", id), STORE_CONFLICT);
    cr_assert_eq(make_account(f.db, STORE_STUDENT, "ada", "", id), STORE_INVALID);
    cr_assert_eq(make_account(f.db, STORE_STUDENT, "ada", student, id), STORE_OK);
    cr_assert_eq(store_account_by_sign_in(f.db, "ada", f.arena, &account), STORE_OK);
    cr_assert_str_eq(account.id, id);
    cr_assert_eq(account.role, STORE_STUDENT);
    cr_assert_str_eq(account.student_id, student);
    cr_assert_null(account.password_hash);
    cr_assert_eq(store_account_set_password(f.db, id, "$argon2id$x", true), STORE_OK);
    cr_assert_eq(store_account_get(f.db, id, f.arena, &account), STORE_OK);
    cr_assert_str_eq(account.password_hash, "$argon2id$x");
    cr_assert(account.password_temporary);
    cr_assert_eq(account.version, 1, "a password is no edit of the row");
    cr_assert_eq(store_account_rehash(f.db, id, "$argon2id$y"), STORE_OK);
    cr_assert_eq(store_account_get(f.db, id, f.arena, &account), STORE_OK);
    cr_assert(strcmp(account.password_hash, "$argon2id$y") == 0 && account.password_temporary);
    cr_assert_eq(store_account_list(f.db, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 3);
    cr_assert_eq(store_account_count_heads(f.db, &heads), STORE_OK);
    cr_assert_eq(heads, 1);
}

static const uint8_t token[STORE_HASH] = {9, 8, 7};

static void make_session(const char *account, const char *device, uint8_t first, struct store_session *session)
{
    uint8_t hash[STORE_HASH];
    memcpy(hash, token, sizeof hash);
    hash[0] = first;
    *session = (struct store_session){
        .kind = STORE_COOKIE, .created = NOW, .last_seen = NOW, .expires = NOW + 10 * HOUR, .idle_ms = HOUR};
    uuid7_new(session->id);
    strcpy(session->account_id, account);
    strcpy(session->device_id, device);
    cr_assert_eq(store_session_insert(f.db, session, hash), STORE_OK);
}

Test(store_rows, session_ends_in_every_way)
{
    struct store_session session;
    struct store_session_identity who;
    struct store_session_list list;
    struct store_account account;
    int64_t removed;
    make_session(coach, "", 9, &session);
    cr_assert_eq(store_session_find(f.db, token, NOW, &who), STORE_OK);
    cr_assert_str_eq(who.account_id, coach);
    cr_assert_str_eq(who.session_id, session.id);
    cr_assert_eq(who.role, STORE_COACH);
    cr_assert_eq(who.kind, STORE_COOKIE);
    cr_assert_str_eq(who.student_id, "");
    cr_assert_eq(store_session_find(f.db, (const uint8_t[STORE_HASH]){1}, NOW, &who), STORE_NOT_FOUND);
    cr_assert_eq(store_session_find(f.db, token, NOW + HOUR, &who), STORE_NOT_FOUND, "idle");
    cr_assert_eq(store_session_touch(f.db, session.id, NOW + HOUR / 2), STORE_OK);
    cr_assert_eq(store_session_find(f.db, token, NOW + HOUR, &who), STORE_OK);
    cr_assert_eq(store_session_touch(f.db, session.id, NOW + 10 * HOUR), STORE_OK);
    cr_assert_eq(store_session_find(f.db, token, NOW + 10 * HOUR, &who), STORE_NOT_FOUND, "expired");
    cr_assert_eq(store_session_list(f.db, coach, NOW, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
    cr_assert_eq(store_session_revoke(f.db, other, session.id, NOW), STORE_NOT_FOUND);
    cr_assert_eq(store_session_revoke(f.db, coach, session.id, NOW), STORE_OK);
    cr_assert_eq(store_session_find(f.db, token, NOW, &who), STORE_NOT_FOUND);
    make_session(coach, "", 10, &session);
    const uint8_t second[STORE_HASH] = {10, 8, 7};
    cr_assert_eq(store_session_revoke_all(f.db, coach, session.id, NOW), STORE_OK);
    cr_assert_eq(store_session_find(f.db, second, NOW, &who), STORE_OK);
    cr_assert_eq(store_account_get(f.db, coach, f.arena, &account), STORE_OK);
    account.disabled = NOW;
    cr_assert_eq(store_account_update(f.db, &account), STORE_OK);
    account.disabled = 0;
    cr_assert_eq(store_account_update(f.db, &account), STORE_OK);
    cr_assert_eq(store_session_find(f.db, second, NOW, &who), STORE_NOT_FOUND, "disabling ends it for good");
    cr_assert_eq(store_session_purge(f.db, NOW + 11 * HOUR, &removed), STORE_OK);
    cr_assert_eq(removed, 2);
}

Test(store_rows, device)
{
    struct store_device device = {.name = "Bay 3", .created = NOW, .last_seen = NOW};
    struct store_session session;
    struct store_session_identity who;
    struct store_device_list list;
    uuid7_new(device.id);
    strcpy(device.enrolled_by, coach);
    cr_assert_eq(store_device_insert(f.db, &device, token), STORE_OK);
    make_session(coach, device.id, 9, &session);
    cr_assert_eq(store_session_find(f.db, token, NOW, &who), STORE_OK);
    cr_assert_str_eq(who.device_id, device.id);
    cr_assert_eq(store_device_find(f.db, token, f.arena, &device), STORE_OK);
    cr_assert_eq(store_device_touch(f.db, device.id, NOW + 1), STORE_OK);
    device.revoked = NOW;
    cr_assert_eq(store_device_update(f.db, &device), STORE_OK);
    cr_assert_eq(store_session_find(f.db, token, NOW, &who), STORE_NOT_FOUND);
    cr_assert_eq(store_device_find(f.db, token, f.arena, &device), STORE_NOT_FOUND);
    cr_assert_eq(store_device_get(f.db, device.id, f.arena, &device), STORE_OK);
    cr_assert_eq(device.last_seen, NOW + 1);
    cr_assert_eq(store_device_list(f.db, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
}

Test(store_rows, notes_reach_their_readers)
{
    static const unsigned readers[3] = {STORE_NOTE_COACHES, STORE_NOTE_STUDENT, STORE_NOTE_GUARDIAN};
    struct store_note_list list;
    for (int i = 0; i < 3; i++) {
        struct store_note note = {.text = "word", .readers = readers[i], .created = NOW};
        uuid7_new(note.id);
        strcpy(note.student_id, student);
        strcpy(note.author, coach);
        cr_assert_eq(store_note_insert(f.db, &note), STORE_OK);
    }
    cr_assert_eq(store_note_list(f.db, student, STORE_NOTE_COACHES, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 3);
    cr_assert_eq(list.items[0].readers, STORE_NOTE_GUARDIAN, "newest first");
    cr_assert_eq(store_note_list(f.db, student, STORE_NOTE_STUDENT, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
    cr_assert_eq(store_note_list(f.db, other, STORE_NOTE_COACHES, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 0);
}

Test(store_rows, marker_files_keep_what_stands_beside_them)
{
    struct store_swing in = {.recorded_at = NOW,
                             .received_at = NOW,
                             .media_type = "application/c3d",
                             .reading = "{\"schema\":\"leadside.reading/1\"}",
                             .document = "\002P\0\377",
                             .document_size = 4};
    struct store_swing out;
    struct store_swing_list list;
    in.reading_size = strlen(in.reading);
    uuid7_new(in.id);
    strcpy(in.student_id, student);
    strcpy(in.uploaded_by, coach);
    cr_assert_eq(store_swing_insert(f.db, &in), STORE_OK);
    cr_assert_eq(store_swing_get(f.db, in.id, true, f.arena, &out), STORE_OK);
    cr_assert_str_eq(out.media_type, "application/c3d");
    cr_assert_str_eq(out.reading, in.reading);
    cr_assert_eq(out.reading_size, in.reading_size);
    cr_assert_eq(out.document_size, 4);
    cr_assert_eq(memcmp(out.document, in.document, 4), 0);
    cr_assert_eq(store_swing_list(f.db, student, NULL, f.arena, &list), STORE_OK);
    cr_assert_str_eq(list.items[0].media_type, "application/c3d");
    cr_assert_null(list.items[0].reading);
    uuid7_new(in.id);
    in.reading = NULL;
    cr_assert_eq(store_swing_insert(f.db, &in), STORE_INVALID, "a marker file has a reading");
    in.media_type = "text/html";
    in.reading = "{}";
    cr_assert_eq(store_swing_insert(f.db, &in), STORE_INVALID);
    in.media_type = NULL;
    cr_assert_eq(store_swing_insert(f.db, &in), STORE_INVALID, "a document has none");
}

Test(store_rows, marker_maps_have_versions)
{
    struct store_version map = {.json = "{\"a\":1}", .json_size = 7, .created = NOW};
    struct store_version out;
    strcpy(map.created_by, coach);
    cr_assert_eq(store_version_current(f.db, STORE_MARKERS, f.arena, &out), STORE_NOT_FOUND);
    cr_assert_eq(store_version_insert(f.db, STORE_MARKERS, &map, 2), STORE_STALE);
    cr_assert_eq(store_version_insert(f.db, STORE_MARKERS, &map, 1), STORE_OK);
    cr_assert_eq(map.number, 2);
    cr_assert_eq(store_version_insert(f.db, STORE_MARKERS, &map, 1), STORE_STALE);
    map.json = "{\"b\":2}";
    cr_assert_eq(store_version_insert(f.db, STORE_MARKERS, &map, 2), STORE_OK);
    cr_assert_eq(store_version_current(f.db, STORE_MARKERS, f.arena, &out), STORE_OK);
    cr_assert_eq(out.number, 3);
    cr_assert_str_eq(out.json, "{\"b\":2}");
    cr_assert_eq(out.json_size, 7);
    cr_assert_str_eq(out.created_by, coach);
    cr_assert_eq(out.created, NOW);
}

Test(store_rows, swings_and_reports)
{
    static const char bytes[] = "{\"odd\":\t1.50 }\n";
    char id[UUID_TEXT], second[UUID_TEXT], owner[UUID_TEXT];
    struct store_swing swing;
    struct store_swing_list list;
    struct store_report report;
    struct store_progress_list reports;
    const char *json;
    size_t size;
    cr_assert_eq(make_swing(f.db, student, coach, bytes, id), STORE_OK);
    cr_assert_eq(make_swing(f.db, student, coach, "{}", second), STORE_OK);
    cr_assert_eq(make_swing(f.db, "nobody", coach, "{}", owner), STORE_NOT_FOUND);
    cr_assert_eq(store_swing_get(f.db, id, true, f.arena, &swing), STORE_OK);
    cr_assert_eq(swing.document_size, sizeof bytes - 1);
    cr_assert_eq(memcmp(swing.document, bytes, sizeof bytes - 1), 0);
    cr_assert_eq(swing.document_hash[31], 7);
    cr_assert_eq(store_swing_get(f.db, id, false, f.arena, &swing), STORE_OK);
    cr_assert_null(swing.document);
    cr_assert_eq(store_swing_student(f.db, id, owner), STORE_OK);
    cr_assert_str_eq(owner, student);
    cr_assert_eq(store_swing_list(f.db, student, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 2);
    cr_assert_str_eq(list.items[0].id, second);
    cr_assert_eq(store_swing_get(f.db, second, true, f.arena, &swing), STORE_OK);
    cr_assert_str_eq(swing.document, "{}");
    cr_assert_eq(store_report_of_swing(f.db, id, f.arena, &report), STORE_NOT_FOUND);
    cr_assert_eq(make_report(f.db, id, "", "{\"n\":1}"), STORE_OK);
    cr_assert_eq(make_report(f.db, id, "", "{\"n\":2}"), STORE_OK);
    cr_assert_eq(make_report(f.db, id, id, "{}"), STORE_INVALID, "of exactly one");
    cr_assert_eq(make_report(f.db, "", "", "{}"), STORE_INVALID);
    cr_assert_eq(store_report_of_swing(f.db, id, f.arena, &report), STORE_OK);
    cr_assert_str_eq(report.json, "{\"n\":2}", "the newest");
    cr_assert_eq(report.json_size, 7);
    cr_assert_eq(store_progress_all(f.db, student, 20, f.arena, &reports), STORE_OK);
    cr_assert_eq(reports.count, 1);
    cr_assert_eq(store_progress_report(f.db, reports.items[0].report, f.arena, &json, &size), STORE_OK);
    cr_assert_str_eq(json, "{\"n\":2}");
}

Test(store_rows, lessons_hold_one_students_swings)
{
    struct store_lesson lesson = {.held_at = NOW, .created = NOW, .note = "calm"};
    struct store_lesson out;
    struct store_lesson_list list;
    struct store_swing attached;
    struct store_report report;
    char own[UUID_TEXT], foreign[UUID_TEXT], second[UUID_TEXT];
    uuid7_new(lesson.id);
    strcpy(lesson.student_id, student);
    strcpy(lesson.coach, coach);
    cr_assert_eq(store_lesson_insert(f.db, &lesson), STORE_OK);
    cr_assert_eq(make_swing(f.db, student, coach, "{}", own), STORE_OK);
    cr_assert_eq(make_swing(f.db, other, coach, "{}", foreign), STORE_OK);
    cr_assert_eq(store_lesson_attach(f.db, lesson.id, own), STORE_OK);
    cr_assert_eq(store_lesson_attach(f.db, lesson.id, own), STORE_OK);
    cr_assert_eq(store_lesson_attach(f.db, lesson.id, foreign), STORE_NOT_FOUND);
    strcpy(second, lesson.id);
    uuid7_new(lesson.id);
    cr_assert_eq(store_lesson_insert(f.db, &lesson), STORE_OK);
    cr_assert_eq(store_lesson_attach(f.db, lesson.id, own), STORE_CONFLICT);
    cr_assert_eq(store_lesson_get(f.db, second, f.arena, &out), STORE_OK);
    cr_assert_eq(out.swings, 1);
    cr_assert_str_eq(out.note, "calm");
    cr_assert_eq(store_lesson_list(f.db, student, &(struct store_page){.limit = 1}, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
    cr_assert(list.more);
    cr_assert_str_eq(list.items[0].id, lesson.id);
    cr_assert_eq(store_swing_get(f.db, own, false, f.arena, &attached), STORE_OK);
    cr_assert_str_eq(attached.lesson_id, second);
    cr_assert_eq(make_report(f.db, "", second, "{\"l\":1}"), STORE_OK);
    cr_assert_eq(store_report_of_lesson(f.db, second, f.arena, &report), STORE_OK);
    cr_assert_str_eq(report.lesson_id, second);
}

Test(store_rows, at_most_two_open_fixes)
{
    char a[UUID_TEXT], b[UUID_TEXT], c[UUID_TEXT];
    struct store_fix fix;
    struct store_fix_list list;
    struct store_fix_history history;
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", a), STORE_OK);
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", b), STORE_CONFLICT, "the same fault");
    cr_assert_eq(make_fix(f.db, student, coach, "reaching", b), STORE_OK);
    cr_assert_eq(make_fix(f.db, student, coach, "stuck_delivery", c), STORE_CONFLICT, "a third");
    cr_assert_eq(make_fix(f.db, other, coach, "hips_slide_away", c), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, a, f.arena, &fix), STORE_OK);
    fix.status = STORE_FIX_CLOSED;
    fix.reason = "improved";
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 1), STORE_OK);
    cr_assert_eq(fix.ended_at, NOW + 1);
    cr_assert_eq(make_fix(f.db, student, coach, "stuck_delivery", c), STORE_OK, "the first place is free again");
    fix.status = STORE_FIX_OPEN;
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 2), STORE_CONFLICT, "no place to open it again");
    fix.version--;
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 2), STORE_STALE);
    cr_assert_eq(store_fix_list(f.db, student, true, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 2);
    cr_assert_str_eq(list.items[0].id, c);
    cr_assert_eq(store_fix_list(f.db, student, false, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 3);
    cr_assert_eq(store_fix_history(f.db, a, f.arena, &history), STORE_OK);
    cr_assert_eq(history.count, 2);
    cr_assert_eq(history.items[1].status, STORE_FIX_CLOSED);
    cr_assert_str_eq(history.items[1].reason, "improved");
    cr_assert_eq(store_fix_get(f.db, b, f.arena, &fix), STORE_OK);
    fix.status = STORE_FIX_CHANGED;
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 3), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, a, f.arena, &fix), STORE_OK);
    fix.status = STORE_FIX_OPEN;
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 4), STORE_OK);
    cr_assert_eq(fix.ended_at, 0);
}

Test(store_rows, the_second_fix_waits_for_the_first)
{
    char a[UUID_TEXT], b[UUID_TEXT], work[UUID_TEXT];
    struct store_fix fix;
    struct store_homework_list list;
    struct store_fix_history history;
    int64_t drills = 0;
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", a), STORE_OK);
    cr_assert_eq(make_fix(f.db, student, coach, "reaching", b), STORE_OK);
    cr_assert_eq(make_homework(f.db, student, b, coach, "top-check", work), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, b, f.arena, &fix), STORE_OK);
    cr_assert(fix.waits && fix.status == STORE_FIX_OPEN);
    cr_assert_eq(store_homework_list(f.db, student, true, 0, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 0, "what waits is not yet to be done");
    cr_assert_eq(store_fix_running_drills(f.db, student, &drills), STORE_OK);
    cr_assert_eq(drills, 0);
    cr_assert_eq(store_fix_drills(f.db, b, &drills), STORE_OK);
    cr_assert_eq(drills, 1);
    cr_assert_eq(store_fix_get(f.db, a, f.arena, &fix), STORE_OK);
    cr_assert_not(fix.waits);
    fix.status = STORE_FIX_CLOSED;
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 24 * HOUR), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, b, f.arena, &fix), STORE_OK);
    cr_assert(!fix.waits && fix.version == 2);
    cr_assert_eq(store_homework_list(f.db, student, true, 0, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
    cr_assert_eq(list.items[0].created, NOW + 24 * HOUR, "its days are counted from then");
    cr_assert_eq(list.items[0].retest_at, NOW + 15 * 24 * HOUR);
    cr_assert_eq(store_fix_history(f.db, b, f.arena, &history), STORE_OK);
    cr_assert_eq(history.count, 2);
    cr_assert_eq(store_fix_get(f.db, a, f.arena, &fix), STORE_OK);
    fix.status = STORE_FIX_OPEN;
    cr_assert_eq(store_fix_update(f.db, &fix, fix.reason, coach, NOW + 25 * HOUR), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, a, f.arena, &fix), STORE_OK);
    cr_assert(fix.waits, "opened again it stands at the end of the line");
}

Test(store_rows, two_fixes_together_for_a_reason)
{
    char a[UUID_TEXT];
    struct store_fix fix = {.fault = "reaching", .opened_at = NOW, .together = "one session before the match"};
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", a), STORE_OK);
    uuid7_new(fix.id);
    strcpy(fix.student_id, student);
    strcpy(fix.opened_by, coach);
    cr_assert_eq(store_fix_insert(f.db, &fix), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, fix.id, f.arena, &fix), STORE_OK);
    cr_assert_not(fix.waits);
    cr_assert_str_eq(fix.together, "one session before the match");
}

Test(store_rows, pain_told_before)
{
    char fix[UUID_TEXT], id[UUID_TEXT];
    struct store_homework one;
    int before = 0;
    static const struct {
        int64_t at;
        unsigned area;
        int level;
    } told[] = {{NOW, 128, 5}, {NOW + 2 * HOUR, 128, 1}, {NOW + HOUR, 64, 3}};
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", fix), STORE_OK);
    cr_assert_eq(make_homework(f.db, student, fix, coach, "top-check", id), STORE_OK);
    cr_assert_eq(store_homework_get(f.db, id, 0, f.arena, &one), STORE_OK);
    cr_assert_eq(store_homework_pain_before(f.db, &one, 128, NOW + 9 * HOUR, &before), STORE_OK);
    cr_assert_eq(before, -1, "nothing yet");
    for (size_t i = 0; i < 3; i++) {
        struct store_homework_done done = {
            .done_at = told[i].at, .pain_area = told[i].area, .pain_level = told[i].level};
        uuid7_new(done.id);
        strcpy(done.homework_id, id);
        cr_assert_eq(store_homework_done_insert(f.db, &done), STORE_OK);
    }
    cr_assert_eq(store_homework_pain_before(f.db, &one, 128, NOW + 9 * HOUR, &before), STORE_OK);
    cr_assert_eq(before, 1, "the newest by its own time");
    cr_assert_eq(store_homework_pain_before(f.db, &one, 64, NOW + 9 * HOUR, &before), STORE_OK);
    cr_assert_eq(before, 1, "the lower of this drill's and this area's");
    cr_assert_eq(store_homework_pain_before(f.db, &one, 128, NOW, &before), STORE_OK);
    cr_assert_eq(before, 5, "what is told later says nothing of before");
    cr_assert_eq(store_homework_pause(f.db, id, NOW, 128, 5), STORE_OK);
    cr_assert_eq(store_homework_pause(f.db, id, NOW + HOUR, 64, 4), STORE_OK);
    cr_assert_eq(store_homework_get(f.db, id, 0, f.arena, &one), STORE_OK);
    cr_assert(one.paused_area == 128 && one.paused_level == 5 && one.paused_at == NOW, "the worst that was told stays");
    one.resumed_at = NOW + HOUR;
    strcpy(one.resumed_by, coach);
    one.resumed_reason = "seen";
    one.word_pain = 128;
    one.version--;
    cr_assert_eq(store_homework_resume(f.db, &one), STORE_STALE);
    one.version++;
    cr_assert_eq(store_homework_resume(f.db, &one), STORE_OK);
    cr_assert_eq(store_homework_get(f.db, id, 0, f.arena, &one), STORE_OK);
    cr_assert(one.paused_at == 0 && one.paused_area == 0 && one.word_pain == 128);
    cr_assert_str_eq(one.resumed_reason, "seen");
}

Test(store_rows, built_in_drills_are_renewed_unless_the_club_changed_them)
{
    struct store_drill drill;
    cr_assert_eq(make_drill(f.db, "steps"), STORE_OK);
    cr_assert_eq(store_drill_get(f.db, "steps", f.arena, &drill), STORE_OK);
    cr_assert_eq(store_drill_renew(f.db, &drill), STORE_NOT_FOUND, "nothing new");
    drill.json = "{\"loads\":[\"knee\"]}";
    cr_assert_eq(store_drill_renew(f.db, &drill), STORE_OK);
    cr_assert_eq(store_drill_get(f.db, "steps", f.arena, &drill), STORE_OK);
    cr_assert_eq(drill.version, 1);
    cr_assert_str_eq(drill.json, "{\"loads\":[\"knee\"]}");
    drill.json = "{\"ours\":1}";
    cr_assert_eq(store_drill_update(f.db, &drill), STORE_OK);
    drill.json = "{}";
    cr_assert_eq(store_drill_renew(f.db, &drill), STORE_NOT_FOUND, "the club's own text stays");
}

Test(store_rows, homework)
{
    char fix[UUID_TEXT], id[UUID_TEXT], bad[UUID_TEXT];
    struct store_homework_list list;
    struct store_homework one;
    struct store_homework_done_list done_list;
    struct store_fix row;
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", fix), STORE_OK);
    cr_assert_eq(make_homework(f.db, student, fix, coach, "top-check", id), STORE_OK);
    cr_assert_eq(make_homework(f.db, student, fix, coach, "top-check", bad), STORE_CONFLICT);
    cr_assert_eq(make_homework(f.db, other, fix, coach, "top-check", bad), STORE_NOT_FOUND);
    cr_assert_eq(make_homework(f.db, student, fix, coach, "no-such-drill", bad), STORE_NOT_FOUND);
    for (int i = 0; i < 3; i++) {
        struct store_homework_done done = {.done_at = NOW + i * HOUR, .comment = i ? NULL : "stiff"};
        uuid7_new(done.id);
        strcpy(done.homework_id, id);
        strcpy(done.account_id, coach);
        cr_assert_eq(store_homework_done_insert(f.db, &done), STORE_OK);
    }
    cr_assert_eq(store_homework_list(f.db, student, true, NOW + HOUR, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
    cr_assert_str_eq(list.items[0].fault, "hips_slide_away");
    cr_assert_str_eq(list.items[0].drill_name, "A drill");
    cr_assert_eq(list.items[0].done_count, 3);
    cr_assert_eq(list.items[0].done_since, 2);
    cr_assert_eq(list.items[0].last_done, NOW + 2 * HOUR);
    cr_assert(list.items[0].fix_open);
    cr_assert_eq(store_homework_done_list(f.db, id, NULL, f.arena, &done_list), STORE_OK);
    cr_assert_eq(done_list.count, 3);
    cr_assert_str_eq(done_list.items[2].comment, "stiff");
    cr_assert_eq(store_homework_end(f.db, id, 9, NOW), STORE_STALE);
    cr_assert_eq(store_homework_end(f.db, id, 1, NOW), STORE_OK);
    cr_assert_eq(store_homework_list(f.db, student, true, 0, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 0);
    cr_assert_eq(store_homework_end(f.db, id, 2, 0), STORE_OK);
    cr_assert_eq(store_fix_get(f.db, fix, f.arena, &row), STORE_OK);
    row.status = STORE_FIX_CLOSED;
    cr_assert_eq(store_fix_update(f.db, &row, row.reason, coach, NOW), STORE_OK);
    cr_assert_eq(store_homework_list(f.db, student, true, 0, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 0, "a closed fix gives no homework");
    cr_assert_eq(store_homework_list(f.db, student, false, 0, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.count, 1);
    cr_assert_eq(store_homework_get(f.db, id, 0, f.arena, &one), STORE_OK);
    cr_assert_eq(one.done_since, 3);
}

Test(store_rows, drills_and_standards)
{
    struct store_drill drill;
    struct store_drill_list drills;
    struct store_version standard;
    int64_t number;
    cr_assert_eq(make_drill(f.db, "steps"), STORE_OK);
    cr_assert_eq(store_drill_get(f.db, "steps", f.arena, &drill), STORE_OK);
    drill.retired = NOW;
    cr_assert_eq(store_drill_update(f.db, &drill), STORE_OK);
    drill.version = 1;
    cr_assert_eq(store_drill_update(f.db, &drill), STORE_STALE);
    cr_assert_eq(store_drill_list(f.db, false, NULL, f.arena, &drills), STORE_OK);
    cr_assert_eq(drills.count, 1);
    cr_assert_eq(store_drill_list(f.db, true, NULL, f.arena, &drills), STORE_OK);
    cr_assert_eq(drills.count, 2);
    cr_assert_eq(make_standard(f.db, 0), STORE_STALE);
    cr_assert_eq(make_standard(f.db, 1), STORE_OK);
    cr_assert_eq(make_standard(f.db, 1), STORE_STALE);
    cr_assert_eq(make_standard(f.db, -1), STORE_OK);
    cr_assert_eq(store_version_number(f.db, STORE_STANDARD, &number), STORE_OK);
    cr_assert_eq(number, 3);
    cr_assert_eq(store_version_current(f.db, STORE_STANDARD, f.arena, &standard), STORE_OK);
    cr_assert_eq(standard.number, 3);
    cr_assert_str_eq(standard.json, "{\"ranges\":[]}");
}

Test(store_rows, kept_answers)
{
    struct store_idempotency row = {.key = "k-1",
                                    .route = "POST /v1/students",
                                    .status = 201,
                                    .response = "{}",
                                    .object_kind = "student",
                                    .created = NOW};
    struct store_idempotency out;
    int64_t removed;
    strcpy(row.principal, coach);
    strcpy(row.object_id, student);
    strcpy(row.student_id, student);
    row.body_hash[3] = 5;
    cr_assert_eq(store_idempotency_find(f.db, coach, "k-1", f.arena, &out), STORE_NOT_FOUND);
    cr_assert_eq(store_idempotency_insert(f.db, &row), STORE_OK);
    cr_assert_eq(store_idempotency_insert(f.db, &row), STORE_CONFLICT);
    cr_assert_eq(store_idempotency_find(f.db, coach, "k-1", f.arena, &out), STORE_OK);
    cr_assert_eq(memcmp(out.body_hash, row.body_hash, STORE_HASH), 0);
    cr_assert_eq(out.status, 201);
    cr_assert_str_eq(out.route, row.route);
    cr_assert_eq(store_idempotency_find(f.db, other, "k-1", f.arena, &out), STORE_NOT_FOUND);
    cr_assert_eq(store_idempotency_purge(f.db, NOW, 0, &removed), STORE_OK);
    cr_assert_eq(removed, 0);
}

/* The server has been running for so long before it is started now. */
static void run_for(int64_t ms)
{
    char text[64];
    snprintf(text, sizeof text, "UPDATE running SET ms = %lld", (long long)ms);
    cr_assert_eq(store_db_execute(f.db, text), STORE_OK);
    f.db->running_from_ns = 0;
}

Test(store_rows, kept_answers_go_when_both_clocks_say_so)
{
    const int64_t day = 86400000;
    struct store_idempotency row = {
        .key = "k-2", .route = "POST /v1/students", .status = 201, .response = "{}", .created = NOW};
    int64_t removed;
    strcpy(row.principal, coach);
    run_for(3 * day);
    cr_assert_eq(store_idempotency_insert(f.db, &row), STORE_OK);
    cr_assert_eq(store_idempotency_purge(f.db, NOW + 8 * day, 7 * day, &removed), STORE_OK);
    cr_assert_eq(removed, 0, "a wall clock that jumped ahead");
    run_for(9 * day);
    cr_assert_eq(store_idempotency_purge(f.db, NOW + 8 * day, 7 * day, &removed), STORE_OK);
    cr_assert_eq(removed, 0, "six days of running");
    run_for(11 * day);
    cr_assert_eq(store_idempotency_purge(f.db, NOW + 6 * day, 7 * day, &removed), STORE_OK);
    cr_assert_eq(removed, 0, "six days of the wall clock");
    cr_assert_eq(store_idempotency_purge(f.db, NOW + 8 * day, 7 * day, &removed), STORE_OK);
    cr_assert_eq(removed, 1);
    int64_t ms = 0;
    cr_assert_eq(store_running_save(f.db), STORE_OK);
    cr_assert_eq(store_db_number(f.db, "SELECT ms FROM running", &ms), STORE_OK);
    cr_assert(ms >= 11 * day && ms < 11 * day + 60000);
    f.db->running_base_ms = f.db->running_from_ns = 0; /* as if its file were an older copy: what is written stays */
    f.db->running_from_ns = clock_monotonic_ns();
    cr_assert_eq(store_running_save(f.db), STORE_OK);
    cr_assert_eq(store_db_number(f.db, "SELECT ms FROM running", &ms), STORE_OK);
    cr_assert_geq(ms, 11 * day);
}

Test(store_rows, overview)
{
    struct store_coach_rows coaches;
    struct store_student_rows students;
    char fix[UUID_TEXT], id[UUID_TEXT], swing[UUID_TEXT];
    cr_assert_eq(store_team_add(f.db, student, coach, NOW), STORE_OK);
    cr_assert_eq(store_team_add(f.db, other, coach, NOW), STORE_OK);
    cr_assert_eq(make_fix(f.db, student, coach, "hips_slide_away", fix), STORE_OK);
    cr_assert_eq(make_homework(f.db, student, fix, coach, "top-check", id), STORE_OK);
    cr_assert_eq(make_swing(f.db, student, coach, "{}", swing), STORE_OK);
    struct store_homework_done done = {.done_at = NOW};
    uuid7_new(done.id);
    strcpy(done.homework_id, id);
    cr_assert_eq(store_homework_done_insert(f.db, &done), STORE_OK);
    cr_assert_eq(store_overview_coaches(f.db, NOW - (NOW + 3 * 24 * HOUR) % (7 * 24 * HOUR), f.arena, &coaches),
                 STORE_OK);
    cr_assert_eq(coaches.count, 1);
    cr_assert_eq(coaches.items[0].students, 2);
    cr_assert_eq(coaches.items[0].students_without_fix, 1);
    cr_assert_eq(coaches.items[0].homework_done, 1);
    cr_assert_eq(store_overview_students(f.db, NULL, f.arena, &students), STORE_OK);
    cr_assert_eq(students.count, 2);
    cr_assert_eq(students.items[0].open_fixes, 1);
    cr_assert_eq(students.items[0].team, 1);
    cr_assert_eq(students.items[0].last_swing, NOW);
    cr_assert_eq(students.items[0].last_done, NOW);
    cr_assert_eq(students.items[0].retest_at, NOW + 14 * 24 * HOUR);
    cr_assert_eq(students.items[1].last_swing, 0);
}

Test(store_rows, short_memory_is_told)
{
    struct arena *small = arena_new(600);
    struct store_student_list list;
    char id[UUID_TEXT];
    for (int i = 0; i < 20; i++) {
        cr_assert_eq(make_student(f.db, "Somebody", id), STORE_OK);
    }
    cr_assert_eq(store_student_list(f.db, NULL, small, &list), STORE_NO_MEMORY);
    cr_assert_eq(list.count, 0);
    arena_free(small);
    cr_assert_eq(store_student_list(f.db, NULL, f.arena, &list), STORE_OK, "the connection is still good");
}

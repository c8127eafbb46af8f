/* What was ended stays ended, whichever copy of the file is put back. */
#include <criterion/criterion.h>
#include <fcntl.h>
#include <sys/stat.h>

#include "store/engine/check.h"
#include "store/engine/ledger.h"
#include "store/engine/writer.h"
#include "store/open.h"
#include "store/people/device.h"
#include "store/people/invitation.h"
#include "store/practice/calendar.h"
#include "store_fixture.h"

static char coach[UUID_TEXT], pupil[UUID_TEXT], ada[UUID_TEXT], bea[UUID_TEXT], parent[UUID_TEXT], tablet[UUID_TEXT];
static const uint8_t coach_token[STORE_HASH] = {1}, tablet_token[STORE_HASH] = {2}, link_token[STORE_HASH] = {3},
                     feed_token[STORE_HASH] = {4};

static struct store *start(struct fixture *fixture)
{
    struct store *store =
        store_open(&(struct store_config){.directory = fixture->directory}, fixture->error, sizeof fixture->error);
    cr_assert_not_null(store, "%s", fixture->error);
    return store;
}

static enum store_status settle_in(struct store_db *db, void *argument)
{
    (void)argument;
    struct store_session session = {
        .kind = STORE_BEARER, .created = NOW, .last_seen = NOW, .expires = NOW * 2, .idle_ms = NOW};
    struct store_device device = {.name = "Bay 1", .created = NOW, .last_seen = NOW};
    struct store_invitation link = {.created = NOW, .expires = NOW * 2};
    struct store_calendar feed = {.created = NOW};
    cr_assert_eq(make_student(db, "Ada Secret", ada), STORE_OK);
    cr_assert_eq(make_student(db, "Bea", bea), STORE_OK);
    cr_assert_eq(make_account(db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_account(db, STORE_STUDENT, "bea", bea, pupil), STORE_OK);
    cr_assert_eq(make_account(db, STORE_COACH, "other", "", parent), STORE_OK);
    uuid7_new(device.id);
    strcpy(tablet, device.id);
    strcpy(device.enrolled_by, coach);
    cr_assert_eq(store_device_insert(db, &device, tablet_token), STORE_OK);
    uuid7_new(session.id);
    strcpy(session.account_id, coach);
    cr_assert_eq(store_session_insert(db, &session, coach_token), STORE_OK);
    strcpy(link.account_id, parent);
    strcpy(link.made_by, coach);
    cr_assert_eq(store_invitation_make(db, &link, link_token), STORE_OK);
    strcpy(feed.account_id, pupil);
    strcpy(feed.student_id, bea);
    return store_calendar_make(db, &feed, feed_token);
}

static enum store_status erase_ada(struct store_db *db, void *argument)
{
    store_audit_waive(db);
    const enum store_status status = store_student_erase(db, ada);
    return argument ? STORE_INVALID : status;
}

static enum store_status end_others(struct store_db *db, void *argument)
{
    struct arena *arena = argument;
    struct store_device device;
    store_audit_waive(db);
    cr_assert_eq(store_device_get(db, tablet, arena, &device), STORE_OK);
    device.revoked = NOW;
    cr_assert_eq(store_device_update(db, &device), STORE_OK);
    char sql[128];
    snprintf(sql, sizeof sql, "DELETE FROM account WHERE id = '%s'", parent);
    cr_assert_eq(store_db_execute(db, sql), STORE_OK);
    return store_ledger_add(db, STORE_ENDED_ACCOUNT, parent, NOW);
}

static char *ledger_text(const struct fixture *fixture, char *text, size_t size)
{
    char path[200];
    snprintf(path, sizeof path, "%s/erasures", fixture->directory);
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file);
    text[fread(text, 1, size - 1, file)] = '\0';
    fclose(file);
    return text;
}

static void copy_file(const char *from, const char *to)
{
    char command[500];
    snprintf(command, sizeof command, "cp '%s' '%s'", from, to);
    cr_assert_eq(system(command), 0);
}

static int64_t number(struct store *store, const char *sql)
{
    int64_t value = -1;
    cr_assert_eq(store_db_number(store_reader(store), sql, &value), STORE_OK, "%s", sql);
    return value;
}

static bool stands(struct store *store)
{
    struct store_session_identity who;
    struct store_calendar feed;
    struct store_invitation link;
    const int found = (store_session_find(store_reader(store), coach_token, NOW + 1, &who) == STORE_OK) +
                      (store_calendar_find(store_reader(store), feed_token, &feed) == STORE_OK) +
                      (store_invitation_find(store_reader(store), link_token, NOW + 1, &link) == STORE_OK);
    cr_assert(found == 0 || found == 3 || number(store, "SELECT count(*) FROM account WHERE sign_in = 'other'") == 0);
    return found > 0;
}

Test(store_ledger, an_erasure_is_on_disk_before_it_is_answered)
{
    struct fixture fixture;
    char text[2000], expected[200], path[200];
    struct stat status;
    fixture_directory(&fixture);
    struct store *store = start(&fixture);
    cr_assert_eq(store_run(store, settle_in, NULL), STORE_OK);
    cr_assert_eq(store_run(store, erase_ada, fixture.arena), STORE_INVALID);
    cr_assert_null(strstr(ledger_text(&fixture, text, sizeof text), ada), "a job that fails erases nobody");
    cr_assert_eq(store_run(store, erase_ada, NULL), STORE_OK);
    snprintf(expected, sizeof expected, "student %s ", ada);
    cr_assert_not_null(strstr(ledger_text(&fixture, text, sizeof text), expected));
    cr_assert_null(strstr(text, "Secret"), "no names");
    snprintf(path, sizeof path, "%s/erasures", fixture.directory);
    cr_assert_eq(stat(path, &status), 0);
    cr_assert_eq(status.st_mode & 0777, 0600);
    cr_assert_eq(number(store, "SELECT count(*) FROM ended WHERE kind = 'student'"), 1);
    store_close(store);
    fixture_close(&fixture);
}

struct told {
    int count;
    char all[2000];
};

static void remember(void *context, const char *sentence)
{
    struct told *told = context;
    told->count++;
    strncat(told->all, sentence, sizeof told->all - strlen(told->all) - 1);
}

Test(store_ledger, a_restored_copy_loses_again_what_was_ended_since)
{
    struct fixture fixture;
    char copy[200];
    struct told told = {0};
    fixture_directory(&fixture);
    snprintf(copy, sizeof copy, "%s/copy.db", fixture.directory);
    struct store *store = start(&fixture);
    cr_assert_eq(store_run(store, settle_in, NULL), STORE_OK);
    cr_assert_eq(store_backup(fixture.directory, copy, NULL, fixture.error, sizeof fixture.error), STORE_OK, "%s",
                 fixture.error);
    cr_assert_eq(store_run(store, erase_ada, NULL), STORE_OK);
    cr_assert_eq(store_run(store, end_others, fixture.arena), STORE_OK);
    store_close(store);
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored, "nothing was put back yet");
    cr_assert(stands(store));
    store_close(store);
    copy_file(copy, fixture.path);
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 3, "%s",
                 told.all);
    cr_assert_not_null(strstr(told.all, ada), "%s", told.all);
    store = start(&fixture);
    const struct store_restored *restored = store_restored(store);
    cr_assert(restored->restored);
    cr_assert_eq(restored->ended[STORE_ENDED_STUDENT], 1);
    cr_assert_eq(restored->ended[STORE_ENDED_ACCOUNT], 1);
    cr_assert_eq(restored->ended[STORE_ENDED_DEVICE], 1);
    cr_assert_not(stands(store));
    cr_assert_eq(number(store, "SELECT count(*) FROM student WHERE name = 'Ada Secret'"), 0);
    cr_assert_eq(number(store, "SELECT count(*) FROM student WHERE name = 'Bea'"), 1);
    cr_assert_eq(number(store, "SELECT count(*) FROM account WHERE sign_in = 'other'"), 0);
    cr_assert_eq(number(store, "SELECT count(*) FROM device WHERE revoked IS NOT NULL"), 1);
    cr_assert_eq(number(store, "SELECT count(*) FROM audit WHERE action IN ('student.erase', 'account.erase', "
                               "'device.revoke', 'club.restore') AND detail IS NOT NULL"),
                 4);
    cr_assert_eq(number(store, "SELECT count(*) FROM audit WHERE detail LIKE '%secret%' AND student_id = (SELECT "
                               "object_id FROM ended WHERE kind = 'student')"),
                 0);
    store_close(store);
    told = (struct told){0};
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 0, "%s",
                 told.all);
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored, "once");
    store_close(store);
    fixture_close(&fixture);
}

/* Nothing was ended since, and still: who signed out since would be signed in again. */
Test(store_ledger, any_older_state_is_recognised)
{
    struct fixture fixture;
    char copy[200];
    fixture_directory(&fixture);
    snprintf(copy, sizeof copy, "%s/copy.db", fixture.directory);
    struct store *store = start(&fixture);
    cr_assert_eq(store_run(store, settle_in, NULL), STORE_OK);
    cr_assert_eq(store_backup(fixture.directory, copy, NULL, fixture.error, sizeof fixture.error), STORE_OK);
    store_close(store);
    copy_file(copy, fixture.path);
    store = start(&fixture);
    cr_assert(store_restored(store)->restored, "a copy of the newest start says that it is one");
    cr_assert_not(stands(store));
    store_close(store);
    copy_file(fixture.path, copy);
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored);
    store_close(store);
    copy_file(copy, fixture.path);
    store = start(&fixture);
    cr_assert(store_restored(store)->restored, "an older start than the ledger's newest");
    store_close(store);
    fixture_close(&fixture);
}

static void add_line(const struct fixture *fixture, const char *kind, const char *id)
{
    char path[200];
    snprintf(path, sizeof path, "%s/erasures", fixture->directory);
    FILE *file = fopen(path, "ab");
    cr_assert_not_null(file);
    fprintf(file, "%s %s %lld\n", kind, id, (long long)NOW);
    fclose(file);
}

/* Lines are written before the commit of what they tell. A crash in between leaves a line of which the club's file
 * knows nothing, and is no restore: nobody is signed out. */
Test(store_ledger, a_crash_before_the_commit_is_no_restore)
{
    struct fixture fixture;
    char mark[UUID_TEXT], copy[200];
    fixture_directory(&fixture);
    snprintf(copy, sizeof copy, "%s/copy.db", fixture.directory);
    struct store *store = start(&fixture);
    cr_assert_eq(store_run(store, settle_in, NULL), STORE_OK);
    store_close(store);
    copy_file(fixture.path, copy);
    for (int crash = 0; crash < 2; crash++) {
        uuid7_new(mark);
        add_line(&fixture, "start", mark);
    }
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored, "starts that came to nothing");
    cr_assert(stands(store));
    store_close(store);
    add_line(&fixture, "student", ada);
    struct told told = {0};
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 0, "%s",
                 told.all);
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored, "an erasure that was written down and not done");
    cr_assert(stands(store));
    cr_assert_eq(number(store, "SELECT count(*) FROM student WHERE name = 'Ada Secret'"), 0, "it is done now");
    cr_assert_eq(number(store, "SELECT count(*) FROM audit WHERE action = 'student.erase' AND detail LIKE '%crash%'"),
                 1);
    store_close(store);
    copy_file(copy, fixture.path);
    cr_assert_eq(store_check(fixture.directory, remember, &told, fixture.error, sizeof fixture.error), 1, "%s",
                 told.all);
    store = start(&fixture);
    cr_assert(store_restored(store)->restored, "an older file is recognised all the same");
    cr_assert_not(stands(store));
    store_close(store);
    fixture_close(&fixture);
}

Test(store_ledger, a_lost_ledger_is_written_anew_and_a_broken_one_is_told)
{
    struct fixture fixture;
    char path[200], text[2000];
    fixture_directory(&fixture);
    snprintf(path, sizeof path, "%s/erasures", fixture.directory);
    struct store *store = start(&fixture);
    cr_assert_eq(store_run(store, settle_in, NULL), STORE_OK);
    cr_assert_eq(store_run(store, erase_ada, NULL), STORE_OK);
    store_close(store);
    cr_assert_eq(unlink(path), 0);
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored);
    cr_assert_not_null(strstr(ledger_text(&fixture, text, sizeof text), ada));
    store_close(store);
    FILE *file = fopen(path, "ab");
    fputs("student 0190", file);
    fclose(file);
    store = start(&fixture);
    cr_assert_not(store_restored(store)->restored, "a line that a crash cut short was never answered");
    store_close(store);
    file = fopen(path, "ab");
    fputs("student nobody 12\n", file);
    fclose(file);
    cr_assert_null(
        store_open(&(struct store_config){.directory = fixture.directory}, fixture.error, sizeof fixture.error));
    cr_assert_not_null(strstr(fixture.error, "erasures"), "%s", fixture.error);
    file = fopen(path, "wb"); /* zeros where a disk lost a line */
    fwrite("\0\0\0\0\n\0\n", 1, 7, file);
    fclose(file);
    cr_assert_null(
        store_open(&(struct store_config){.directory = fixture.directory}, fixture.error, sizeof fixture.error));
    cr_assert_not_null(strstr(fixture.error, "Line 1"), "%s", fixture.error);
    fixture_close(&fixture);
}

/* Where the line can't be written (here: a ledger opened for reading alone) the erasure doesn't happen either. */
Test(store_ledger, no_erasure_without_its_line)
{
    struct fixture fixture;
    char path[200];
    fixture_directory(&fixture);
    struct store *store = start(&fixture);
    cr_assert_eq(store_run(store, settle_in, NULL), STORE_OK);
    snprintf(path, sizeof path, "%s/erasures", fixture.directory);
    const int blind = open(path, O_RDONLY);
    const int kept = dup(store->ledger->file);
    cr_assert_eq(dup2(blind, store->ledger->file), store->ledger->file);
    cr_assert_eq(store_run(store, erase_ada, NULL), STORE_ERROR);
    struct store_student student;
    cr_assert_eq(store_student_get(store_reader(store), ada, fixture.arena, &student), STORE_OK);
    cr_assert_eq(number(store, "SELECT count(*) FROM ended"), 0);
    cr_assert_eq(dup2(kept, store->ledger->file), store->ledger->file);
    cr_assert_eq(store_run(store, erase_ada, NULL), STORE_OK, "and does once it can");
    close(blind);
    close(kept);
    store_close(store);
    fixture_close(&fixture);
}

Test(store_ledger, a_backup_replaces_ordinary_files_alone)
{
    struct fixture fixture;
    char to[200], target[200];
    struct stat status;
    fixture_open(&fixture);
    snprintf(target, sizeof target, "%s/target", fixture.directory);
    snprintf(to, sizeof to, "%s/to", fixture.directory);
    cr_assert_eq(symlink(target, to), 0);
    cr_assert_eq(store_backup(fixture.directory, to, NULL, fixture.error, sizeof fixture.error), STORE_INVALID);
    cr_assert_not_null(strstr(fixture.error, "ordinary"), "%s", fixture.error);
    cr_assert(lstat(to, &status) == 0 && S_ISLNK(status.st_mode) && access(target, F_OK) != 0);
    cr_assert_eq(unlink(to), 0);
    cr_assert_eq(mkfifo(to, 0600), 0);
    cr_assert_eq(store_backup(fixture.directory, to, NULL, fixture.error, sizeof fixture.error), STORE_INVALID);
    cr_assert(lstat(to, &status) == 0 && S_ISFIFO(status.st_mode));
    cr_assert_eq(unlink(to), 0);
    cr_assert_eq(mkdir(to, 0700), 0);
    cr_assert_eq(store_backup(fixture.directory, to, NULL, fixture.error, sizeof fixture.error), STORE_INVALID);
    cr_assert_eq(rmdir(to), 0);
    cr_assert_eq(store_backup(fixture.directory, "/dev/null", NULL, fixture.error, sizeof fixture.error),
                 STORE_INVALID);
    cr_assert(lstat("/dev/null", &status) == 0 && S_ISCHR(status.st_mode));
    cr_assert_eq(store_backup(fixture.directory, to, NULL, fixture.error, sizeof fixture.error), STORE_OK, "%s",
                 fixture.error);
    cr_assert_eq(store_backup(fixture.directory, to, NULL, fixture.error, sizeof fixture.error), STORE_OK, "again");
    cr_assert(lstat(to, &status) == 0 && S_ISREG(status.st_mode));
    fixture_close(&fixture);
}

/* A temporary club for the store's tests: a bare connection (rows) or a whole store (writing), and a few made-up
 * people. */
#ifndef LEADSIDE_TESTS_SERVER_STORE_FIXTURE_H
#define LEADSIDE_TESTS_SERVER_STORE_FIXTURE_H

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "store/club/audit.h"
#include "store/club/version.h"
#include "store/engine/parts.h"
#include "store/engine/query.h"
#include "store/lessons/lesson.h"
#include "store/lessons/swing.h"
#include "store/people/account.h"
#include "store/people/consent.h"
#include "store/people/session.h"
#include "store/people/student.h"
#include "store/practice/drill.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"

#define HOUR 3600000LL
#define NOW 1780000000000LL

struct fixture {
    char directory[64], path[128];
    struct store_db *db;
    struct arena *arena;
    char error[256];
};

static inline void fixture_directory(struct fixture *fixture)
{
    memset(fixture, 0, sizeof *fixture);
    strcpy(fixture->directory, "/tmp/leadside-store-XXXXXX");
    if (!mkdtemp(fixture->directory)) {
        abort();
    }
    snprintf(fixture->path, sizeof fixture->path, "%s/" STORE_FILE, fixture->directory);
    fixture->arena = arena_new(0);
}

static inline void fixture_connect(struct fixture *fixture)
{
    fixture->db = store_db_open(fixture->path, STORE_OPEN_WRITER, 1000, fixture->error, sizeof fixture->error);
    if (!fixture->db || store_migrate(fixture->db, embedded_migrations, embedded_migrations_count, fixture->error,
                                      sizeof fixture->error) != STORE_OK) {
        fprintf(stderr, "%s\n", fixture->error);
        abort();
    }
}

static inline void fixture_open(struct fixture *fixture)
{
    fixture_directory(fixture);
    fixture_connect(fixture);
}

static inline void fixture_close(struct fixture *fixture)
{
    store_db_close(fixture->db);
    arena_free(fixture->arena);
    DIR *directory = opendir(fixture->directory);
    for (struct dirent *entry; directory && (entry = readdir(directory));) {
        char path[400];
        snprintf(path, sizeof path, "%s/%s", fixture->directory, entry->d_name);
        unlink(path);
    }
    if (directory) {
        closedir(directory);
    }
    rmdir(fixture->directory);
}

static inline void audit_for(struct store_db *db, const char *kind, const char *id, const char *student)
{
    struct store_audit audit = {.at = NOW, .action = "made", .object_kind = kind, .detail = "{\"name\":\"secret\"}"};
    snprintf(audit.object_id, sizeof audit.object_id, "%.36s", id);
    snprintf(audit.student_id, sizeof audit.student_id, "%.36s", student);
    if (store_audit_add(db, &audit) != STORE_OK) {
        abort();
    }
}

static inline enum store_status make_account(struct store_db *db, enum store_role role, const char *sign_in,
                                             const char *student, char id[UUID_TEXT])
{
    struct store_account account = {.role = role, .name = "Somebody", .sign_in = sign_in, .created = NOW};
    uuid7_new(account.id);
    strcpy(id, account.id);
    strcpy(account.student_id, student);
    const enum store_status status = store_account_insert(db, &account, sign_in);
    if (status == STORE_OK) {
        audit_for(db, "account", id, student);
    }
    return status;
}

static inline enum store_status make_student(struct store_db *db, const char *name, char id[UUID_TEXT])
{
    struct store_student student = {.name = name, .hand = "right", .created = NOW};
    uuid7_new(student.id);
    strcpy(id, student.id);
    const enum store_status status = store_student_insert(db, &student);
    if (status == STORE_OK) {
        audit_for(db, "student", id, id);
    }
    return status;
}

static inline enum store_status make_junior(struct store_db *db, const char *name, char id[UUID_TEXT])
{
    struct store_student student = {.name = name, .hand = "right", .junior = true, .birth_year = 2014, .created = NOW};
    uuid7_new(student.id);
    strcpy(id, student.id);
    enum store_status status = store_student_insert(db, &student);
    if (status == STORE_OK) {
        struct store_consent consent = {.scope = "store_pictures", .said_by = "a parent", .given_at = NOW};
        uuid7_new(consent.id);
        strcpy(consent.student_id, student.id);
        status = store_consent_insert(db, &consent);
    }
    if (status == STORE_OK) {
        audit_for(db, "student", id, id);
    }
    return status;
}

static inline enum store_status make_swing(struct store_db *db, const char *student, const char *by,
                                           const char *document, char id[UUID_TEXT])
{
    struct store_swing swing = {.recorded_at = NOW, .received_at = NOW, .document = document};
    uuid7_new(swing.id);
    strcpy(id, swing.id);
    strcpy(swing.student_id, student);
    strcpy(swing.uploaded_by, by);
    swing.document_size = strlen(document);
    memset(swing.document_hash, 7, sizeof swing.document_hash);
    return store_swing_insert(db, &swing);
}

static inline enum store_status make_report(struct store_db *db, const char *swing, const char *lesson,
                                            const char *json)
{
    struct store_report report = {.standard = 1, .created = NOW, .json = json, .json_size = strlen(json)};
    uuid7_new(report.id);
    strcpy(report.swing_id, swing);
    strcpy(report.lesson_id, lesson);
    return store_report_insert(db, &report);
}

static inline enum store_status make_fix(struct store_db *db, const char *student, const char *by, const char *fault,
                                         char id[UUID_TEXT])
{
    struct store_fix fix = {.fault = fault, .opened_at = NOW, .reason = "comes first"};
    uuid7_new(fix.id);
    strcpy(id, fix.id);
    strcpy(fix.student_id, student);
    strcpy(fix.opened_by, by);
    const enum store_status status = store_fix_insert(db, &fix);
    if (status == STORE_OK) {
        audit_for(db, "fix", id, student);
    }
    return status;
}

static inline enum store_status make_drill(struct store_db *db, const char *id)
{
    struct store_drill drill = {.name = "A drill", .json = "{}", .built_in = true, .created = NOW};
    strcpy(drill.id, id);
    return store_drill_insert(db, &drill);
}

static inline enum store_status make_homework(struct store_db *db, const char *student, const char *fix, const char *by,
                                              const char *drill, char id[UUID_TEXT])
{
    struct store_homework homework = {.sessions_per_week = 4,
                                      .minutes = 12,
                                      .self_check_every = 2,
                                      .retest_at = NOW + 14 * 24 * HOUR,
                                      .created = NOW};
    uuid7_new(homework.id);
    strcpy(id, homework.id);
    strcpy(homework.student_id, student);
    strcpy(homework.fix_id, fix);
    strcpy(homework.drill_id, drill);
    strcpy(homework.assigned_by, by);
    return store_homework_insert(db, &homework);
}

static inline enum store_status make_standard(struct store_db *db, int64_t base)
{
    struct store_version standard = {.label = "default", .json = "{\"ranges\":[]}", .json_size = 13, .created = NOW};
    return store_version_insert(db, STORE_STANDARD, &standard, base);
}

#endif

/* Damage is noticed: whatever changes in a page of the file, a check tells of it, no copy of it is made, and no reader
 * is given what was not written. */
#include <criterion/criterion.h>
#include <fcntl.h>
#include <signal.h>
#include <sodium.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "store/engine/check.h"
#include "store/engine/ledger.h"
#include "store/engine/seal.h"
#include "store/lessons/note.h"
#include "store/open.h"
#include "store_fixture.h"

#define PAGE 4096
#define STUDENTS 12

static uint64_t seed = 11;

static uint32_t below(uint32_t limit)
{
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(seed >> 33) % limit;
}

static char students[STUDENTS][UUID_TEXT];
static char coach[UUID_TEXT];

static void make_long_swing(struct store_db *db, const char *student, size_t size)
{
    char *document = malloc(size + 1);
    char report[6000];
    struct store_swing swing = {.recorded_at = NOW, .received_at = NOW, .document = document, .document_size = size};
    for (size_t i = 0; i < size; i++) {
        document[i] = (char)('a' + below(26));
    }
    document[size] = '\0';
    memset(report, ' ', sizeof report);
    memcpy(report, "{\"measures\":[1,2,3]", 19);
    strcpy(report + 4000 + below(1900), "}");
    uuid7_new(swing.id);
    strcpy(swing.student_id, student);
    strcpy(swing.uploaded_by, coach);
    crypto_hash_sha256(swing.document_hash, (const unsigned char *)document, size);
    cr_assert_eq(store_swing_insert(db, &swing), STORE_OK);
    cr_assert_eq(make_report(db, swing.id, "", report), STORE_OK);
    free(document);
}

/* A club whose pages are of every kind, folded into the one file; some pages are free. */
static void make_club(struct fixture *fixture)
{
    fixture_open(fixture);
    struct store_db *db = fixture->db;
    cr_assert_eq(store_db_execute(db, "BEGIN"), STORE_OK);
    cr_assert_eq(make_account(db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_standard(db, 0), STORE_OK);
    for (int i = 0; i < STUDENTS; i++) {
        cr_assert_eq(make_student(db, "Ada", students[i]), STORE_OK);
        for (int k = 0; k < 4; k++) {
            make_long_swing(db, students[i], 200 + below(14000));
        }
        struct store_note note = {.text = "between coaches", .created = NOW};
        uuid7_new(note.id);
        strcpy(note.student_id, students[i]);
        strcpy(note.author, coach);
        cr_assert_eq(store_note_insert(db, &note), STORE_OK);
    }
    cr_assert_eq(store_student_erase(db, students[3]), STORE_OK);
    cr_assert_eq(store_db_execute(db, "COMMIT"), STORE_OK);
    store_db_close(db);
    fixture->db = NULL;
}

static unsigned char *load(const struct fixture *fixture, size_t *size)
{
    struct stat status;
    const int file = open(fixture->path, O_RDONLY);
    cr_assert_eq(fstat(file, &status), 0);
    *size = (size_t)status.st_size;
    unsigned char *bytes = malloc(*size);
    cr_assert_eq(read(file, bytes, *size), (ssize_t)*size);
    close(file);
    return bytes;
}

static void save(const struct fixture *fixture, const unsigned char *bytes, size_t size)
{
    char side[160];
    snprintf(side, sizeof side, "%s-wal", fixture->path);
    unlink(side);
    snprintf(side, sizeof side, "%s-shm", fixture->path);
    unlink(side);
    const int file = open(fixture->path, O_WRONLY | O_TRUNC);
    cr_assert_eq(write(file, bytes, size), (ssize_t)size);
    close(file);
}

/* The free pages of the file, by its own list (fileformat2 section 1.5): a leaf of it holds nothing. */
static void mark_free(const unsigned char *bytes, bool *is_free)
{
    const unsigned char *at = bytes + 32;
    for (uint32_t trunk = (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3]; trunk != 0;) {
        const unsigned char *page = bytes + (size_t)(trunk - 1) * PAGE;
        const uint32_t count = (uint32_t)page[6] << 8 | page[7];
        for (uint32_t i = 0; i < count; i++) {
            const unsigned char *leaf = page + 8 + 4 * i;
            is_free[((uint32_t)leaf[1] << 16 | (uint32_t)leaf[2] << 8 | leaf[3]) - 1] = true;
        }
        trunk = (uint32_t)page[0] << 24 | (uint32_t)page[1] << 16 | (uint32_t)page[2] << 8 | page[3];
    }
}

enum kind { ONE_BIT, ONE_BYTE, NOISE, ZEROS, TORN, SWAPPED, CUT, KINDS };

/* Damages page `number` (from 0) of the bytes; returns what is left of their size. */
static size_t damage(unsigned char *bytes, size_t size, uint32_t number, enum kind kind)
{
    unsigned char *page = bytes + (size_t)number * PAGE;
    const uint32_t pages = (uint32_t)(size / PAGE);
    switch (kind) {
    case ONE_BIT:
        page[below(PAGE)] ^= (unsigned char)(1u << below(8));
        break;
    case ONE_BYTE:
        page[below(PAGE)] += (unsigned char)(1 + below(255));
        break;
    case NOISE:
        for (int i = 0; i < PAGE; i++) {
            page[i] = (unsigned char)below(256);
        }
        break;
    case ZEROS:
        memset(page, 0, PAGE);
        break;
    case TORN: /* half of it from another time */
        for (int i = PAGE / 2; i < PAGE; i++) {
            page[i] ^= (unsigned char)(i % 7 == 0);
        }
        break;
    case SWAPPED: /* a sound page in the wrong place */
        memcpy(page, bytes + (size_t)((number + 1 + below(pages - 1)) % pages) * PAGE, PAGE);
        break;
    case CUT:
        return (size_t)number * PAGE + below(PAGE);
    case KINDS:
        break;
    }
    return size;
}

Test(store_seal, no_damage_of_a_page_is_told_sound)
{
    struct fixture fixture;
    char copy[160];
    size_t size;
    int told_sound = 0;
    int tried = 0;
    make_club(&fixture);
    snprintf(copy, sizeof copy, "%s/copy.db", fixture.directory);
    unsigned char *whole = load(&fixture, &size);
    const uint32_t pages = (uint32_t)(size / PAGE);
    bool *is_free = calloc(pages, sizeof *is_free);
    mark_free(whole, is_free);
    cr_assert_gt(pages, 150);
    cr_assert_eq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0, "%s",
                 fixture.error);
    unsigned char *hurt = malloc(size);
    int holds_nothing = 0;
    for (int i = 0; tried < 210; i++) {
        const uint32_t page = i < KINDS ? 0 : below(pages);
        const enum kind kind = (enum kind)(i % KINDS);
        if (is_free[page] && kind != CUT) {
            holds_nothing++;
            continue;
        }
        memcpy(hurt, whole, size);
        const size_t left = damage(hurt, size, page, kind);
        if (left == 0 || (left == size && memcmp(hurt, whole, size) == 0)) {
            continue;
        }
        tried++;
        save(&fixture, hurt, left);
        if (store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error) == 0) {
            told_sound++;
            fprintf(stderr, "page %u, kind %d: told sound\n", page + 1, kind);
        }
        if (i % 7 < 3 && store_backup(fixture.directory, copy, NULL, fixture.error, sizeof fixture.error) == STORE_OK) {
            told_sound++;
            fprintf(stderr, "page %u, kind %d: copied\n", page + 1, kind);
        }
    }
    fprintf(stderr, "%d damages of %u pages, %d told sound; %d tries met a free page\n", tried, pages, told_sound,
            holds_nothing);
    cr_assert_eq(told_sound, 0);
    free(hurt);
    free(whole);
    free(is_free);
    fixture_close(&fixture);
}

/* Reads everything that the interface could serve; false when refused. */
static bool read_all(struct store_db *db, struct arena *arena, bool *altered)
{
    struct store_student_list list;
    enum store_status status = store_student_list(db, &(struct store_page){.limit = 100}, arena, &list);
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        struct store_swing_list swings;
        status = store_swing_list(db, list.items[i].id, &(struct store_page){.limit = 100}, arena, &swings);
        for (size_t k = 0; k < swings.count && status == STORE_OK; k++) {
            struct store_report report;
            struct store_swing swing;
            unsigned char hash[crypto_hash_sha256_BYTES];
            status = store_report_of_swing(db, swings.items[k].id, arena, &report);
            *altered = *altered || (status == STORE_OK && (strncmp(report.json, "{\"measures\":[1,2,3] ", 20) != 0 ||
                                                           report.json[strlen(report.json) - 1] != '}'));
            if (status == STORE_OK) {
                status = store_swing_get(db, swings.items[k].id, true, arena, &swing);
            }
            if (status == STORE_OK) {
                crypto_hash_sha256(hash, (const unsigned char *)swing.document, swing.document_size);
                *altered = *altered || memcmp(hash, swing.document_hash, sizeof hash) != 0;
            }
        }
    }
    *altered = *altered || (status == STORE_OK && list.count != STUDENTS - 1);
    return status == STORE_OK;
}

Test(store_seal, what_was_not_written_is_not_served)
{
    struct fixture fixture;
    size_t size;
    int refused = 0;
    make_club(&fixture);
    unsigned char *whole = load(&fixture, &size);
    unsigned char *hurt = malloc(size);
    for (int i = 0; i < 120; i++) {
        bool altered = false;
        memcpy(hurt, whole, size);
        (void)damage(hurt, size, below((uint32_t)(size / PAGE)), (enum kind)(i % CUT));
        save(&fixture, hurt, size);
        struct arena *arena = arena_new(0);
        struct store_db *db = store_db_open(fixture.path, STORE_OPEN_READER, 0, fixture.error, sizeof fixture.error);
        if (!db || !read_all(db, arena, &altered)) {
            cr_assert(!db || db->last == STORE_CORRUPT, "%s", store_status_name(db->last));
            refused++;
        }
        cr_assert_not(altered, "%d", i);
        store_db_close(db);
        arena_free(arena);
    }
    cr_assert_gt(refused, 60);
    cr_assert_gt(seal_damage_count(), 60);
    free(whole);
    free(hurt);
    fixture_close(&fixture);
}

Test(store_seal, a_damaged_frame_of_the_log_is_refused)
{
    struct fixture fixture;
    char log[160];
    fixture_open(&fixture);
    snprintf(log, sizeof log, "%s-wal", fixture.path);
    cr_assert_eq(make_account(fixture.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_standard(fixture.db, 0), STORE_OK);
    cr_assert_eq(make_student(fixture.db, "Ada", students[0]), STORE_OK);
    make_long_swing(fixture.db, students[0], 30000);
    struct stat before;
    cr_assert_eq(stat(log, &before), 0);
    const int file = open(log, O_RDWR);
    /* the newest frames are the last pages of the document and its report */
    for (off_t at = before.st_size - 2000; at > before.st_size - 60000; at -= PAGE + 24) {
        unsigned char byte;
        cr_assert_eq(pread(file, &byte, 1, at), 1);
        byte ^= 64;
        cr_assert_eq(pwrite(file, &byte, 1, at), 1);
    }
    bool altered = false;
    struct store_db *db = store_db_open(fixture.path, STORE_OPEN_READER, 0, fixture.error, sizeof fixture.error);
    cr_assert_not(db && read_all(db, fixture.arena, &altered) && !altered, "read in spite of it");
    store_db_close(db);
    cr_assert_neq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0);
    close(file);
    fixture_close(&fixture);
}

/* SQLite writes a page of the log a second time when its memory is short in the middle of a transaction. */
Test(store_seal, a_long_transaction_that_spills_is_no_damage)
{
    struct fixture fixture;
    fixture_open(&fixture);
    struct store_db *db = fixture.db;
    const uint64_t before = seal_damage_count();
    cr_assert_eq(store_db_execute(db, "PRAGMA cache_size = 10"), STORE_OK);
    cr_assert_eq(make_account(db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_standard(db, 0), STORE_OK);
    for (int round = 0; round < 6; round++) {
        cr_assert_eq(store_db_execute(db, "BEGIN IMMEDIATE"), STORE_OK);
        for (int i = 0; i < 4; i++) {
            char id[UUID_TEXT];
            cr_assert_eq(make_student(db, "Ada", id), STORE_OK);
            make_long_swing(db, id, 60000);
            cr_assert_eq(store_db_execute(db, "UPDATE student SET wants = hex(randomblob(900))"), STORE_OK);
            cr_assert_eq(store_db_execute(db, "UPDATE swing SET recorded_at = recorded_at + 1"), STORE_OK);
        }
        cr_assert_eq(store_db_execute(db, round % 3 == 1 ? "ROLLBACK" : "COMMIT"), STORE_OK);
    }
    cr_assert_eq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0, "%s",
                 fixture.error);
    cr_assert_eq(seal_damage_count(), before);
    cr_assert_gt(store_db_changes(db), 100);
    fixture_close(&fixture);
}

/* A file as the first release made it, through SQLite alone, still open; `notes` long rows. */
static sqlite3 *make_plain(const struct fixture *fixture, int notes)
{
    sqlite3 *plain;
    char sql[600];
    cr_assert_eq(sqlite3_open(fixture->path, &plain), SQLITE_OK);
    cr_assert_eq(sqlite3_exec(plain, "PRAGMA journal_mode = WAL", NULL, NULL, NULL), SQLITE_OK);
    for (size_t i = 0; i < 3; i++) {
        cr_assert_eq(sqlite3_exec(plain, (const char *)embedded_migrations[i].data, NULL, NULL, NULL), SQLITE_OK);
    }
    snprintf(sql, sizeof sql,
             "PRAGMA user_version = 3; PRAGMA application_id = 0x4C656164; "
             "INSERT INTO club (id, name, created) VALUES (1, 'Larkfield Heath', 1);"
             "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < %d) "
             "INSERT INTO standard (number, label, created, json) SELECT i, 'x', 1, hex(zeroblob(4000)) FROM n",
             notes);
    cr_assert_eq(sqlite3_exec(plain, sql, NULL, NULL, NULL), SQLITE_OK, "%s", sqlite3_errmsg(plain));
    return plain;
}

Test(store_seal, a_kill_while_a_file_gets_its_seals_loses_nothing)
{
    struct fixture fixture;
    int unsealed = 0;
    int sealed = 0;
    fixture_directory(&fixture);
    for (int round = 0; round < 12; round++) {
        (void)unlink(fixture.path);
        cr_assert_eq(sqlite3_close(make_plain(&fixture, 500)), SQLITE_OK);
        const pid_t child = fork();
        if (child == 0) {
            char error[256];
            _exit(store_seal_file(fixture.path, 1000, error, sizeof error) == STORE_OK ? 0 : 1);
        }
        usleep(below(20000) * (uint32_t)(round + 1));
        kill(child, SIGKILL);
        int status;
        cr_assert_eq(waitpid(child, &status, 0), child);
        unsealed += store_seal_needed(fixture.path);
        sealed += !store_seal_needed(fixture.path);
        struct store *store = store_open(&(struct store_config){.directory = fixture.directory, .must_exist = true},
                                         fixture.error, sizeof fixture.error);
        cr_assert_not_null(store, "%s", fixture.error);
        int64_t rows = 0;
        cr_assert_eq(
            store_db_number(store_reader(store), "SELECT count(*) FROM standard WHERE length(json) = 8000", &rows),
            STORE_OK);
        cr_assert_eq(rows, 500);
        store_close(store);
        char part[160];
        snprintf(part, sizeof part, "%s.sealing", fixture.path);
        cr_assert_neq(access(part, F_OK), 0, "what was begun is gone");
        cr_assert_eq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0, "%s",
                     fixture.error);
    }
    fprintf(stderr, "12 kills: %d before the new file was in place, %d after\n", unsealed, sealed);
    cr_assert_gt(unsealed, 0);
    fixture_close(&fixture);
}

Test(store_seal, a_file_without_seals_gets_them_once)
{
    struct fixture fixture;
    fixture_directory(&fixture);
    sqlite3 *plain = make_plain(&fixture, 3);
    const struct store_config config = {.directory = fixture.directory, .must_exist = true, .busy_timeout_ms = 50};
    cr_assert_null(store_open(&config, fixture.error, sizeof fixture.error), "another program has it open");
    cr_assert_not_null(strstr(fixture.error, "another program"), "%s", fixture.error);
    cr_assert_eq(sqlite3_close(plain), SQLITE_OK);
    char copy[160];
    snprintf(copy, sizeof copy, "%s/old.db", fixture.directory);
    cr_assert_eq(store_backup(fixture.directory, copy, NULL, fixture.error, sizeof fixture.error), STORE_OK, "%s",
                 fixture.error);
    struct stat old;
    cr_assert_eq(stat(fixture.path, &old), 0);
    struct store *store = store_open(&config, fixture.error, sizeof fixture.error);
    cr_assert_not_null(store, "%s", fixture.error);
    cr_assert(store_db_sealed(store_reader(store)));
    int64_t clubs = 0;
    cr_assert_eq(store_db_number(store_reader(store), "SELECT count(*) FROM club", &clubs), STORE_OK);
    cr_assert_eq(clubs, 1);
    store_close(store);
    struct stat sealed;
    struct stat again;
    cr_assert_eq(stat(fixture.path, &sealed), 0);
    cr_assert_neq(sealed.st_ino, old.st_ino, "written anew");
    cr_assert_eq(sealed.st_mode, old.st_mode);
    cr_assert_eq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0, "%s",
                 fixture.error);
    store = store_open(&config, fixture.error, sizeof fixture.error);
    cr_assert_not_null(store, "%s", fixture.error);
    store_close(store);
    cr_assert_eq(stat(fixture.path, &again), 0);
    cr_assert_eq(sealed.st_ino, again.st_ino, "once");
    /* any SQLite reads it */
    sqlite3_stmt *statement;
    cr_assert_eq(sqlite3_open_v2(fixture.path, &plain, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
    cr_assert_eq(sqlite3_prepare_v2(plain, "PRAGMA integrity_check", -1, &statement, NULL), SQLITE_OK);
    cr_assert_eq(sqlite3_step(statement), SQLITE_ROW);
    cr_assert_str_eq((const char *)sqlite3_column_text(statement, 0), "ok");
    sqlite3_finalize(statement);
    sqlite3_close(plain);
    fixture_close(&fixture);
}

/* The worked example is SQLite's own: every frame it ever writes must have the sum that is worked out here. */
Test(store_seal, the_sums_of_a_log_are_those_of_sqlite)
{
    struct fixture fixture;
    char log[160];
    fixture_open(&fixture);
    snprintf(log, sizeof log, "%s-wal", fixture.path);
    cr_assert_eq(make_student(fixture.db, "Ada", students[0]), STORE_OK);
    FILE *file = fopen(log, "rb");
    unsigned char head[32];
    unsigned char frame[24 + PAGE];
    cr_assert_eq(fread(head, 1, sizeof head, file), sizeof head);
    uint32_t sum[2] = {0, 0};
    int frames = 0;
    const bool big = (head[3] & 1) != 0;
    seal_log_sum(big, head, 24, sum);
    while (fread(frame, 1, sizeof frame, file) == sizeof frame) {
        seal_log_sum(big, frame, 8, sum);
        seal_log_sum(big, frame + 24, PAGE, sum);
        for (int i = 0; i < 8; i++) {
            cr_assert_eq(frame[16 + i], (unsigned char)(sum[i / 4] >> (24 - 8 * (i % 4))), "frame %d", frames);
        }
        frames++;
    }
    cr_assert_gt(frames, 20);
    fclose(file);
    fixture_close(&fixture);
}

/* The floor under a durable upload: SQLite alone in one process and one thread, storing a document and its report in
 * one row (WAL, synchronous=FULL), BATCH rows a commit. bench_sqlite FILE SECONDS DOCUMENT-BYTES REPORT-BYTES BATCH;
 * prints rows a second. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec * 1e-9;
}

static void run(sqlite3 *db, const char *sql)
{
    char *error = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &error) != SQLITE_OK) {
        fprintf(stderr, "bench_sqlite: %s: %s\n", sql, error);
        exit(1);
    }
}

int main(int argc, char **argv)
{
    if (argc != 6) {
        fprintf(stderr, "usage: bench_sqlite FILE SECONDS DOCUMENT-BYTES REPORT-BYTES BATCH\n");
        return 2;
    }
    double seconds = strtod(argv[2], NULL);
    int document = (int)strtol(argv[3], NULL, 10), report = (int)strtol(argv[4], NULL, 10);
    int batch = (int)strtol(argv[5], NULL, 10);
    char *bytes = malloc((size_t)(document > report ? document : report) + 1);
    sqlite3 *db;
    sqlite3_stmt *insert;
    if (bytes == NULL || sqlite3_open(argv[1], &db) != SQLITE_OK) {
        return 1;
    }
    memset(bytes, 'x', (size_t)(document > report ? document : report));
    run(db, "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
            "CREATE TABLE swing (number INTEGER PRIMARY KEY, id TEXT NOT NULL, document BLOB, report TEXT) STRICT;"
            "CREATE UNIQUE INDEX swing_by_id ON swing (id)");
    if (sqlite3_prepare_v2(db, "INSERT INTO swing (id, document, report) VALUES (?1, ?2, ?3)", -1, &insert, NULL) !=
        SQLITE_OK) {
        return 1;
    }
    long rows = 0;
    double begun = now();
    double spent = 0;
    while ((spent = now() - begun) < seconds) {
        run(db, "BEGIN IMMEDIATE");
        for (int i = 0; i < batch; i++) {
            char id[64];
            snprintf(id, sizeof id, "%012ld-0000-7000-8000-00000000", rows++);
            sqlite3_bind_text(insert, 1, id, -1, SQLITE_TRANSIENT);
            sqlite3_bind_blob(insert, 2, bytes, document, SQLITE_STATIC);
            sqlite3_bind_text(insert, 3, bytes, report, SQLITE_STATIC);
            if (sqlite3_step(insert) != SQLITE_DONE) {
                fprintf(stderr, "bench_sqlite: %s\n", sqlite3_errmsg(db));
                return 1;
            }
            sqlite3_reset(insert);
        }
        run(db, "COMMIT");
    }
    printf("%.0f\n", (double)rows / spent);
    sqlite3_finalize(insert);
    sqlite3_close(db);
    free(bytes);
    return 0;
}

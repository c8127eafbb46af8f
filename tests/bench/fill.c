/* Grows a demo club to the size asked for: bench_fill DATA-DIRECTORY FILL.SQL STUDENTS SWINGS COACHES. The rows are the
 * demo's own, copied under other names (fill.sql), so their sizes are true; prints the seconds it took. */
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "store/club/audit.h"
#include "store/engine/connection.h"
#include "store/open.h"

#define PART 5000

struct step {
    const char *sql;
    long from, to;
};

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec * 1e-9;
}

static char *read_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    static char text[32768];
    if (file == NULL) {
        return NULL;
    }
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return text;
}

/* Cuts the file at its headings; NULL when one is missing. */
static char *section(char *text, const char *heading)
{
    char *at = strstr(text, heading);
    if (at == NULL) {
        return NULL;
    }
    *at = '\0';
    return at + strlen(heading);
}

static enum store_status run(struct store_db *db, void *argument)
{
    struct step *step = argument;
    char part[320];
    snprintf(part, sizeof part,
             "DROP TABLE IF EXISTS temp.part; CREATE TEMP TABLE part (n INTEGER PRIMARY KEY);"
             "INSERT INTO part WITH RECURSIVE up(n) AS (SELECT %ld UNION ALL SELECT n + 1 FROM up WHERE n + 1 < %ld) "
             "SELECT n "
             "FROM up",
             step->from, step->to);
    store_audit_waive(db);
    enum store_status status = store_db_execute(db, part);
    return status == STORE_OK ? store_db_execute(db, step->sql) : status;
}

static int go(struct store *store, const char *what, struct step step)
{
    enum store_status status = store_run(store, run, &step);
    if (status != STORE_OK) {
        fprintf(stderr, "bench_fill: %s %ld: store status %d\n", what, step.from, (int)status);
    }
    return status == STORE_OK;
}

int main(int argc, char **argv)
{
    char error[300] = "", want[200];
    char *once = argc == 6 ? read_file(argv[2]) : NULL;
    char *last = once != NULL ? section(once, "-- last\n") : NULL;
    char *part = once != NULL ? section(once, "-- part\n") : NULL;
    if (last == NULL || part == NULL || sodium_init() < 0) {
        fprintf(stderr, "usage: bench_fill DATA-DIRECTORY FILL.SQL STUDENTS SWINGS COACHES\n");
        return 2;
    }
    long students = strtol(argv[3], NULL, 10), swings = strtol(argv[4], NULL, 10), coaches = strtol(argv[5], NULL, 10);
    struct store *store = store_open(&(struct store_config){.directory = argv[1]}, error, sizeof error);
    if (store == NULL) {
        fprintf(stderr, "bench_fill: %s\n", error);
        return 1;
    }
    double begun = now();
    snprintf(want, sizeof want,
             "CREATE TEMP TABLE want (students INTEGER, swings INTEGER, coaches INTEGER);"
             "INSERT INTO want VALUES (%ld, %ld, %ld)",
             students, swings, coaches);
    int good = go(store, "want", (struct step){.sql = want}) && go(store, "once", (struct step){.sql = once});
    for (long n = 0; good && n < swings; n += PART) {
        good = go(store, "swings", (struct step){.sql = part, .from = n, .to = n + PART < swings ? n + PART : swings});
    }
    good = good && go(store, "last", (struct step){.sql = last});
    store_close(store);
    printf("filled_s %.1f\n", now() - begun);
    return good ? 0 : 1;
}

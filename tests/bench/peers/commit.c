/* A bare server to compare with: libmicrohttpd and SQLite as Leadside uses them, with group commit and an index, and
 * nothing else: no rights, no reading of what comes, no score, no report, no packing, no seal. bench_commit PORT FILE:
 * POST keeps the body as a row and answers 201 when it is on disk; GET answers the row of the body's first upload. Runs
 * until SIGTERM. */
#include <microhttpd.h>
#include <netinet/in.h>
#include <pthread.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define BODY_MAX ((size_t)1 << 20)
#define WAITING_MAX 1024

struct upload {
    struct MHD_Connection *connection;
    char *body;
    size_t size, room;
    int kept; /* 1 = on disk, -1 = it could not be */
};

static struct {
    pthread_mutex_t mutex;
    pthread_cond_t work;
    struct upload *waiting[WAITING_MAX];
    int count;
    int ending;
    sqlite3 *db;
    sqlite3_stmt *insert;
    const char *file;
} store = {.mutex = PTHREAD_MUTEX_INITIALIZER, .work = PTHREAD_COND_INITIALIZER};

static void fail(const char *what)
{
    fprintf(stderr, "bench_commit: %s\n", what);
    exit(1);
}

static void run(sqlite3 *db, const char *sql)
{
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK) {
        fail(sqlite3_errmsg(db));
    }
}

static int keep(const struct upload *upload)
{
    unsigned char id[16];
    sqlite3_randomness(sizeof id, id);
    sqlite3_bind_blob(store.insert, 1, id, sizeof id, SQLITE_TRANSIENT);
    sqlite3_bind_blob(store.insert, 2, upload->body, (int)upload->size, SQLITE_STATIC);
    const int code = sqlite3_step(store.insert);
    sqlite3_reset(store.insert);
    return code == SQLITE_DONE ? 1 : -1;
}

static void *write_loop(void *unused)
{
    static struct upload *batch[WAITING_MAX];
    pthread_mutex_lock(&store.mutex);
    while (!store.ending || store.count > 0) {
        if (store.count == 0) {
            pthread_cond_wait(&store.work, &store.mutex);
            continue;
        }
        const int count = store.count;
        memcpy(batch, store.waiting, (size_t)count * sizeof *batch);
        store.count = 0;
        pthread_mutex_unlock(&store.mutex);
        run(store.db, "BEGIN IMMEDIATE");
        for (int i = 0; i < count; i++) {
            batch[i]->kept = keep(batch[i]);
        }
        run(store.db, "COMMIT");
        for (int i = 0; i < count; i++) {
            MHD_resume_connection(batch[i]->connection);
        }
        pthread_mutex_lock(&store.mutex);
    }
    pthread_mutex_unlock(&store.mutex);
    return unused;
}

static enum MHD_Result reply(struct MHD_Connection *connection, unsigned status, char *text, size_t size,
                             enum MHD_ResponseMemoryMode mode)
{
    struct MHD_Response *response = MHD_create_response_from_buffer(size, text, mode);
    MHD_add_response_header(response, "Content-Type", "application/json");
    const enum MHD_Result result = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return result;
}

/* By a connection of this thread's own, as Leadside has. */
static enum MHD_Result row_reply(struct MHD_Connection *connection)
{
    static _Thread_local sqlite3_stmt *read;
    if (read == NULL) {
        sqlite3 *db;
        if (sqlite3_open_v2(store.file, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK ||
            sqlite3_prepare_v3(db, "SELECT document FROM swing WHERE number = 1", -1, SQLITE_PREPARE_PERSISTENT, &read,
                               NULL) != SQLITE_OK) {
            fail("can't read");
        }
    }
    enum MHD_Result result = MHD_NO;
    if (sqlite3_step(read) == SQLITE_ROW) {
        const size_t size = (size_t)sqlite3_column_bytes(read, 0);
        char *copy = malloc(size + 1);
        if (copy != NULL) {
            memcpy(copy, sqlite3_column_blob(read, 0), size);
            result = reply(connection, MHD_HTTP_OK, copy, size, MHD_RESPMEM_MUST_FREE);
        }
    }
    sqlite3_reset(read);
    return result;
}

static int take(struct upload *upload, const char *bytes, size_t size)
{
    if (upload->size + size > BODY_MAX) {
        return 0;
    }
    if (upload->size + size > upload->room) {
        char *larger = realloc(upload->body, 2 * (upload->size + size));
        if (larger == NULL) {
            return 0;
        }
        upload->body = larger;
        upload->room = 2 * (upload->size + size);
    }
    memcpy(upload->body + upload->size, bytes, size);
    upload->size += size;
    return 1;
}

static enum MHD_Result answer(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                              const char *version, const char *bytes, size_t *size, void **state)
{
    static char good[] = "{\"kept\":true}";
    struct upload *upload = *state;
    (void)context;
    (void)url;
    (void)version;
    if (upload == NULL) {
        upload = calloc(1, sizeof *upload);
        *state = upload;
        return upload == NULL ? MHD_NO : MHD_YES;
    }
    if (strcmp(method, "POST") != 0) {
        return row_reply(connection);
    }
    if (*size > 0) {
        const int taken = take(upload, bytes, *size);
        *size = 0;
        return taken ? MHD_YES : MHD_NO;
    }
    if (upload->kept != 0) {
        return upload->kept > 0 ? reply(connection, MHD_HTTP_CREATED, good, sizeof good - 1, MHD_RESPMEM_PERSISTENT)
                                : MHD_NO;
    }
    pthread_mutex_lock(&store.mutex);
    const int full = store.count == WAITING_MAX;
    if (!full) {
        upload->connection = connection;
        MHD_suspend_connection(connection);
        store.waiting[store.count++] = upload;
        pthread_cond_signal(&store.work);
    }
    pthread_mutex_unlock(&store.mutex);
    return full ? MHD_NO : MHD_YES;
}

static void completed(void *context, struct MHD_Connection *connection, void **state,
                      enum MHD_RequestTerminationCode code)
{
    struct upload *upload = *state;
    (void)context;
    (void)connection;
    (void)code;
    if (upload != NULL) {
        free(upload->body);
        free(upload);
    }
}

int main(int argc, char **argv)
{
    sigset_t stop;
    pthread_t writer;
    int signal_number;
    if (argc != 3) {
        fail("usage: bench_commit PORT FILE");
    }
    store.file = argv[2];
    if (sqlite3_open(store.file, &store.db) != SQLITE_OK) {
        fail("can't open the file");
    }
    run(store.db, "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
                  "CREATE TABLE swing (number INTEGER PRIMARY KEY, id BLOB NOT NULL UNIQUE, document BLOB) STRICT");
    if (sqlite3_prepare_v2(store.db, "INSERT INTO swing (id, document) VALUES (?1, ?2)", -1, &store.insert, NULL) !=
        SQLITE_OK) {
        fail(sqlite3_errmsg(store.db));
    }
    sigemptyset(&stop);
    sigaddset(&stop, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &stop, NULL);
    if (pthread_create(&writer, NULL, write_loop, NULL) != 0) {
        fail("no thread");
    }
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)strtoul(argv[1], NULL, 10))};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const long cores = sysconf(_SC_NPROCESSORS_ONLN);
    struct MHD_Daemon *daemon = MHD_start_daemon(
        MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, 0, NULL, NULL, answer, NULL, MHD_OPTION_SOCK_ADDR,
        &address, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)(cores > 1 ? cores : 2), MHD_OPTION_CONNECTION_LIMIT, 1024U,
        MHD_OPTION_NOTIFY_COMPLETED, completed, NULL, MHD_OPTION_END);
    if (daemon == NULL) {
        fail("can't listen");
    }
    sigwait(&stop, &signal_number);
    pthread_mutex_lock(&store.mutex);
    store.ending = 1;
    pthread_cond_signal(&store.work);
    pthread_mutex_unlock(&store.mutex);
    pthread_join(writer, NULL);
    MHD_stop_daemon(daemon);
    sqlite3_finalize(store.insert);
    sqlite3_close(store.db);
    return 0;
}

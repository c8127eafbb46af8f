/* leadside serve: the daemon. Start order: store, hash thread, api, listener. Stop order: new requests are told 503,
 * new writes are refused, listeners are told, the queues are emptied (which wakes every parked request), answers go
 * out, then all is freed.
 */
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "api/club/standard_work.h"
#include "api/frame/api.h"
#include "command.h"
#include "handed.h"
#include "notify.h"
#include "seed.h"
#include "store/engine/check.h"
#include "store/engine/ledger.h"
#include "store/open.h"
#include "wire/json/load.h"
#include "words/words.h"

/* Files and the like that are not connections: for the whole, and for each thread (two of SQLite's, two of epoll's,
 * one for a moment). */
#define OWN_DESCRIPTORS 24
#define THREAD_DESCRIPTORS 5
#define LAST_ANSWERS_MS 20000 /* longest wait for answers under way when stopping */

const char usage_serve[] =
    "usage: leadside serve --data DIR [options]\n"
    "  --data DIR           the club's folder (made by leadside init)\n"
    "  --listen ADDR:PORT   where to listen; default 127.0.0.1:8470, port 0 = any free one, [::1]:8470 for IPv6;\n"
    "                       a socket that the service manager hands over (LISTEN_FDS) comes first\n"
    "  --log FILE|-|none    one JSON line per request; - = standard output; default none; SIGHUP opens the file anew\n"
    "  --threads N          HTTP threads; default one per core\n"
    "  --connections N      most connections at once; default 1024\n"
    "  --per-address N      most connections from one address; default 64, or no limit on a loopback address\n"
    "  --per-client N       behind a proxy: most requests of one caller at the same time; default 64, 0 = no limit\n"
    "  --idle SECONDS       silence before a connection is closed; default 60\n"
    "  --idle-exit SECONDS  of a socket that the service manager hands over: ends after so long without a connection\n"
    "  --deadline SECONDS   time for the whole of a request to come in; default 30\n"
    "  --memory MIB         most memory for bodies and for answers not yet fetched; default 256\n"
    "  --account-memory MIB of it for one account; default 48\n"
    "  --pose DIR           the pose library (deploy/fetch-pose), for points found in pictures; default none\n"
    "  --behind-proxy       a TLS proxy is in front: Secure cookies, callers' addresses from X-Forwarded-For\n"
    "  --no-throttle        no limits on how often (for measuring)\n"
    "  --commit-each        one commit for every write instead of one for many (for measuring)\n";

struct options {
    const char *data, *log, *pose;
    char address[HANDED_ADDRESS]; /* a path with port 0 = of a socket that was handed over */
    int handed;                   /* 0 = none was */
    unsigned port, threads, connections, per_address, per_client, idle, idle_exit, deadline, memory, account_memory;
    bool has_per_address, behind_proxy, no_throttle, commit_each;
};

struct running {
    struct store *store;
    struct password_pool *passwords;
    struct throttle *throttle;
    struct api *api;
    struct http_server *server;
    struct notify notify;
    int log_fd;
    uint64_t jobs; /* finished when the last sign of life was given */
};

/* ---- options ---- */

static bool read_number(const char *text, unsigned most, unsigned *out)
{
    char *end = NULL;
    errno = 0;
    unsigned long value = strtoul(text, &end, 10);
    if (*text < '0' || *text > '9' || *end != '\0' || errno != 0 || value > most) {
        return false;
    }
    *out = (unsigned)value;
    return true;
}

/* "127.0.0.1:8470", "[::1]:8470" */
static bool read_listen(const char *text, struct options *options)
{
    const char *colon = strrchr(text, ':');
    if (colon == NULL || !read_number(colon + 1, 65535, &options->port)) {
        return false;
    }
    size_t length = (size_t)(colon - text);
    if (length > 2 && text[0] == '[' && colon[-1] == ']') {
        text++;
        length -= 2;
    }
    if (length == 0 || length >= sizeof options->address) {
        return false;
    }
    memcpy(options->address, text, length);
    options->address[length] = '\0';
    return true;
}

/* One option with its value; false when unknown or unreadable. */
static bool read_option(struct options *options, const char *name, const char *value)
{
    if (strcmp(name, "--data") == 0) {
        options->data = value;
        return true;
    }
    if (strcmp(name, "--log") == 0) {
        options->log = value;
        return true;
    }
    if (strcmp(name, "--pose") == 0) {
        options->pose = value;
        return true;
    }
    if (strcmp(name, "--listen") == 0) {
        return read_listen(value, options);
    }
    if (strcmp(name, "--per-address") == 0) {
        options->has_per_address = true;
        return read_number(value, 100000, &options->per_address);
    }
    const struct {
        const char *name;
        unsigned most;
        unsigned *out;
    } numbers[] = {
        {"--threads", 256, &options->threads},          {"--connections", 100000, &options->connections},
        {"--per-client", 100000, &options->per_client}, {"--idle", 3600, &options->idle},
        {"--idle-exit", 86400, &options->idle_exit},    {"--deadline", 3600, &options->deadline},
        {"--memory", 65536, &options->memory},          {"--account-memory", 65536, &options->account_memory}};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        if (strcmp(name, numbers[i].name) == 0) {
            return read_number(value, numbers[i].most, numbers[i].out);
        }
    }
    return false;
}

static bool read_options(struct options *options, int argc, char **argv)
{
    *options = (struct options){.address = "127.0.0.1", .port = 8470, .per_client = 64};
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--behind-proxy") == 0) {
            options->behind_proxy = true;
        } else if (strcmp(argv[i], "--no-throttle") == 0) {
            options->no_throttle = true;
        } else if (strcmp(argv[i], "--commit-each") == 0) {
            options->commit_each = true;
        } else if (i + 1 < argc && read_option(options, argv[i], argv[i + 1])) {
            i++;
        } else {
            fprintf(stderr, "leadside serve: can't use \"%s\"\n", argv[i]);
            return false;
        }
    }
    if (options->data == NULL) {
        fputs("leadside serve: --data is missing\n", stderr);
        return false;
    }
    options->connections = options->connections == 0 ? 1024 : options->connections;
    return true;
}

/* With the socket that was handed over instead of one of its own, where there is one. */
static bool choose_socket(struct options *options, char *error, size_t error_size)
{
    struct handed handed;
    if (!handed_take(&handed, error, error_size)) {
        return false;
    }
    options->handed = handed.socket;
    if (handed.socket > 0) {
        memcpy(options->address, handed.address, sizeof handed.address);
        options->port = handed.port;
    } else if (options->idle_exit > 0) {
        (void)snprintf(error, error_size,
                       "--idle-exit needs a socket that the service manager hands over (LISTEN_FDS), "
                       "or nobody would start it again");
        return false;
    }
    const bool local = strncmp(options->address, "127.", 4) == 0 || strcmp(options->address, "::1") == 0 ||
                       (handed.socket > 0 && handed.port == 0);
    if (!options->has_per_address) {
        options->per_address = local || options->behind_proxy ? 0 : 64;
    }
    return true;
}

/* ---- starting ---- */

static int open_log(const char *name)
{
    if (name == NULL || strcmp(name, "none") == 0) {
        return -1;
    }
    if (strcmp(name, "-") == 0) {
        return dup(STDOUT_FILENO);
    }
    return open(name, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0640);
}

/* The log's own descriptor now leads to a new file: whoever is writing goes on without noticing. When the new file
 * can't be had, the old one is written on. */
static void reopen_log(const struct running *running, const char *name)
{
    if (running->log_fd < 0 || strcmp(name, "-") == 0) {
        return;
    }
    const int fresh = open_log(name);
    if (fresh < 0 || dup2(fresh, running->log_fd) < 0 || fcntl(running->log_fd, F_SETFD, FD_CLOEXEC) < 0) {
        fprintf(stderr, "leadside serve: can't reopen the log %s: %s\n", name, strerror(errno));
    }
    if (fresh >= 0) {
        close(fresh);
    }
}

/* Connections need descriptors: as many as we are allowed. */
static void raise_descriptor_limit(void)
{
    struct rlimit limit;
    if (getrlimit(RLIMIT_NOFILE, &limit) == 0 && limit.rlim_cur < limit.rlim_max) {
        limit.rlim_cur = limit.rlim_max < 65536 ? limit.rlim_max : 65536;
        (void)setrlimit(RLIMIT_NOFILE, &limit);
    }
}

/* A connection that there is no descriptor for is never waited for in peace: the library asks for it again and again.
 * So no more connections are taken than there are descriptors. False when there are too few for anything. */
static bool fit_connections(struct options *options, char *error, size_t error_size)
{
    struct rlimit limit;
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    rlim_t threads = options->threads > 0 ? options->threads : cores < 1 ? 1 : (rlim_t)cores;
    rlim_t own = OWN_DESCRIPTORS + threads * THREAD_DESCRIPTORS + 2 * (rlim_t)standard_work_threads();
    if (getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur == RLIM_INFINITY) {
        return true;
    }
    rlim_t least = own + threads;
    if (limit.rlim_cur < least) {
        (void)snprintf(error, error_size, "%llu descriptors are too few: allow %llu or more (LimitNOFILE=, ulimit -n)",
                       (unsigned long long)limit.rlim_cur, (unsigned long long)least);
        return false;
    }
    rlim_t room = limit.rlim_cur - own;
    if (options->connections > room) {
        options->connections = (unsigned)room;
        fprintf(stderr, "leadside serve: %llu descriptors leave room for %u connections at once\n",
                (unsigned long long)limit.rlim_cur, options->connections);
    }
    return true;
}

static struct throttle *make_throttle(const struct options *options)
{
    struct throttle_config config = throttle_defaults();
    if (options->no_throttle) {
        memset(config.rates, 0, sizeof config.rates);
    }
    return throttle_new(&config);
}

static void tell_restored(const struct store_restored *told, bool had_ledger)
{
    if (told->restored && !had_ledger) {
        fprintf(stderr,
                "leadside serve: WARNING: the club's file is a restored copy and no ledger (erasures) lay beside "
                "it: whoever was erased after it was made is in it again. Every session, link and calendar feed "
                "was ended.\n");
    } else if (told->restored) {
        fprintf(stderr,
                "leadside serve: the club's file is a restored copy: every session, link and calendar feed was ended; "
                "erased again from the ledger: %d students, %d accounts; revoked again: %d tablets\n",
                told->ended[STORE_ENDED_STUDENT], told->ended[STORE_ENDED_ACCOUNT], told->ended[STORE_ENDED_DEVICE]);
    }
}

static enum store_status renew(struct store_db *db, void *argument)
{
    const int64_t *now = argument;
    return seed_renew_drills(db, *now);
}

/* The club's file, brought up to this program; what its owner must know of it goes to standard error. */
static bool open_club(struct running *running, const struct options *options, char *error, size_t error_size)
{
    const struct store_config store = {
        .directory = options->data, .must_exist = true, .commit_each = options->commit_each};
    json_load_prepare();
    store_prepare_threads();
    const bool had_ledger = store_has_ledger(options->data);
    running->store = store_open(&store, error, error_size);
    if (running->store == NULL) {
        return false;
    }
    int64_t now = clock_now_ms();
    const enum store_status renewed = store_run(running->store, renew, &now);
    if (renewed != STORE_OK) {
        /* A full disk is no reason not to serve what is there. */
        fprintf(stderr, "leadside serve: the built-in drills could not be renewed: %s\n", store_status_name(renewed));
    }
    tell_restored(store_restored(running->store), had_ledger);
    if (store_was_readable(running->store)) {
        fprintf(stderr,
                "leadside serve: WARNING: the club's file in %s could be read by others on this machine; it is now its "
                "owner's alone. Whoever had an account here may have copied it.\n",
                options->data);
    }
    return true;
}

/* The first fault is in error; whatever was started is in running. */
static bool start(struct running *running, const struct options *options, char *error, size_t error_size)
{
    running->log_fd = open_log(options->log);
    if (running->log_fd < 0 && options->log != NULL && strcmp(options->log, "none") != 0) {
        snprintf(error, error_size, "can't write the log %s: %s", options->log, strerror(errno));
        return false;
    }
    uint8_t secret[SECRET_BYTES];
    if (!open_club(running, options, error, error_size) || !secret_open(options->data, secret, error, error_size)) {
        return false;
    }
    snprintf(error, error_size, "memory is short");
    running->passwords = password_pool_new(NULL, 0);
    running->throttle = make_throttle(options);
    if (running->passwords == NULL || running->throttle == NULL || !words_load()) {
        return false;
    }
    const struct api_config api = {.store = running->store,
                                   .passwords = running->passwords,
                                   .throttle = running->throttle,
                                   .directory = options->data,
                                   .secret = secret,
                                   .secure = options->behind_proxy,
                                   .listeners = (options->connections + 1) / 2,
                                   .pose = options->pose};
    running->api = api_new(&api, error, error_size);
    if (running->api == NULL) {
        return false;
    }
    struct http_config http = {.address = options->address,
                               .port = (uint16_t)options->port,
                               .handed = options->handed,
                               .threads = options->threads,
                               .connection_limit = options->connections,
                               .per_address_limit = options->per_address,
                               .per_client_limit = options->per_client,
                               .idle_seconds = options->idle,
                               .deadline_seconds = options->deadline,
                               .forwarded = options->behind_proxy,
                               .gate = api_gate,
                               .small_body = API_SMALL_BODY,
                               .memory_limit = (size_t)options->memory << 20,
                               .owner_limit = (size_t)options->account_memory << 20,
                               .app = running->api,
                               .log_fd = running->log_fd};
    http.routes = api_routes(running->api, &http.route_count);
    running->server = http_server_start(&http, error, error_size);
    if (running->server != NULL) {
        api_set_server(running->api, running->server);
    }
    return running->server != NULL;
}

/* ---- stopping ---- */

static void wait_for_answers(const struct http_server *server)
{
    for (int waited = 0; http_server_in_flight(server) > 0 && waited < LAST_ANSWERS_MS; waited += 5) {
        nanosleep(&(struct timespec){.tv_nsec = 5000000}, NULL);
    }
}

/* The hash thread goes first: what it finishes may still queue a write (a session, a better hash). */
static void stop(struct running *running)
{
    notify_tell(&running->notify, "STOPPING=1");
    if (running->server != NULL) {
        http_server_quiesce(running->server);
        api_refuse_writes(running->api);
        api_end_listening(running->api);
        password_pool_drain(running->passwords);
        store_drain(running->store);
        wait_for_answers(running->server);
        http_server_stop(running->server);
    }
    api_free(running->api);
    password_pool_free(running->passwords);
    throttle_free(running->throttle);
    store_close(running->store);
    if (running->log_fd >= 0) {
        close(running->log_fd);
    }
    notify_close(&running->notify);
}

/* ---- serving ---- */

static void tell_ready(const struct running *running, const struct options *options)
{
    char address[160];
    char state[224];
    const unsigned port = http_server_port(running->server);
    const bool six = strchr(options->address, ':') != NULL;
    if (port == 0) {
        (void)snprintf(address, sizeof address, "unix:%s", options->address);
    } else {
        (void)snprintf(address, sizeof address, "http://%s%s%s:%u", six ? "[" : "", options->address, six ? "]" : "",
                       port);
    }
    (void)printf("ready on %s\n", address);
    (void)fflush(stdout);
    (void)snprintf(state, sizeof state, "READY=1\nSTATUS=ready on %s", address);
    notify_tell(&running->notify, state);
}

/* A sign of life, unless writes have been waiting since the last one and none was finished: then the service manager
 * had better start us anew. */
static void tell_alive(struct running *running)
{
    struct store_metrics now;
    store_measure(running->store, &now);
    if (now.writer_alive && (now.queue_depth == 0 || now.jobs != running->jobs)) {
        notify_tell(&running->notify, "WATCHDOG=1");
    }
    running->jobs = now.jobs;
}

/* How long until it is worth asking again whether nobody needs it, in ms; 0 = nobody does, and it takes nobody any
 * more. Work is looked for first: it could only have been begun over a connection. */
static int64_t idle_ms(struct running *running, unsigned seconds)
{
    enum { ASK_AGAIN_MS = 1000 };
    const int64_t most = (int64_t)seconds * 1000;
    const int64_t left = most - http_server_quiet_ms(running->server);
    if (left > 0) {
        return left;
    }
    return api_working(running->api) || !http_server_leave(running->server, most) ? ASK_AGAIN_MS : 0;
}

/* Until SIGTERM or SIGINT, or until nobody has needed it for so long. */
static void wait_for_end(struct running *running, const sigset_t *signals, const struct options *options)
{
    const int64_t beat = running->notify.beat_us;
    for (;;) {
        const int64_t idle = options->idle_exit > 0 ? idle_ms(running, options->idle_exit) * 1000 : INT64_MAX;
        const int64_t next = beat > 0 && beat < idle ? beat : idle;
        const struct timespec wait = {.tv_sec = (time_t)(next / 1000000), .tv_nsec = (long)(next % 1000000) * 1000};
        const int caught = idle == 0           ? SIGTERM
                           : next == INT64_MAX ? sigwaitinfo(signals, NULL)
                                               : sigtimedwait(signals, NULL, &wait);
        if (caught == SIGTERM || caught == SIGINT) {
            return;
        }
        if (caught == SIGHUP) {
            reopen_log(running, options->log);
        }
        if (beat > 0) {
            tell_alive(running);
        }
    }
}

int command_serve(int argc, char **argv)
{
    struct options options;
    struct running running = {.log_fd = -1, .notify = {.line = -1}};
    char error[512] = "";
    if (!read_options(&options, argc, argv)) {
        fputs(usage_serve, stderr);
        return 2;
    }
    /* Blocked before any thread is made, so that only the wait for the end sees them. */
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGTERM);
    sigaddset(&signals, SIGINT);
    sigaddset(&signals, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &signals, NULL);
    signal(SIGPIPE, SIG_IGN);
    raise_descriptor_limit();
    running.notify = notify_open();
    bool started = choose_socket(&options, error, sizeof error) && fit_connections(&options, error, sizeof error) &&
                   start(&running, &options, error, sizeof error);
    if (started) {
        tell_ready(&running, &options);
        wait_for_end(&running, &signals, &options);
    } else {
        fprintf(stderr, "leadside serve: %s\n", error);
    }
    stop(&running);
    return started ? 0 : 1;
}

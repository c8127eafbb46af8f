/* For whoever watches the server: is it alive, is it ready to work, and its figures. */
#include <stdio.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/call.h"
#include "store/club/version.h"
#include "store/engine/running.h"

#define LEAST_FREE ((int64_t)16 << 20)     /* a swing of the greatest size, in the log and in the file */
#define TRIED_NS (5 * INT64_C(1000000000)) /* so long a write that was tried speaks for the next */

void health_alive(struct call *call)
{
    static const char alive[] = "{\"status\":\"alive\"}";
    exchange_reply(call->exchange, 200, "application/json", alive, sizeof alive - 1);
}

/* NULL when ready. */
static const char *hindrance(const struct call *call)
{
    struct store_metrics metrics;
    int64_t number;
    if (atomic_load(&call->api->refusing)) {
        return "The server is stopping.";
    }
    if (call->db == NULL || store_version_number(call->db, STORE_STANDARD, &number) != STORE_OK || number == 0) {
        return "The club's file can't be read.";
    }
    store_measure(call->api->store, &metrics);
    if (!metrics.writer_alive) {
        return "Nothing can be written.";
    }
    if (metrics.damaged_pages > 0) {
        return "The club's file is damaged.";
    }
    if (metrics.free_bytes < LEAST_FREE) {
        return "The disk is full, or nearly.";
    }
    return metrics.queue_depth >= metrics.queue_limit ? "The queue of writes is full." : NULL;
}

/* ---- whether a write succeeds is known by writing ---- */

static enum store_status try_job(struct store_db *db, void *argument)
{
    (void)argument;
    store_audit_waive(db);
    return store_running_save(db);
}

static void tried(enum store_status status, void *argument)
{
    struct call *call = argument;
    atomic_store(&call->api->write_tried, (int)status);
    exchange_wake(call->exchange);
}

static void answer_ready(struct call *call, const char *why)
{
    static const char ready[] = "{\"status\":\"ready\"}";
    if (why == NULL) {
        exchange_reply(call->exchange, 200, "application/json", ready, sizeof ready - 1);
        return;
    }
    exchange_add_header(call->exchange, "Retry-After", "2");
    exchange_problem(call->exchange, 503, "not-ready", NULL, "%s", why);
}

static const char *tried_why(const struct call *call)
{
    switch ((enum store_status)atomic_load(&call->api->write_tried)) {
    case STORE_OK:
        return NULL;
    case STORE_FULL:
        return "The disk is full.";
    default:
        return "Nothing can be written.";
    }
}

static void answer_tried(struct exchange *exchange, void *argument)
{
    (void)exchange;
    struct call *call = argument;
    answer_ready(call, tried_why(call));
}

/* One of many who ask at once tries; the others hear of the last try. */
static bool is_to_try(struct call *call)
{
    const int64_t now = clock_monotonic_ns();
    int64_t next = atomic_load(&call->api->write_try_ns);
    return now >= next && atomic_compare_exchange_strong(&call->api->write_try_ns, &next, now + TRIED_NS);
}

void health_ready(struct call *call)
{
    const char *why = hindrance(call);
    if (why != NULL || !is_to_try(call)) {
        answer_ready(call, why != NULL ? why : tried_why(call));
        return;
    }
    exchange_park(call->exchange, answer_tried, call);
    if (store_submit(call->api->store, try_job, tried, call) != STORE_OK) {
        answer_ready(call, "Nothing can be written.");
    }
}

static char *store_figures(struct call *call)
{
    struct store_metrics m;
    store_measure(call->api->store, &m);
    return arena_printf(call->arena,
                        "# TYPE leadside_store_queue_depth gauge\nleadside_store_queue_depth %zu\n"
                        "# TYPE leadside_store_jobs_total counter\nleadside_store_jobs_total %llu\n"
                        "# TYPE leadside_store_jobs_failed_total counter\nleadside_store_jobs_failed_total %llu\n"
                        "# TYPE leadside_store_refused_total counter\nleadside_store_refused_total %llu\n"
                        "# TYPE leadside_store_commits_total counter\nleadside_store_commits_total %llu\n"
                        "# TYPE leadside_store_commits_failed_total counter\nleadside_store_commits_failed_total %llu\n"
                        "# TYPE leadside_store_commit_seconds_total counter\nleadside_store_commit_seconds_total %.6f\n"
                        "# TYPE leadside_store_damaged_pages_total counter\nleadside_store_damaged_pages_total %llu\n"
                        "# TYPE leadside_store_file_bytes gauge\nleadside_store_file_bytes %lld\n"
                        "# TYPE leadside_store_log_bytes gauge\nleadside_store_log_bytes %lld\n"
                        "# TYPE leadside_store_free_bytes gauge\nleadside_store_free_bytes %lld\n",
                        m.queue_depth, (unsigned long long)m.jobs, (unsigned long long)m.jobs_failed,
                        (unsigned long long)m.refused, (unsigned long long)m.commits,
                        (unsigned long long)m.commits_failed, m.commit_seconds, (unsigned long long)m.damaged_pages,
                        (long long)m.file_bytes, (long long)m.wal_bytes, (long long)m.free_bytes);
}

static char *password_figures(struct call *call)
{
    struct password_metrics m;
    password_pool_measure(call->api->passwords, &m);
    return arena_printf(call->arena,
                        "# TYPE leadside_password_queue_depth gauge\nleadside_password_queue_depth %zu\n"
                        "# TYPE leadside_password_finished_total counter\nleadside_password_finished_total %llu\n"
                        "# TYPE leadside_password_refused_total counter\nleadside_password_refused_total %llu\n"
                        "# TYPE leadside_password_seconds_total counter\nleadside_password_seconds_total %.6f\n",
                        m.queue_depth, (unsigned long long)m.finished, (unsigned long long)m.refused, m.seconds);
}

/* Only from the machine itself: figures tell a stranger when the club is busy. */
void health_metrics(struct call *call)
{
    const char *remote = exchange_remote(call->exchange);
    struct http_server *server = atomic_load(&call->api->server);
    if (strncmp(remote, "127.", 4) != 0 && strcmp(remote, "::1") != 0) {
        exchange_problem(call->exchange, 404, "not-found", NULL, "There is nothing at this address.");
        return;
    }
    const char *http = server == NULL ? "" : http_server_metrics(server, call->arena);
    const char *store = store_figures(call);
    const char *passwords = password_figures(call);
    char *all = http == NULL || store == NULL || passwords == NULL
                    ? NULL
                    : arena_printf(call->arena, "%s%s%s", http, store, passwords);
    if (all == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return;
    }
    exchange_reply(call->exchange, 200, "text/plain; version=0.0.4; charset=utf-8", all, strlen(all));
}

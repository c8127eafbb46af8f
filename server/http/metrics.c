/* The listener's figures in Prometheus text. Every thread counts on a shard of its own, so counting costs no waiting.
 */
#include <stdio.h>
#include <stdlib.h>

#include "http/connection.h"

static const double bucket_seconds[METRIC_BUCKETS] = {0.0001, 0.00025, 0.0005, 0.001, 0.0025, 0.005,
                                                      0.01,   0.025,   0.1,    0.5,   2.5};
static const char *const method_names[HTTP_METHOD_COUNT] = {"", "GET", "POST", "PUT", "PATCH", "DELETE"};

static _Atomic unsigned next_shard;
static _Thread_local unsigned own_shard; /* 0 = not chosen yet */

bool metrics_init(struct metrics *metrics, size_t route_count)
{
    bool fine = true;
    for (int i = 0; i < METRIC_SHARDS; i++) {
        metrics->shards[i].counts = calloc((route_count + 1) * METRIC_CLASSES, sizeof(_Atomic uint64_t));
        fine = fine && metrics->shards[i].counts != NULL;
    }
    return fine;
}

void metrics_free(struct metrics *metrics)
{
    for (int i = 0; i < METRIC_SHARDS; i++) {
        free(metrics->shards[i].counts);
    }
}

static void add(_Atomic uint64_t *counter, uint64_t amount)
{
    atomic_fetch_add_explicit(counter, amount, memory_order_relaxed);
}

void metrics_count(struct metrics *metrics, size_t route, int status, int64_t nanoseconds)
{
    if (own_shard == 0) {
        own_shard = 1 + atomic_fetch_add(&next_shard, 1) % METRIC_SHARDS;
    }
    struct metric_shard *shard = &metrics->shards[own_shard - 1];
    int class = status / 100;
    add(&shard->counts[route * METRIC_CLASSES + (class >= 1 && class <= 5 ? (size_t) class : 0)], 1);
    int bucket = 0;
    while (bucket < METRIC_BUCKETS && (double)nanoseconds > bucket_seconds[bucket] * 1e9) {
        bucket++;
    }
    add(&shard->buckets[bucket], 1);
    add(&shard->nanoseconds, (uint64_t)nanoseconds);
}

static uint64_t count_of(const struct metrics *metrics, size_t route, int class)
{
    uint64_t sum = 0;
    for (int i = 0; i < METRIC_SHARDS; i++) {
        sum += atomic_load_explicit(&metrics->shards[i].counts[route * METRIC_CLASSES + (size_t) class],
                                    memory_order_relaxed);
    }
    return sum;
}

static void write_requests(FILE *out, const struct http_server *server)
{
    fputs("# HELP leadside_http_requests_total Requests finished, by route and class of status.\n"
          "# TYPE leadside_http_requests_total counter\n",
          out);
    for (size_t route = 0; route <= server->router.route_count; route++) {
        bool known = route < server->router.route_count;
        const char *method = known ? method_names[server->router.routes[route].method] : "none";
        const char *path = known ? server->router.routes[route].path : "none";
        for (int class = 0; class < METRIC_CLASSES; class ++) {
            uint64_t count = count_of(&server->metrics, route, class);
            if (count > 0) {
                fprintf(out, "leadside_http_requests_total{method=\"%s\",route=\"%s\",status=\"%s\"} %llu\n", method,
                        path, (const char *const[]){"none", "1xx", "2xx", "3xx", "4xx", "5xx"}[class],
                        (unsigned long long)count);
            }
        }
    }
}

static void write_seconds(FILE *out, const struct metrics *metrics)
{
    uint64_t sum = 0;
    uint64_t nanoseconds = 0;
    fputs("# HELP leadside_http_request_seconds From a request's headers to its last byte.\n"
          "# TYPE leadside_http_request_seconds histogram\n",
          out);
    for (int bucket = 0; bucket <= METRIC_BUCKETS; bucket++) {
        for (int i = 0; i < METRIC_SHARDS; i++) {
            sum += atomic_load_explicit(&metrics->shards[i].buckets[bucket], memory_order_relaxed);
        }
        if (bucket < METRIC_BUCKETS) {
            fprintf(out, "leadside_http_request_seconds_bucket{le=\"%g\"} %llu\n", bucket_seconds[bucket],
                    (unsigned long long)sum);
        }
    }
    for (int i = 0; i < METRIC_SHARDS; i++) {
        nanoseconds += atomic_load_explicit(&metrics->shards[i].nanoseconds, memory_order_relaxed);
    }
    fprintf(out,
            "leadside_http_request_seconds_bucket{le=\"+Inf\"} %llu\nleadside_http_request_seconds_sum %.6f\n"
            "leadside_http_request_seconds_count %llu\n",
            (unsigned long long)sum, (double)nanoseconds / 1e9, (unsigned long long)sum);
}

static void write_gauge(FILE *out, const char *name, const char *kind, const char *help, uint64_t value)
{
    fprintf(out, "# HELP %s %s\n# TYPE %s %s\n%s %llu\n", name, help, name, kind, name, (unsigned long long)value);
}

char *http_server_metrics(const struct http_server *server, struct arena *arena)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (out == NULL) {
        return NULL;
    }
    write_requests(out, server);
    write_seconds(out, &server->metrics);
    write_gauge(out, "leadside_http_in_flight", "gauge", "Requests under way.", atomic_load(&server->in_flight));
    write_gauge(out, "leadside_http_parked", "gauge", "Requests waiting for another thread.",
                atomic_load(&server->parked));
    write_gauge(out, "leadside_http_connections", "gauge", "Open connections.", atomic_load(&server->connections));
    write_gauge(out, "leadside_http_held_bytes", "gauge", "Bytes of bodies and answers that count against the limit.",
                atomic_load(&server->budget.held));
    write_gauge(out, "leadside_http_held_refused_total", "counter", "Requests refused because of that limit.",
                atomic_load(&server->budget.refused));
    write_gauge(out, "leadside_http_cut_total", "counter", "Connections cut at their deadline.",
                atomic_load(&server->cut));
    write_gauge(out, "leadside_http_log_dropped_total", "counter", "Log lines dropped because the log was slow.",
                log_dropped((struct request_log *)&server->log));
    fclose(out);
    char *kept = text == NULL ? NULL : arena_strndup(arena, text, size);
    free(text);
    return kept;
}

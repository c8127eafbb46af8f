/* One JSON line for each request: no names, no tokens, no ids of rows (the route's pattern instead of its path), of an
 * address the network alone. What was refused says by which rule, and to which account when that is known. Lines are
 * gathered in memory and written by a thread of their own, so that a slow disk never holds up an answer; when even
 * the memory is full, lines are dropped and their number is written. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/wait.h"
#include "http/connection.h"

#define LOG_EVERY_MS 100

static void write_all(int fd, const char *text, size_t size)
{
    while (size > 0) {
        ssize_t wrote = write(fd, text, size);
        if (wrote < 0 && errno == EINTR) {
            continue;
        }
        if (wrote <= 0) {
            return; /* a log that can't be written must not stop the club */
        }
        text += wrote;
        size -= (size_t)wrote;
    }
}

static void write_dropped(int fd, uint64_t dropped)
{
    char time[TIME_TEXT];
    char line[128];
    time_format(clock_now_ms(), time);
    int size = snprintf(line, sizeof line, "{\"time\":\"%s\",\"event\":\"log lines dropped\",\"lines\":%llu}\n", time,
                        (unsigned long long)dropped);
    write_all(fd, line, (size_t)size);
}

static void *log_main(void *argument)
{
    struct request_log *log = argument;
    pthread_mutex_lock(&log->mutex);
    for (;;) {
        bool last = log->stopping;
        size_t size = log->filled;
        uint64_t dropped = log->dropped;
        char *text = log->filling;
        log->filling = log->writing;
        log->writing = text;
        log->filled = 0;
        log->dropped = 0;
        pthread_mutex_unlock(&log->mutex);
        write_all(log->fd, text, size);
        if (dropped > 0) {
            write_dropped(log->fd, dropped);
        }
        pthread_mutex_lock(&log->mutex);
        if (last) {
            break;
        }
        const struct timespec end = wait_end(LOG_EVERY_MS);
        while (!log->stopping && log->filled < LOG_ROOM / 2 && wait_until(&log->wake, &log->mutex, &end)) {
        }
    }
    pthread_mutex_unlock(&log->mutex);
    return NULL;
}

bool log_start(struct request_log *log, int fd)
{
    *log = (struct request_log){.fd = fd};
    pthread_mutex_init(&log->mutex, NULL);
    wait_init(&log->wake);
    if (fd < 0) {
        return true;
    }
    log->filling = malloc(LOG_ROOM);
    log->writing = malloc(LOG_ROOM);
    log->running =
        log->filling != NULL && log->writing != NULL && pthread_create(&log->thread, NULL, log_main, log) == 0;
    return log->running;
}

void log_stop(struct request_log *log)
{
    if (log->running) {
        pthread_mutex_lock(&log->mutex);
        log->stopping = true;
        pthread_cond_signal(&log->wake);
        pthread_mutex_unlock(&log->mutex);
        pthread_join(log->thread, NULL);
    }
    free(log->filling);
    free(log->writing);
    pthread_mutex_destroy(&log->mutex);
    pthread_cond_destroy(&log->wake);
}

static char *text_put(char *at, const char *text)
{
    const size_t length = strnlen(text, 200);
    memcpy(at, text, length);
    return at + length;
}

static char *number_put(char *at, uint64_t value, int width)
{
    char digits[20];
    int count = 0;
    do {
        digits[count++] = (char)('0' + value % 10);
        value /= 10;
    } while (value > 0 || count < width);
    while (count > 0) {
        *at++ = digits[--count];
    }
    return at;
}

/* Refused for who asks: these alone are worth an account's id in the log. */
static bool tells_account(int status)
{
    return status == 401 || status == 403 || status == 404 || status == 429;
}

/* By hand, for printf takes longer over this line than a small request over everything else. At most 700 bytes. */
static size_t line_write(char *line, const struct exchange *exchange, int64_t nanoseconds, bool cut)
{
    char time[TIME_TEXT];
    const uint64_t spent = nanoseconds < 0 ? 0 : (uint64_t)nanoseconds;
    time_format(clock_now_ms(), time);
    char *at = text_put(line, "{\"time\":\"");
    at = text_put(at, time);
    at = text_put(at, "\",\"id\":\"");
    at = text_put(at, exchange->id);
    at = text_put(at, "\",\"from\":\"");
    at = text_put(at, exchange->network);
    at = text_put(at, "\",\"method\":\"");
    at = text_put(at, exchange->method_name);
    at = text_put(at, "\",\"route\":\"");
    at = text_put(at, exchange->route == NULL ? "none" : exchange->route->path);
    at = text_put(at, "\",\"status\":");
    at = number_put(at, exchange->status < 0 ? 0 : (uint64_t)exchange->status, 1);
    at = text_put(at, ",\"ms\":");
    at = number_put(at, spent / 1000000, 1);
    at = text_put(at, ".");
    at = number_put(at, spent / 1000 % 1000, 3);
    at = text_put(at, ",\"bytes\":");
    at = number_put(at, exchange->reply_size, 1);
    if (exchange->problem != NULL) {
        at = text_put(at, ",\"problem\":\"");
        at = text_put(at, exchange->problem);
        at = text_put(at, "\"");
    }
    if (exchange->account[0] != '\0' && tells_account(exchange->status)) {
        at = text_put(at, ",\"account\":\"");
        at = text_put(at, exchange->account);
        at = text_put(at, "\"");
    }
    at = text_put(at, cut ? ",\"cut\":true}\n" : "}\n");
    return (size_t)(at - line);
}

void log_request(struct request_log *log, const struct exchange *exchange, int64_t nanoseconds, bool cut)
{
    if (!log->running) {
        return;
    }
    char line[768];
    const size_t size = line_write(line, exchange, nanoseconds, cut);
    pthread_mutex_lock(&log->mutex);
    if (log->filled + size <= LOG_ROOM) {
        memcpy(log->filling + log->filled, line, size);
        log->filled += size;
        if (log->filled >= LOG_ROOM / 2) {
            pthread_cond_signal(&log->wake);
        }
    } else {
        log->dropped++;
        log->dropped_total++;
    }
    pthread_mutex_unlock(&log->mutex);
}

uint64_t log_dropped(struct request_log *log)
{
    pthread_mutex_lock(&log->mutex);
    uint64_t dropped = log->dropped_total;
    pthread_mutex_unlock(&log->mutex);
    return dropped;
}

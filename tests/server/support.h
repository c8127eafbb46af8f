/* A plain socket client and a small server to talk to, for the tests of the listener. */
#ifndef LEADSIDE_TESTS_SERVER_SUPPORT_H
#define LEADSIDE_TESTS_SERVER_SUPPORT_H

#include <arpa/inet.h>
#include <errno.h>
#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "http/server.h"

static inline int client_open(uint16_t port)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    if (fd >= 0 && connect(fd, (struct sockaddr *)&address, sizeof address) != 0) {
        close(fd);
        return -1;
    }
    return fd;
}

static inline int client_send(int fd, const char *text, size_t size)
{
    while (size > 0) {
        ssize_t sent = send(fd, text, size, MSG_NOSIGNAL);
        if (sent <= 0) {
            return -1;
        }
        text += sent;
        size -= (size_t)sent;
    }
    return 0;
}

/* Reads one reply (by its Content-Length; headers only when head is set), or what comes until the line closes or
 * nothing comes for wait_ms. Returns the bytes read; *closed tells that the other side has closed. */
static inline size_t client_read(int fd, char *out, size_t size, int wait_ms, int head, int *closed)
{
    size_t used = 0;
    *closed = 0;
    out[0] = '\0';
    while (used + 1 < size) {
        char *end = strstr(out, "\r\n\r\n");
        if (end != NULL) {
            const char *length = strstr(out, "Content-Length: ");
            size_t body = length != NULL && length < end ? strtoul(length + 16, NULL, 10) : 0;
            if (head || used >= (size_t)(end + 4 - out) + body) {
                return used;
            }
        }
        struct pollfd wait = {.fd = fd, .events = POLLIN};
        if (poll(&wait, 1, wait_ms) <= 0) {
            return used;
        }
        ssize_t got = recv(fd, out + used, size - 1 - used, 0);
        if (got <= 0) {
            *closed = 1;
            return used;
        }
        used += (size_t)got;
        out[used] = '\0';
    }
    return used;
}

/* Has the other side closed within wait_ms? What it still sends is thrown away. */
static inline int client_closed(int fd, int wait_ms)
{
    char bin[4096];
    for (;;) {
        struct pollfd wait = {.fd = fd, .events = POLLIN};
        if (poll(&wait, 1, wait_ms) <= 0) {
            return 0;
        }
        if (recv(fd, bin, sizeof bin, 0) <= 0) {
            return 1;
        }
    }
}

static inline int reply_status(const char *reply)
{
    return strncmp(reply, "HTTP/1.1 ", 9) == 0 ? atoi(reply + 9) : 0;
}

/* One whole exchange on a connection of its own; the status, 0 when there was no answer. */
static inline int client_ask(uint16_t port, const char *request, size_t length, char *out, size_t size, int *closed)
{
    int unused;
    int fd = client_open(port);
    if (fd < 0) {
        return -1;
    }
    client_send(fd, request, length);
    client_read(fd, out, size, 3000, strncmp(request, "HEAD", 4) == 0, closed == NULL ? &unused : closed);
    if (closed != NULL && !*closed) {
        *closed = client_closed(fd, 150);
    }
    close(fd);
    return reply_status(out);
}

static inline double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static inline void sleep_ms(long ms)
{
    nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000}, NULL);
}

/* ---- a worker that wakes parked exchanges, as the store's writer does ---- */

struct waker {
    pthread_t thread;
    pthread_mutex_t mutex;
    pthread_cond_t work;
    struct exchange *waiting[1024];
    size_t count;
    int ending;
    long delay_ms; /* before each wake */
};

static inline void *waker_main(void *argument)
{
    struct waker *waker = argument;
    pthread_mutex_lock(&waker->mutex);
    for (;;) {
        while (waker->count == 0 && !waker->ending) {
            pthread_cond_wait(&waker->work, &waker->mutex);
        }
        if (waker->count == 0) {
            break;
        }
        struct exchange *exchange = waker->waiting[--waker->count];
        long delay = waker->delay_ms;
        pthread_mutex_unlock(&waker->mutex);
        if (delay > 0) {
            sleep_ms(delay);
        }
        exchange_wake(exchange);
        pthread_mutex_lock(&waker->mutex);
    }
    pthread_mutex_unlock(&waker->mutex);
    return NULL;
}

static inline void waker_start(struct waker *waker)
{
    memset(waker, 0, sizeof *waker);
    pthread_mutex_init(&waker->mutex, NULL);
    pthread_cond_init(&waker->work, NULL);
    pthread_create(&waker->thread, NULL, waker_main, waker);
}

/* False when it takes no more. */
static inline int waker_give(struct waker *waker, struct exchange *exchange)
{
    pthread_mutex_lock(&waker->mutex);
    int room = !waker->ending && waker->count < sizeof waker->waiting / sizeof *waker->waiting;
    if (room) {
        waker->waiting[waker->count++] = exchange;
        pthread_cond_signal(&waker->work);
    }
    pthread_mutex_unlock(&waker->mutex);
    return room;
}

static inline void waker_drain(struct waker *waker)
{
    pthread_mutex_lock(&waker->mutex);
    waker->ending = 1;
    pthread_cond_signal(&waker->work);
    pthread_mutex_unlock(&waker->mutex);
    pthread_join(waker->thread, NULL);
}

#endif

/* One request and its reply, as a handler sees them. The only face of libmicrohttpd outside server/http.
 *
 * Life of an exchange: headers checked -> before a long body the route is asked whether it may come -> body read up to
 * the route's limit -> handler called once on an HTTP thread.
 * The handler either replies, or parks the exchange (exchange_park) and hands it to another thread, which later calls
 * exchange_wake(); the continuation given to exchange_park() then runs on the exchange's own HTTP thread and replies.
 * A handler that does neither is answered 500. Everything that the reply points at must live in the exchange's arena or
 * be static. */
#ifndef LEADSIDE_HTTP_EXCHANGE_H
#define LEADSIDE_HTTP_EXCHANGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

struct exchange;

enum http_method { HTTP_GET = 1, HTTP_POST, HTTP_PUT, HTTP_PATCH, HTTP_DELETE, HTTP_METHOD_COUNT };

typedef void (*exchange_handler)(struct exchange *exchange, void *app);
/* Before a body is read: may it come? False: has replied. */
typedef bool (*exchange_gate)(struct exchange *exchange, void *app);

/* ---- request ---- */
/* Value of the n-th {placeholder} of the route's path, decoded and checked; NULL when there is none. */
const char *exchange_capture(const struct exchange *exchange, int n);
const char *exchange_query(const struct exchange *exchange, const char *name); /* NULL when absent */
/* Name of the n-th ?query; NULL past the last. */
const char *exchange_query_name(const struct exchange *exchange, int n);
const char *exchange_header(const struct exchange *exchange, const char *name); /* NULL when absent */
const char *exchange_cookie(const struct exchange *exchange, const char *name); /* NULL when absent */
const char *exchange_body(const struct exchange *exchange, size_t *length);     /* NUL-terminated, "" when empty */
const char *exchange_remote(const struct exchange *exchange);                   /* "127.0.0.1" */
struct arena *exchange_arena(struct exchange *exchange);
/* Whom the log names, by id alone, should this be refused: who is signed in, or whose name was given at signing in. */
void exchange_note_account(struct exchange *exchange, const char *account_id);
const void *exchange_route(const struct exchange *exchange); /* the api's own row (struct http_route.row) */
/* One pointer that the gate leaves for the handler; lives as long as the arena. NULL until it is set. */
void exchange_keep(struct exchange *exchange, void *kept);
void *exchange_kept(const struct exchange *exchange);

/* Does it say that it takes gzip (RFC 9110, 12.5.3)? */
bool exchange_takes_gzip(const struct exchange *exchange);

/* ---- memory ----
 * What an exchange holds (a body, its arena, an answer that is not fetched) is on somebody's account as soon as the
 * caller is known. owner: text of less than EXCHANGE_OWNER bytes, copied. False when the announced body no longer fits,
 * or the owner holds too much already: has replied, 429 (the owner's share) or 503 (all of it), with Retry-After. */
#define EXCHANGE_OWNER 40
bool exchange_claim(struct exchange *exchange, const char *owner) __attribute__((warn_unused_result));

/* Did its threads get no memory while they worked on the exchange? What was read and worked out may lack something
 * then, so whatever is replied to it becomes 503 "memory", */
bool exchange_memory_short(const struct exchange *exchange);
/* but for what is replied after this: what was asked for is done for good. */
void exchange_done(struct exchange *exchange);

/* ---- reply: exactly one of these, once ----
 * JSON of more than 1 KiB that was asked for with GET and has no ETag is sent packed to whoever takes gzip. */
void exchange_reply(struct exchange *exchange, int status, const char *content_type, const void *body, size_t length);
void exchange_reply_empty(struct exchange *exchange, int status);
/* length bytes that are made while they are sent: read is called on the exchange's own HTTP thread, for the bytes from
 * `at` on in order, and gives 1 to size of them, or 0 when it can't: the answer is then cut short, which the client
 * sees. A client must take 64 KiB a second on average, or is cut off. free (may be NULL) is called once, however it
 * ends. */
typedef size_t (*exchange_read_fn)(void *context, uint64_t at, char *out, size_t size);
typedef void (*exchange_free_fn)(void *context);
void exchange_reply_stream(struct exchange *exchange, int status, const char *content_type, uint64_t length,
                           exchange_read_fn read, exchange_free_fn release, void *context);
/* 200, and then whatever there is news of, for as long as it goes on. news is called on the exchange's own HTTP thread
 * when what it gave before was taken, and gives 1 to size bytes, 0 when there is nothing now (it is then called again
 * after exchange_listen_wake), or -1 at the end. context is not in the arena, which is gone by then. The connection
 * costs no thread while it waits, does not count among its caller's requests under way, and is cut off when it takes
 * nothing for the deadline's time. */
typedef long (*exchange_news_fn)(void *context, char *out, size_t size);
void exchange_reply_listen(struct exchange *exchange, const char *content_type, exchange_news_fn news,
                           exchange_free_fn release, void *context);
/* From any thread, until release is called: the caller holds a lock that release takes. Before http_server_stop every
 * one must have been woken, and news must answer -1 soon. */
void exchange_listen_wake(struct exchange *exchange);
/* Has the other side hung up? Under the same lock. Nobody else looks while it waits. */
bool exchange_listen_gone(const struct exchange *exchange);
/* application/problem+json (RFC 9457). type is a stable, static slug ("not-found"); path (may be NULL) is where in the
 * document the fault lies; detail is for a person. */
void exchange_problem(struct exchange *exchange, int status, const char *type, const char *path, const char *format,
                      ...) __attribute__((format(printf, 5, 6)));
/* The same with further members: JSON text of them ("conflicts":[...]). */
void exchange_problem_more(struct exchange *exchange, int status, const char *type, const char *path, const char *more,
                           const char *detail);
/* Before the reply: adds a header. name static or in the arena; value copied. */
void exchange_add_header(struct exchange *exchange, const char *name, const char *value);

/* ---- parking ----
 * Park first, then hand over. A handler that parked and could not hand over (nobody will wake it) may simply reply. */
void exchange_park(struct exchange *exchange, exchange_handler then, void *argument);
void exchange_wake(struct exchange *exchange); /* from any thread, once per park */
/* Parks, and goes on by itself after ms, 100 at least. Not from the gate. */
void exchange_pause(struct exchange *exchange, unsigned ms, exchange_handler then, void *argument);

#endif

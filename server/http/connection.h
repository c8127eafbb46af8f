/* What the files of this room share: a connection, the one request under way on it, and the server around them.
 * The only header that knows libmicrohttpd's types. */
#ifndef LEADSIDE_HTTP_CONNECTION_H
#define LEADSIDE_HTTP_CONNECTION_H

#include <microhttpd.h>
#include <pthread.h>
#include <stdatomic.h>

#include "base/ids.h"
#include "base/network.h"
#include "base/times.h"
#include "http/server.h"

#define HTTP_URI_MAX 4096
#define HTTP_CAPTURES 4
#define HTTP_QUERY_MAX 16
#define HTTP_HEADERS_OUT 12
#define HTTP_SEGMENTS 12
#define HTTP_REQUEST_ID 26
#define HTTP_ARENA_LIMIT ((size_t)256 << 20)
/* Of a connection, for the request's line and headers; the library wipes half of it for each request, so that much is
 * resident of one that only waits. */
#define HTTP_CONNECTION_MEMORY ((size_t)20 << 10)
#define HTTP_NO_LENGTH UINT64_MAX
#define HTTP_SMALL ((size_t)64 << 10)         /* what an exchange may hold without being counted */
#define HTTP_PIECE ((size_t)32 << 10)         /* of a streamed answer, handed to the line at once */
#define HTTP_STREAM_RATE ((uint64_t)64 << 10) /* bytes a second that a client must take of one */
#define HTTP_CLIENTS 4096                     /* places in which callers behind a proxy are counted */

/* ---- routes (router.c) ---- */

struct segment {
    const char *text; /* not NUL-terminated */
    size_t length;
};

/* One path of the table with all its methods. */
struct path_pattern {
    struct segment segments[HTTP_SEGMENTS];
    bool captures[HTTP_SEGMENTS];
    int count;
    int routes[HTTP_METHOD_COUNT]; /* index in the table; -1 = none */
    char allow[64];
};

struct router {
    const struct http_route *routes;
    size_t route_count;
    struct path_pattern *patterns; /* by number of segments, then literals before placeholders */
    size_t pattern_count;
};

/* False when the table is unsound: two rows alike, a bad path, no handler. */
bool router_build(struct router *router, const struct http_route *routes, size_t count, char *error, size_t error_size);
void router_free(struct router *router);
/* The pattern that fits a raw path ("/v1/x"); its captured segments (still encoded) go to captures. */
const struct path_pattern *router_find(const struct router *router, const char *path,
                                       struct segment captures[HTTP_CAPTURES], int *capture_count);

/* ---- text rules (uri.c) ---- */

enum uri_fault { URI_FINE, URI_TOO_LONG, URI_MALFORMED };

/* Cuts a raw request target into path and query, in place, and checks both. *authority: the host that an absolute
 * target ("http://host/path") names, unchecked; NULL of one that begins with its path. */
enum uri_fault uri_split(char *uri, char **authority, char **path, char **query);
/* Percent-decoded copy; NULL when memory is short or it is not UTF-8. */
char *uri_decode(struct arena *arena, const char *text, size_t length, bool plus_is_space);

/* ---- one request ---- */

enum exchange_stage { STAGE_HEADERS, STAGE_BODY, STAGE_PARKED, STAGE_REPLIED };

/* How a parked exchange and the thread that wakes it meet. */
enum park { PARK_NONE, PARK_WANTED, PARK_SUSPENDED, PARK_WOKEN };

/* The same of an answer that goes on as there is news (listen.c). */
enum listen { LISTEN_NONE, LISTEN_SENDING, LISTEN_SUSPENDED, LISTEN_WOKEN };

struct exchange {
    struct connection *connection;
    struct http_server *server;
    struct MHD_Connection *mhd;
    struct arena *arena;
    enum exchange_stage stage;
    bool begun; /* its headers are in */
    bool close; /* end the connection after the reply */
    bool replied;
    bool done;          /* exchange_done */
    bool starved;       /* memory was short while it was worked on */
    unsigned shortages; /* arena_shortages() when this thread took it up */

    char id[HTTP_REQUEST_ID];
    const char *target;             /* the request target where it came in; for its place alone */
    char *authority, *path, *query; /* authority: NULL unless the target named its host */
    enum uri_fault uri_fault;
    enum http_method method;
    const char *method_name; /* static */
    const struct http_route *route;
    struct segment captures[HTTP_CAPTURES];
    int capture_count;
    const char *capture_text[HTTP_CAPTURES];
    struct {
        const char *name, *value;
    } queries[HTTP_QUERY_MAX];
    int query_count;

    void *kept; /* from the gate to the handler */
    char owner[EXCHANGE_OWNER];
    struct budget_owner *payer; /* whose count holds what is held; NULL = only the sum does */
    size_t held;                /* bytes counted */

    uint64_t announced; /* Content-Length; HTTP_NO_LENGTH = chunked; 0 = no body */
    bool expects;       /* Expect: 100-continue: the client waits before it sends */
    char *body;         /* malloc: grows as it comes in, never past the route's limit */
    size_t body_size, body_room;
    uint64_t body_seen;
    bool body_over;
    bool body_short; /* memory was, for the body */

    const char *remote;
    char network[NETWORK_TEXT]; /* the same, cut short for the log */
    char account[UUID_TEXT];    /* who asks or tries to, for the log; "" = not known */
    const char *problem;        /* static: the slug of the problem answered; NULL = none */
    _Atomic unsigned *client;   /* where its caller is counted; NULL = nowhere */

    int status;
    size_t reply_size;
    struct MHD_Response *response;
    exchange_read_fn stream;
    exchange_free_fn stream_free;
    void *stream_context;
    int64_t stream_started_ns;
    exchange_news_fn news;
    _Atomic int listen;
    struct {
        const char *name;
        char *value;
    } headers[HTTP_HEADERS_OUT];
    int header_count;

    _Atomic int park;
    exchange_handler then;
    void *then_argument;

    int64_t started_ns;
};

/* One connection. Its exchange is reused by every request on it. */
struct connection {
    struct connection *next, *previous;
    int fd;
    bool late;                   /* opened while stopping: every request is refused, none counts as in flight */
    _Atomic int64_t deadline_ns; /* 0 = the next move is ours */
    _Atomic int64_t pause_ns;    /* parked until then; 0 = not for a time */
    char remote[48];
    char network[NETWORK_TEXT];
    struct exchange exchange;
};

/* ---- memory (budget.c) ---- */

#define BUDGET_LISTS 64

struct budget_owner {
    struct budget_owner *next;
    char name[EXCHANGE_OWNER];
    size_t held;
    unsigned exchanges;
};

struct budget {
    size_t limit, owner_limit;
    _Atomic size_t held;
    _Atomic uint64_t refused;
    pthread_mutex_t mutex; /* the lists; held changes only with it locked */
    struct budget_owner *lists[BUDGET_LISTS];
};

enum budget_answer { BUDGET_FITS, BUDGET_OWNER_FULL, BUDGET_FULL };

void budget_init(struct budget *budget, size_t limit, size_t owner_limit);
void budget_free(struct budget *budget);
/* The exchange is to hold so many bytes (less than before is left as it is). Not counted unless it fits. */
enum budget_answer budget_ask(struct exchange *exchange, size_t bytes);
/* The same without asking: it holds them already. */
void budget_note(struct exchange *exchange, size_t bytes);
/* What the exchange's arena and body take now. */
void budget_note_held(struct exchange *exchange);
void budget_release(struct exchange *exchange);

/* ---- figures (metrics.c) ---- */

#define METRIC_SHARDS 16
#define METRIC_CLASSES 6 /* 0 = no answer was sent, 1xx ... 5xx */
#define METRIC_BUCKETS 11

struct metric_shard {
    _Alignas(64) _Atomic uint64_t buckets[METRIC_BUCKETS + 1];
    _Atomic uint64_t nanoseconds;
    _Atomic uint64_t *counts; /* (route_count + 1) * METRIC_CLASSES */
};

struct metrics {
    struct metric_shard shards[METRIC_SHARDS];
};

bool metrics_init(struct metrics *metrics, size_t route_count);
void metrics_free(struct metrics *metrics);
void metrics_count(struct metrics *metrics, size_t route, int status, int64_t nanoseconds);

/* ---- request log (log.c) ---- */

#define LOG_ROOM ((size_t)256 << 10)

struct request_log {
    int fd;
    pthread_t thread;
    bool running, stopping;
    pthread_mutex_t mutex;
    pthread_cond_t wake;
    char *filling, *writing;
    size_t filled;
    uint64_t dropped, dropped_total;
};

bool log_start(struct request_log *log, int fd);
void log_stop(struct request_log *log);
void log_request(struct request_log *log, const struct exchange *exchange, int64_t nanoseconds, bool cut);
uint64_t log_dropped(struct request_log *log);

/* ---- server ---- */

struct http_server {
    struct http_config config;
    struct router router;
    struct metrics metrics;
    struct request_log log;
    struct budget budget;
    struct MHD_Daemon *daemon;
    int listen_fd;
    int handed_fd;                  /* the socket that was handed over, by another number; -1 = it is our own */
    int dead_fd;                    /* what takes its place; -1 as well */
    _Atomic int64_t quiet_since_ns; /* when the last connection ended */
    uint16_t port;
    uint32_t boot; /* random; starts every request id */
    uint8_t client_key[16];
    _Atomic unsigned clients[HTTP_CLIENTS]; /* requests under way */
    _Atomic uint64_t next_id;
    _Atomic unsigned in_flight, parked, connections;
    _Atomic uint64_t cut; /* requests past their deadline */
    _Atomic bool quiesced;

    pthread_mutex_t list_mutex;
    struct connection *list; /* the open connections */
    pthread_t watchdog;
    bool watching, stop_watching;
    pthread_cond_t watchdog_wake;
};

/* deadline.c */
bool deadline_start(struct http_server *server);
void deadline_stop(struct http_server *server);
struct connection *deadline_add(struct http_server *server, int fd);
void deadline_remove(struct http_server *server, struct connection *connection);
void deadline_set(struct connection *connection, int64_t now_ns, unsigned seconds); /* seconds 0 = none */

/* client.c. The network of an address, "192.0.2.0/24"; "unknown" when it is none. */
void client_network(const char *remote, char out[NETWORK_TEXT]);
/* False when as many requests of this caller are under way as one may have. */
bool client_enter(struct http_server *server, struct exchange *exchange);
void client_leave(struct exchange *exchange);

/* request.c: everything that can be judged from the headers. Replies when refused. */
bool request_begin(struct exchange *exchange, const char *method, const char *version);
/* Takes a piece of the body. */
void request_body(struct exchange *exchange, const char *data, size_t size);

/* reply.c: problem, then the connection ends. */
void reply_refuse(struct exchange *exchange, int status, const char *type, const char *detail);
/* reply.c: what every answer begins and ends with, for those who make the response themselves. False: there is an
 * answer already. */
bool reply_begin(struct exchange *exchange, int status);
/* 503 "memory", which takes next to none. */
void reply_memory(struct exchange *exchange);
/* False: not all of them, for memory is short; the response is gone. */
bool reply_headers(struct exchange *exchange, const char *content_type);

#endif

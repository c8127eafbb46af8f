/* What a handler may ask of a request, and parking it. */
#include <string.h>
#include <strings.h>

#include "http/connection.h"

const char *exchange_capture(const struct exchange *exchange, int n)
{
    return n >= 0 && n < exchange->capture_count ? exchange->capture_text[n] : NULL;
}

const char *exchange_query(const struct exchange *exchange, const char *name)
{
    for (int i = 0; i < exchange->query_count; i++) {
        if (strcmp(exchange->queries[i].name, name) == 0) {
            return exchange->queries[i].value;
        }
    }
    return NULL;
}

const char *exchange_query_name(const struct exchange *exchange, int n)
{
    return n >= 0 && n < exchange->query_count ? exchange->queries[n].name : NULL;
}

const char *exchange_header(const struct exchange *exchange, const char *name)
{
    if (exchange->authority != NULL &&
        strcasecmp(name, "Host") == 0) { /* what the target says counts (RFC 9112, 3.2.2) */
        return exchange->authority;
    }
    return MHD_lookup_connection_value(exchange->mhd, MHD_HEADER_KIND, name);
}

const char *exchange_cookie(const struct exchange *exchange, const char *name)
{
    return MHD_lookup_connection_value(exchange->mhd, MHD_COOKIE_KIND, name);
}

const char *exchange_body(const struct exchange *exchange, size_t *length)
{
    if (length != NULL) {
        *length = exchange->body_size;
    }
    return exchange->body == NULL ? "" : exchange->body;
}

const char *exchange_remote(const struct exchange *exchange)
{
    return exchange->remote;
}

void exchange_note_account(struct exchange *exchange, const char *account_id)
{
    memcpy(exchange->account, account_id, UUID_TEXT);
}

struct arena *exchange_arena(struct exchange *exchange)
{
    return exchange->arena;
}

const void *exchange_route(const struct exchange *exchange)
{
    return exchange->route == NULL ? NULL : exchange->route->row;
}

void exchange_keep(struct exchange *exchange, void *kept)
{
    exchange->kept = kept;
}

void *exchange_kept(const struct exchange *exchange)
{
    return exchange->kept;
}

/* Nothing is suspended here: the handler may still be using the exchange. server.c does it when the handler returns,
 * unless somebody has woken it by then. */
void exchange_park(struct exchange *exchange, exchange_handler then, void *argument)
{
    exchange->then = then;
    exchange->then_argument = argument;
    budget_note_held(exchange);
    atomic_fetch_add(&exchange->server->parked, 1);
    atomic_store(&exchange->park, PARK_WANTED);
}

void exchange_wake(struct exchange *exchange)
{
    struct http_server *server = exchange->server;
    struct MHD_Connection *mhd = exchange->mhd;
    int was = atomic_exchange(&exchange->park, PARK_WOKEN);
    if (was == PARK_SUSPENDED) {
        MHD_resume_connection(mhd);
    }
    /* The exchange may be gone by now; the server waits for this count before it stops. */
    atomic_fetch_sub(&server->parked, 1);
}

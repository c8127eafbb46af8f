/* The one place where the store's outcomes become HTTP's. */
#include "api/frame/call.h"

void call_problem_store(struct call *call, enum store_status status)
{
    struct exchange *exchange = call->exchange;
    if (status != STORE_FULL && exchange_memory_short(exchange)) {
        status = STORE_NO_MEMORY; /* whatever came of it */
    }
    switch (status) {
    case STORE_NOT_FOUND:
        exchange_problem(exchange, 404, "not-found", NULL, "There is nothing here for you under this address.");
        break;
    case STORE_CONFLICT:
        exchange_problem(exchange, 409, "conflict", NULL,
                         "Something with that name or in that place is there already.");
        break;
    case STORE_STALE:
        exchange_problem(exchange, 412, "stale", NULL,
                         "It was changed meanwhile: read it again and send its new ETag as If-Match.");
        break;
    case STORE_INVALID:
        exchange_problem(exchange, 422, "invalid", NULL, "A value is not one that can be kept.");
        break;
    case STORE_FULL:
        atomic_store(&call->api->write_try_ns, 0); /* /readyz finds out for itself */
        exchange_add_header(exchange, "Retry-After", "60");
        exchange_problem(exchange, 507, "disk-full", NULL, "The server's disk is full; nothing was changed.");
        break;
    case STORE_BUSY:
    case STORE_CLOSED:
        exchange_add_header(exchange, "Retry-After", "1");
        exchange_problem(exchange, 503, "busy", NULL, "The server can't take this just now; nothing was changed.");
        break;
    case STORE_NO_MEMORY:
        exchange_add_header(exchange, "Retry-After", "5");
        exchange_problem(exchange, 503, "memory", NULL,
                         "Memory is short just now; nothing was changed. Send this again in a moment.");
        break;
    case STORE_OK:
    case STORE_UNAUDITED:
    case STORE_CORRUPT:
    case STORE_ERROR:
    case STORE_STATUS_COUNT:
        exchange_problem(exchange, 500, "store", NULL, "The club's file could not be used (%s); nothing was changed.",
                         store_status_name(status));
        break;
    }
}

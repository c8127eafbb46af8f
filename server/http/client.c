/* Who calls, as far as the listener needs it: the network for the log (an address cut short, so that the log names a
 * neighbourhood and not a house), and how many requests of one caller are under way behind a proxy, where all of them
 * come over the proxy's own connections. */
#include <sodium.h>
#include <string.h>

#include "http/connection.h"

#define V6_CLIENT 8 /* bytes of 16: a caller has a whole /64 to himself */

void client_network(const char *remote, char out[NETWORK_TEXT])
{
    uint8_t bytes[16];
    if (network_address(remote, bytes) == 0) {
        memcpy(out, "unknown", sizeof "unknown");
        return;
    }
    network_site(remote, out);
}

/* Counted by a keyed hash of the address: without a list and without a lock. Two callers who share a place share its
 * room, and nobody can choose whom to share with. */
bool client_enter(struct http_server *server, struct exchange *exchange)
{
    uint8_t bytes[16];
    uint64_t hash = 0;
    const size_t size = network_address(exchange->remote, bytes);
    if (server->config.per_client_limit == 0 || size == 0) {
        return true;
    }
    crypto_shorthash((unsigned char *)&hash, bytes, size == 4 ? 4 : V6_CLIENT, server->client_key);
    _Atomic unsigned *place = &server->clients[hash % HTTP_CLIENTS];
    if (atomic_fetch_add(place, 1) >= server->config.per_client_limit) {
        atomic_fetch_sub(place, 1);
        return false;
    }
    exchange->client = place;
    return true;
}

void client_leave(struct exchange *exchange)
{
    if (exchange->client != NULL) {
        atomic_fetch_sub(exchange->client, 1);
        exchange->client = NULL;
    }
}

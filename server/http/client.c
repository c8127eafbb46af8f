/* Who calls, as far as the listener needs it: the network for the log (an address cut short, so that the log names a
 * neighbourhood and not a house), and how many requests of one caller are under way behind a proxy, where all of them
 * come over the proxy's own connections. */
#include <arpa/inet.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "http/connection.h"

#define V4_KEPT 3   /* of 4 bytes: /24 */
#define V6_KEPT 6   /* of 16: /48, what a site is given */
#define V6_CLIENT 8 /* of 16: a caller has a whole /64 to himself */

/* The bytes of an address; 4, 16, or 0 when it is none. An IPv4 address in IPv6's clothes is an IPv4 address. */
static size_t address_read(const char *text, uint8_t out[16])
{
    static const uint8_t mapped[12] = {[10] = 0xff, [11] = 0xff};
    if (inet_pton(AF_INET, text, out) == 1) {
        return 4;
    }
    if (inet_pton(AF_INET6, text, out) != 1) {
        return 0;
    }
    if (memcmp(out, mapped, sizeof mapped) != 0) {
        return 16;
    }
    memmove(out, out + 12, 4);
    return 4;
}

void client_network(const char *remote, char out[HTTP_NETWORK])
{
    uint8_t bytes[16];
    const size_t size = address_read(remote, bytes);
    const size_t kept = size == 4 ? V4_KEPT : V6_KEPT;
    if (size == 0) {
        memcpy(out, "unknown", sizeof "unknown");
        return;
    }
    memset(bytes + kept, 0, size - kept);
    char text[INET6_ADDRSTRLEN] = "";
    (void)inet_ntop(size == 4 ? AF_INET : AF_INET6, bytes, text, sizeof text);
    (void)snprintf(out, HTTP_NETWORK, "%s/%d", text, size == 4 ? 8 * V4_KEPT : 8 * V6_KEPT);
}

/* Counted by a keyed hash of the address: without a list and without a lock. Two callers who share a place share its
 * room, and nobody can choose whom to share with. */
bool client_enter(struct http_server *server, struct exchange *exchange)
{
    uint8_t bytes[16];
    uint64_t hash = 0;
    const size_t size = address_read(exchange->remote, bytes);
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

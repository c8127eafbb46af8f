/* See network.h. */
#include "auth/network.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <string.h>

static void cut(const char *address, unsigned bits_4, unsigned bits_6, char out[NETWORK_TEXT])
{
    static const unsigned char mapped[12] = {[10] = 0xff, [11] = 0xff}; /* ::ffff:0:0/96 */
    char plain[INET6_ADDRSTRLEN];
    unsigned char bytes[16];
    int family = AF_INET6;
    /* without a zone ("fe80::1%eth0") */
    (void)snprintf(plain, sizeof plain, "%.*s", (int)strcspn(address, "%"), address);
    if (inet_pton(AF_INET, plain, bytes) == 1) {
        family = AF_INET;
    } else if (inet_pton(AF_INET6, plain, bytes) != 1) {
        (void)snprintf(out, NETWORK_TEXT, "%.*s", NETWORK_TEXT - 1, address);
        return;
    }
    if (family == AF_INET6 && memcmp(bytes, mapped, sizeof mapped) == 0) {
        memmove(bytes, bytes + 12, 4);
        family = AF_INET;
    }
    const unsigned bits = family == AF_INET ? bits_4 : bits_6;
    const unsigned whole = family == AF_INET ? 4 : 16;
    memset(bytes + bits / 8, 0, whole - bits / 8);
    (void)snprintf(out, NETWORK_TEXT, "%s/%u", inet_ntop(family, bytes, plain, sizeof plain), bits);
}

void network_of(const char *address, char out[NETWORK_TEXT])
{
    cut(address, 32, 64, out);
}

void network_site(const char *address, char out[NETWORK_TEXT])
{
    cut(address, 24, 48, out);
}

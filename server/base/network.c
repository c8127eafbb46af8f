/* See network.h. */
#include "base/network.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <string.h>

size_t network_address(const char *text, uint8_t out[16])
{
    static const uint8_t mapped[12] = {[10] = 0xff, [11] = 0xff}; /* ::ffff:0:0/96 */
    char plain[INET6_ADDRSTRLEN];
    const size_t length = strcspn(text, "%");
    if (length >= sizeof plain) {
        return 0;
    }
    memcpy(plain, text, length);
    plain[length] = '\0';
    if (inet_pton(AF_INET, plain, out) == 1) {
        return 4;
    }
    if (inet_pton(AF_INET6, plain, out) != 1) {
        return 0;
    }
    if (memcmp(out, mapped, sizeof mapped) != 0) {
        return 16;
    }
    memmove(out, out + 12, 4);
    return 4;
}

static void cut(const char *address, unsigned bits_4, unsigned bits_6, char out[NETWORK_TEXT])
{
    char text[INET6_ADDRSTRLEN];
    uint8_t bytes[16];
    const size_t size = network_address(address, bytes);
    const unsigned bits = size == 4 ? bits_4 : bits_6;
    if (size == 0) {
        (void)snprintf(out, NETWORK_TEXT, "%.*s", NETWORK_TEXT - 1, address);
        return;
    }
    memset(bytes + bits / 8, 0, size - bits / 8);
    (void)snprintf(out, NETWORK_TEXT, "%s/%u", inet_ntop(size == 4 ? AF_INET : AF_INET6, bytes, text, sizeof text),
                   bits);
}

void network_of(const char *address, char out[NETWORK_TEXT])
{
    cut(address, 32, 64, out);
}

void network_site(const char *address, char out[NETWORK_TEXT])
{
    cut(address, 24, 48, out);
}

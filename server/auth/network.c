/* See network.h. */
#include "auth/network.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <string.h>

void network_of(const char *address, char out[NETWORK_TEXT])
{
    struct in6_addr six;
    char text[INET6_ADDRSTRLEN];
    if (inet_pton(AF_INET6, address, &six) != 1) {
        (void)snprintf(out, NETWORK_TEXT, "%s", address);
        return;
    }
    if (IN6_IS_ADDR_V4MAPPED(&six)) {
        (void)inet_ntop(AF_INET, six.s6_addr + 12, out, NETWORK_TEXT);
        return;
    }
    memset(six.s6_addr + 8, 0, 8);
    (void)inet_ntop(AF_INET6, &six, text, sizeof text);
    (void)snprintf(out, NETWORK_TEXT, "%s/64", text);
}

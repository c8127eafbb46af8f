/* From where somebody asks: addresses read, and the part of one that one party commonly holds as a whole. */
#ifndef LEADSIDE_BASE_NETWORK_H
#define LEADSIDE_BASE_NETWORK_H

#include <stddef.h>
#include <stdint.h>

#define NETWORK_TEXT 64

/* The bytes of an address, without its zone ("fe80::1%eth0"): 4, 16, or 0 when it is none. An IPv4 address written as
 * IPv6 is that IPv4 address. */
size_t network_address(const char *text, uint8_t out[16]);
/* An IPv4 address itself; of IPv6 the first 64 bits, for a host may take any address below them (RFC 4291 2.5.4, RFC
 * 8981). What is no address stays as it is, cut to fit. */
void network_of(const char *address, char out[NETWORK_TEXT]);
/* The wider one that one customer may be given: 24 bits of IPv4, 48 of IPv6 (RFC 6177). */
void network_site(const char *address, char out[NETWORK_TEXT]);

#endif

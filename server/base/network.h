/* From where somebody asks: the part of an address that one party commonly holds as a whole. */
#ifndef LEADSIDE_AUTH_NETWORK_H
#define LEADSIDE_AUTH_NETWORK_H

#define NETWORK_TEXT 64

/* An IPv4 address itself; of IPv6 the first 64 bits, for a host may take any address below them (RFC 4291 2.5.4, RFC
 * 8981). An IPv4 address written as IPv6 is that IPv4 address. What is no address stays as it is, cut to fit. */
void network_of(const char *address, char out[NETWORK_TEXT]);
/* The wider one that one customer may be given: 24 bits of IPv4, 48 of IPv6 (RFC 6177). */
void network_site(const char *address, char out[NETWORK_TEXT]);

#endif

/* Whose neighbour is it? Limits on callers that nobody knows yet are kept for a network rather than an address: whoever
 * holds one IPv6 address holds the 2^64 beside it as well. */
#ifndef LEADSIDE_AUTH_NETWORK_H
#define LEADSIDE_AUTH_NETWORK_H

#define NETWORK_TEXT 64

/* "203.0.113.9" for an IPv4 address, also for one written as IPv6 ("::ffff:203.0.113.9"), since a house shares one
 * anyway; "2001:db8:1:2::/64" for IPv6; the text itself, cut to fit, for anything else. */
void network_of(const char *address, char out[NETWORK_TEXT]);

#endif

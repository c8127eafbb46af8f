/* The listening socket that a service manager hands over, by its protocol itself (sd_listen_fds(3)). It listened before
 * this process was there and goes on when it has ended: who comes meanwhile waits in it. */
#ifndef LEADSIDE_HANDED_H
#define LEADSIDE_HANDED_H

#include <stdbool.h>
#include <stddef.h>

#define HANDED_ADDRESS 112

struct handed {
    int socket;                   /* 0 = none was handed over; otherwise it lets nobody wait, and no child gets it */
    char address[HANDED_ADDRESS]; /* "127.0.0.1", or of a socket in the file system its path, "@..." of one without a
                                     file */
    unsigned port;                /* 0 = the address is a path */
};

/* Once, before there are threads. False with a sentence in error: what was handed over can't be used. */
bool handed_take(struct handed *out, char *error, size_t error_size);

#endif

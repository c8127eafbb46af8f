/* See handed.h. */
#include "handed.h"

#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#define FIRST_SOCKET 3 /* SD_LISTEN_FDS_START */

/* -1 = it is no number. */
static long number_of(const char *name)
{
    const char *text = getenv(name);
    char *end = NULL;
    errno = 0;
    const long value = text == NULL ? -1 : strtol(text, &end, 10);
    return text == NULL || errno != 0 || end == text || *end != '\0' ? -1 : value;
}

static bool listens(int fd)
{
    int is = 0;
    int type = 0;
    socklen_t size = sizeof is;
    return getsockopt(fd, SOL_SOCKET, SO_ACCEPTCONN, &is, &size) == 0 && is != 0 &&
           getsockopt(fd, SOL_SOCKET, SO_TYPE, &type, &size) == 0 && type == SOCK_STREAM;
}

static bool name_it(struct handed *handed)
{
    struct sockaddr_storage address = {0};
    socklen_t length = sizeof address;
    char port[8];
    if (getsockname(handed->socket, (struct sockaddr *)&address, &length) != 0) {
        return false;
    }
    if (address.ss_family == AF_UNIX) {
        const char *path = ((const struct sockaddr_un *)&address)->sun_path;
        const bool file = path[0] != '\0';
        return snprintf(handed->address, sizeof handed->address, "%s%.107s", file ? "" : "@", file ? path : path + 1) >
               1;
    }
    if (getnameinfo((struct sockaddr *)&address, length, handed->address, sizeof handed->address, port, sizeof port,
                    NI_NUMERICHOST | NI_NUMERICSERV) != 0) {
        return false;
    }
    handed->port = (unsigned)strtoul(port, NULL, 10);
    return true;
}

bool handed_take(struct handed *out, char *error, size_t error_size)
{
    const long count = number_of("LISTEN_FDS");
    const bool ours = number_of("LISTEN_PID") == (long)getpid();
    *out = (struct handed){0};
    (void)unsetenv("LISTEN_FDS");
    (void)unsetenv("LISTEN_PID");
    (void)unsetenv("LISTEN_FDNAMES");
    if (!ours || count <= 0) {
        return true;
    }
    if (count > 1) {
        (void)snprintf(error, error_size, "the service manager hands over %ld sockets: one is wanted", count);
        return false;
    }
    out->socket = FIRST_SOCKET;
    const int flags = fcntl(FIRST_SOCKET, F_GETFL);
    if (flags < 0 || !listens(FIRST_SOCKET) || fcntl(FIRST_SOCKET, F_SETFL, flags | O_NONBLOCK) < 0 ||
        fcntl(FIRST_SOCKET, F_SETFD, FD_CLOEXEC) < 0 || !name_it(out)) {
        (void)snprintf(error, error_size, "what the service manager hands over is no socket that listens");
        return false;
    }
    return true;
}

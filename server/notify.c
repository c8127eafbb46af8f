/* See notify.h. */
#include "notify.h"

#include <errno.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

static int connect_to(const char *name)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    const size_t length = name == NULL ? 0 : strlen(name);
    /* A path, or with "@" a name without a file. */
    if (length < 2 || length >= sizeof address.sun_path || (name[0] != '/' && name[0] != '@')) {
        return -1;
    }
    memcpy(address.sun_path, name, length);
    if (name[0] == '@') {
        address.sun_path[0] = '\0';
    }
    const int line = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    const socklen_t size = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length);
    if (line >= 0 && connect(line, (const struct sockaddr *)&address, size) != 0) {
        (void)close(line);
        return -1;
    }
    return line;
}

/* 0 = it is no number, or another process is meant (sd_watchdog_enabled(3)). */
static int64_t watchdog_us(void)
{
    const char *time = getenv("WATCHDOG_USEC");
    const char *process = getenv("WATCHDOG_PID");
    if (time == NULL || (process != NULL && strtoll(process, NULL, 10) != (long long)getpid())) {
        return 0;
    }
    char *end = NULL;
    errno = 0;
    const long long value = strtoll(time, &end, 10);
    return errno != 0 || *end != '\0' || value < 2 ? 0 : (int64_t)value;
}

struct notify notify_open(void)
{
    const int line = connect_to(getenv("NOTIFY_SOCKET"));
    return (struct notify){.line = line, .beat_us = line < 0 ? 0 : watchdog_us() / 2};
}

void notify_tell(const struct notify *notify, const char *state)
{
    if (notify->line >= 0) {
        (void)send(notify->line, state, strlen(state), MSG_NOSIGNAL);
    }
}

void notify_close(struct notify *notify)
{
    if (notify->line >= 0) {
        (void)close(notify->line);
    }
    notify->line = -1;
}

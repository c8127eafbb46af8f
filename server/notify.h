/* Tells the service manager how the daemon is, by its protocol itself: datagrams to the socket that NOTIFY_SOCKET names
 * (sd_notify(3)). Without that variable nothing is told, and nothing is asked for. */
#ifndef LEADSIDE_NOTIFY_H
#define LEADSIDE_NOTIFY_H

#include <stdint.h>

struct notify {
    int line;        /* -1 = there is nobody to tell */
    int64_t beat_us; /* how often a sign of life is due: half of WATCHDOG_USEC; 0 = none is asked for */
};

/* Opened once, at the start: a sign of life must not fail for want of a descriptor. Close with notify_close. */
struct notify notify_open(void);
/* One or more lines "NAME=VALUE". Nothing is waited for: what can't be told now is lost. */
void notify_tell(const struct notify *notify, const char *state);
void notify_close(struct notify *notify);

#endif

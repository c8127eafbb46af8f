/* Work that takes long, off the HTTP threads: an export, figures, a lesson of recorded swings. Two threads of
 * idle priority, each with its own reader; what does not fit is refused at once. */
#ifndef LEADSIDE_API_FRAME_HEAVY_H
#define LEADSIDE_API_FRAME_HEAVY_H

#include "api/frame/call.h"
#include "wire/json/out.h"

struct heavy;
struct heavy_place; /* one of the few; held from handing over until it is released */

struct heavy *heavy_new(struct store *store) __attribute__((warn_unused_result));
/* Every call is over. NULL is fine. */
void heavy_free(struct heavy *heavy);

/* On a heavy thread, call->db being its reader in one read transaction. Must end soon once call->api->refusing. */
typedef void (*heavy_work)(struct call *call, void *data);
/* Afterwards on the exchange's HTTP thread, outside any read transaction: replies, or hands over to the next. status
 * not STORE_OK: the work could not even begin. */
typedef void (*heavy_then)(struct call *call, enum store_status status, void *data);

/* Parks the exchange. A full queue, or a third piece of work of one account is answered 429 with Retry-After. keep
 * NULL: the place is free again after the work. Otherwise *keep is set before the work begins, and heavy_release gives
 * the place back. False: answered, neither will be called. */
bool call_heavy(struct call *call, heavy_work work, heavy_then then, void *data, struct heavy_place **keep);
void heavy_release(struct heavy_place *place); /* from any thread; NULL is fine */

/* Figures of the club between ?from= and ?to=: make writes the answer, a whole JSON value, into out on a heavy thread,
 * taking what it must keep until then from the call's arena. Answers. */
typedef enum store_status (*heavy_figures)(struct call *call, const struct store_page *page, struct json_out *out);
void call_figures(struct call *call, heavy_figures make);

#endif

/* Which writes others hear of, who may, and what they are told: what changed and where to read it, never what was
 * written. */
#ifndef LEADSIDE_API_CLUB_EVENT_KIND_H
#define LEADSIDE_API_CLUB_EVENT_KIND_H

#include "auth/principal.h"
#include "store/club/event.h"

#define EVENT_TEXT 512 /* room for one event as it is sent */

/* May it concern this caller? audience: the accounts tied to its student (store_event_audience). Quick, and never no
 * where event_concerns says yes. */
bool event_may_concern(const struct store_event *event, const struct principal *principal,
                       const struct store_id_list *audience);
/* Whether the caller may see it, by the same rights as a request has, now. */
enum store_status event_concerns(struct store_db *db, const struct store_event *event,
                                 const struct principal *principal, bool *out) STORE_CHECKED;
/* The event as text/event-stream has it, for a caller whom it concerns. Its length. */
size_t event_write(const struct store_event *event, const struct principal *principal, char out[EVENT_TEXT]);

#endif

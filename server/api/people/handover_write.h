/* What hand-overs share with a coach's leaving. Both run in a write's job. */
#ifndef LEADSIDE_API_PEOPLE_HANDOVER_WRITE_H
#define LEADSIDE_API_PEOPLE_HANDOVER_WRITE_H

#include "api/frame/call.h"
#include "store/people/handover.h"

/* A message about a hand-over for one account: what `by` did. */
enum store_status handover_tell(struct store_db *db, const struct write *write, const struct store_handover *handover,
                                const char *kind, const char *account_id, const char *by) STORE_CHECKED;
/* STORE_OK when a student can be handed to this account, a coach or head in use; else refused, at this path. */
enum store_status handover_coach(struct store_db *db, struct write *write, const char *id,
                                 const char *path) STORE_CHECKED;

#endif

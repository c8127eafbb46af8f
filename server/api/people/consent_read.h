/* What a consent must be, whichever way it comes; and its row in the audit. */
#ifndef LEADSIDE_API_PEOPLE_CONSENT_READ_H
#define LEADSIDE_API_PEOPLE_CONSENT_READ_H

#include "api/frame/body.h"

#define CONSENT_YEARS_MAX 20

/* Not in the future (a minute of a tablet's clock aside), and no more than CONSENT_YEARS_MAX years ago; else the member
 * is refused. */
bool consent_given(struct tree *tree, const char *key, int64_t at, int64_t now);

/* What the audit says of it, as JSON in the arena; NULL when memory is short. */
const char *consent_detail(struct arena *arena, const char *scope);

#endif

/* Scoring swings and lessons anew: further reports by the standard in force beside those that there are. */
#ifndef LEADSIDE_API_CLUB_STANDARD_RESCORE_H
#define LEADSIDE_API_CLUB_STANDARD_RESCORE_H

#include "api/club/standard_page.h"

/* Makes the reports of those of the page that have none by this standard. */
enum store_status rescore_make(struct standard_page *page) STORE_CHECKED;
/* Keeps them, outside the read transaction, in one short write; of what was changed meanwhile the report that came with
 * the change stays the newest. STORE_NOT_FOUND: the job was stopped, and nothing was kept. */
enum store_status rescore_keep(struct standard_page *page) STORE_CHECKED;

#endif

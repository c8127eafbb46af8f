/* Judging swings by the standard in force and by one that is tried. */
#ifndef LEADSIDE_API_CLUB_STANDARD_TRIAL_H
#define LEADSIDE_API_CLUB_STANDARD_TRIAL_H

#include "api/club/standard_page.h"

/* Tallies the page's swings: from what is kept with their reports where that tells enough, else from the document. */
enum store_status trial_judge(struct standard_page *page) STORE_CHECKED;
void trial_add(struct trial_tally *to, const struct trial_tally *from);

#endif

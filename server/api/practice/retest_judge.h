/* A fix looked at again: the swings that count for it, what they say beside the baseline, and what that proposes. */
#ifndef LEADSIDE_API_PRACTICE_RETEST_JUDGE_H
#define LEADSIDE_API_PRACTICE_RETEST_JUDGE_H

#include "api/frame/call.h"
#include "store/practice/retest.h"
#include "wire/json/out.h"

/* "state", "baseline", "after", "outcome", "difference", "needed", "proposal" and "reason" as members of the open
 * object. The baseline is a second look where there is one (three swings of another day, soon after the fix was
 * opened), else the first drawn to the mean of the club's players (core/change.h), or to the standard's middle while
 * there are few. */
enum store_status retest_judge(struct json_out *out, struct call *call, const struct rules_cache *rules,
                               const struct store_retest *retest) STORE_CHECKED;

#endif

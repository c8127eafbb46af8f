#include "motion.h"

#include <string.h>

static const char *const issue_names[MOTION_ISSUE_COUNT] = {
    "too_short", "no_hands",    "no_swing",     "not_a_body", "faces_away",   "sides_swapped", "gap",
    "repeated",  "club_length", "no_stillness", "no_impact",  "other_swings", "missed_ball"};

const char *motion_issue_name(enum motion_issue issue)
{
    return (unsigned)issue < MOTION_ISSUE_COUNT ? issue_names[issue] : NULL;
}

const char *motion_segment_name(enum motion_segment segment)
{
    static const char *const names[MOTION_SEGMENT_COUNT] = {"pelvis", "chest", "lead_arm", "club"};
    return (unsigned)segment < MOTION_SEGMENT_COUNT ? names[segment] : NULL;
}

size_t motion_work_bytes(const struct motion_record *record)
{
    return record->count < 1 || record->count > MOTION_SAMPLES_MAX ? 0 : (size_t)record->count * 8;
}

bool motion_analyse(const struct motion_record *record, void *work, struct motion_summary *out)
{
    (void)work;
    memset(out, 0, sizeof *out);
    out->rate_hz = record->rate_hz;
    return false;
}

/* Work in the background by the standard, in pages: what is under way, and what one thread has of it at a time. */
#ifndef LEADSIDE_API_CLUB_STANDARD_PAGE_H
#define LEADSIDE_API_CLUB_STANDARD_PAGE_H

#include "api/frame/call.h"
#include "store/club/standard_job.h"

/* Of a trial: kept with the job as it lies here. */
struct trial_tally {
    uint32_t swings, first_changed;
    uint32_t present_now[FAULT_COUNT], present_then[FAULT_COUNT], gained[FAULT_COUNT], lost[FAULT_COUNT];
};

/* What every thread reads and none changes while pages are out. */
struct standard_task {
    struct api *api;
    struct arena *arena; /* holds the job */
    struct store_job job;
    const struct rules_cache *rules; /* borrowed: the standard in force */
    struct standard *tried;          /* of a trial */
};

struct standard_page {
    const struct standard_task *task;
    struct store_db *db; /* the thread's reader, in a read transaction while the page is judged */
    struct arena *arena;
    struct store_kept_swing_list kept; /* swings; or else: */
    struct store_judged_list judged;   /* lessons */
    bool of_lessons;
    /* what became of it */
    int64_t unread;
    struct trial_tally tally;
    struct store_report *reports; /* scored anew, to be kept */
    int64_t *instead;             /* the number of the newest report that each takes the place of */
    size_t report_count;
};

#endif

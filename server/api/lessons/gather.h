/* Swings judged together: of a lesson when it is held, and again when one of them is corrected, set aside or moved.
 * Many or large documents are read off the HTTP threads. */
#ifndef LEADSIDE_API_LESSONS_GATHER_H
#define LEADSIDE_API_LESSONS_GATHER_H

#include "api/lessons/scoring.h"

/* Zeroed, then filled in with what stands above the line. */
struct gathering {
    struct scored_student scored;
    const struct store_report *instead; /* of a swing about to be kept: scoring_own_spread; may be NULL */
    struct swing_document *given;       /* of swings[given_at], in place of what is kept; NULL = none */
    int given_at;
    /* ---- */
    int count; /* gather_add */
    char swings[SCORE_SWINGS_MAX][UUID_TEXT];
    int64_t versions[SCORE_SWINGS_MAX]; /* of each, as read: whoever keeps the report looks again */
    size_t bytes;                       /* of all documents */
    struct swing_document *documents[SCORE_SWINGS_MAX];
    enum store_status status;
    struct { /* why it is refused, when status says nothing */
        const char *type, *path, *what;
    } refused;
    struct store_report report;
    void (*then)(struct call *call, void *data);
    void *data;
};

/* One more (of SCORE_SWINGS_MAX); *swing is its row, without the document. */
enum store_status gather_add(struct call *call, struct gathering *gathering, const char *swing_id,
                             struct store_swing *swing) __attribute__((warn_unused_result));
/* Reads and scores them, then calls `then`; answers when that can't be. On another thread, the call parked, when it
 * takes long. */
void gather_run(struct call *call, struct gathering *gathering, void (*then)(struct call *call, void *data),
                void *data);
/* Makes the report one to be kept, the lesson's. */
void gather_keep(struct call *call, struct gathering *gathering, const char *lesson_id);
/* In a job: what was read is no longer so. */
enum store_status gather_changed(struct write *write);

#endif

/* See standard_job.h. */
#include "store/club/standard_job.h"

#include <string.h>

#include "store/engine/query.h"

static const char *const kinds[STORE_JOB_KINDS] = {"trial", "rescore"};
static const char *const states[STORE_JOB_STATES] = {"running", "done", "stopped", "overtaken", "failed"};

const char *store_job_kind_name(enum store_job_kind kind)
{
    return kinds[kind];
}

const char *store_job_state_name(enum store_job_state state)
{
    return states[state];
}

/* The first one when it is none of them: the schema has no other. */
static int place_of(const char *text, const char *const *names, int count)
{
    for (int i = 0; i < count && text != NULL; i++) {
        if (strcmp(text, names[i]) == 0) {
            return i;
        }
    }
    return 0;
}

enum store_status store_job_start(struct store_db *db, const struct store_job *job)
{
    struct query query;
    query_open(&query, db, STANDARD_JOB_DROP);
    const enum store_status status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STANDARD_JOB_START);
    query_text(&query, 1, job->id);
    query_text(&query, 2, kinds[job->kind]);
    query_text(&query, 3, job->started_by);
    query_integer(&query, 4, job->started);
    query_integer(&query, 5, job->standard);
    if (job->tried != NULL) {
        query_long_text(&query, 6, job->tried, job->tried_size);
    }
    query_text(&query, 7, job->label);
    query_text(&query, 8, job->swing_place);
    query_text(&query, 9, job->lesson_place);
    return query_run(&query);
}

static void read_job(struct query *query, struct arena *arena, void *item)
{
    struct store_job *out = item;
    *out = (struct store_job){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->kind = (enum store_job_kind)place_of(query_get_text(query, 1, arena), kinds, STORE_JOB_KINDS);
    out->state = (enum store_job_state)place_of(query_get_text(query, 2, arena), states, STORE_JOB_STATES);
    query_get_id(query, 3, out->started_by, sizeof out->started_by);
    out->started = query_get_integer(query, 4);
    out->ended = query_get_integer(query, 5);
    out->standard = query_get_integer(query, 6);
    out->tried = query_is_null(query, 7) ? NULL : query_get_bytes(query, 7, arena, &out->tried_size);
    out->label = query_get_text(query, 8, arena);
    out->total = query_get_integer(query, 9);
    out->done = query_get_integer(query, 10);
    query_get_id(query, 11, out->swings_until, sizeof out->swings_until);
    query_get_id(query, 12, out->lessons_until, sizeof out->lessons_until);
    query_get_id(query, 13, out->swing_place, sizeof out->swing_place);
    query_get_id(query, 14, out->lesson_place, sizeof out->lesson_place);
    out->swings = query_get_integer(query, 15);
    out->lessons = query_get_integer(query, 16);
    out->unread = query_get_integer(query, 17);
    out->tally = query_is_null(query, 18) ? NULL : query_get_bytes(query, 18, arena, &out->tally_size);
}

enum store_status store_job_get(struct store_db *db, struct arena *arena, struct store_job *out)
{
    struct query query;
    query_open(&query, db, STANDARD_JOB_GET);
    return query_one(&query, arena, read_job, out);
}

struct counted {
    int64_t count;
    char until[UUID_TEXT];
};

static void read_counted(struct query *query, struct arena *arena, void *item)
{
    struct counted *out = item;
    (void)arena;
    out->count = query_get_integer(query, 0);
    query_get_id(query, 1, out->until, sizeof out->until);
}

static enum store_status count(struct store_db *db, enum statement which, const char *after, struct counted *out)
{
    struct query query;
    query_open(&query, db, which);
    query_text(&query, 1, after);
    return query_one(&query, NULL, read_counted, out);
}

enum store_status store_job_count(struct store_db *db, struct store_job *job)
{
    struct counted swings = {0};
    struct counted lessons = {0};
    enum store_status status = count(db, STANDARD_JOB_COUNT_SWINGS, job->swing_place, &swings);
    if (status == STORE_OK && job->kind == STORE_JOB_RESCORE) {
        status = count(db, STANDARD_JOB_COUNT_LESSONS, job->lesson_place, &lessons);
    }
    job->total = swings.count + lessons.count;
    memcpy(job->swings_until, swings.until, UUID_TEXT);
    memcpy(job->lessons_until, lessons.until, UUID_TEXT);
    return status;
}

enum store_status store_job_keep(struct store_db *db, const struct store_job *job)
{
    struct query query;
    query_open(&query, db, STANDARD_JOB_KEEP);
    query_text(&query, 1, job->id);
    query_integer(&query, 2, job->total);
    query_integer(&query, 3, job->done);
    query_text(&query, 4, job->swings_until);
    query_text(&query, 5, job->lessons_until);
    query_text(&query, 6, job->swing_place);
    query_text(&query, 7, job->lesson_place);
    query_integer(&query, 8, job->unread);
    if (job->tally != NULL) {
        query_bytes(&query, 9, job->tally, job->tally_size);
    }
    return query_run_one(&query);
}

enum store_status store_job_made(struct store_db *db, const char *id, int64_t swings, int64_t lessons)
{
    struct query query;
    query_open(&query, db, STANDARD_JOB_MADE);
    query_text(&query, 1, id);
    query_integer(&query, 2, swings);
    query_integer(&query, 3, lessons);
    return query_run_one(&query);
}

enum store_status store_job_end(struct store_db *db, const char *id, enum store_job_state state, int64_t at)
{
    struct query query;
    query_open(&query, db, STANDARD_JOB_END);
    query_text(&query, 1, id);
    query_text(&query, 2, states[state]);
    query_integer(&query, 3, at);
    return query_run_one(&query);
}

/* ---- what it goes through ---- */

static void read_judged(struct query *query, struct arena *arena, void *item)
{
    struct store_judged *out = item;
    (void)arena;
    *out = (struct store_judged){.counts = query_get_integer(query, 1) != 0,
                                 .report = query_get_integer(query, 2),
                                 .standard = query_get_integer(query, 3)};
    query_get_id(query, 0, out->id, sizeof out->id);
}

static void read_kept_swing(struct query *query, struct arena *arena, void *item)
{
    struct store_kept_swing *out = item;
    *out = (struct store_kept_swing){0};
    read_judged(query, arena, &out->judged);
    out->recorded_at = query_get_integer(query, 4);
    out->birth_date = query_get_text(query, 5, arena);
    out->sex = query_get_text(query, 6, arena);
    out->birth_year = (int)query_get_integer(query, 7);
    out->junior = query_get_integer(query, 8) != 0;
    out->hand = query_get_text(query, 9, arena);
    out->pain = (unsigned)query_get_integer(query, 10);
    out->has_height = !query_is_null(query, 12);
    out->height_m = query_get_real(query, 12);
    out->packed = query_is_null(query, 11) ? NULL : query_get_bytes(query, 11, arena, &out->packed_size);
}

static void open_next(struct query *query, struct store_db *db, enum statement which, const char *after,
                      const char *until, int limit)
{
    query_open(query, db, which);
    query_text(query, 1, after);
    query_text(query, 2, until);
    query_integer(query, 3, limit);
}

enum store_status store_job_kept_swings(struct store_db *db, const struct store_job *job, int limit,
                                        struct arena *arena, struct store_kept_swing_list *out)
{
    struct query query;
    open_next(&query, db, STANDARD_JOB_KEPT_SWINGS, job->swing_place, job->swings_until, limit);
    return query_list(&query, arena, limit, read_kept_swing, out);
}

enum store_status store_job_lessons(struct store_db *db, const struct store_job *job, int limit, struct arena *arena,
                                    struct store_judged_list *out)
{
    struct query query;
    open_next(&query, db, STANDARD_JOB_LESSONS, job->lesson_place, job->lessons_until, limit);
    return query_list(&query, arena, limit, read_judged, out);
}

static void read_kept(struct query *query, struct arena *arena, void *item)
{
    struct store_kept *out = item;
    *out = (struct store_kept){0};
    out->packed = query_is_null(query, 0) ? NULL : query_get_bytes(query, 0, arena, &out->packed_size);
}

enum store_status store_job_lesson_kept(struct store_db *db, const char *lesson_id, struct arena *arena,
                                        struct store_kept_list *out)
{
    struct query query;
    query_open_all(&query, db, STANDARD_JOB_LESSON_KEPT, lesson_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_kept, out);
}

enum store_status store_job_newest(struct store_db *db, bool of_lesson, const char *id, int64_t *out)
{
    struct query query;
    query_open(&query, db, of_lesson ? STANDARD_JOB_NEWEST_LESSON : STANDARD_JOB_NEWEST_SWING);
    query_text(&query, 1, id);
    return query_number(&query, out);
}

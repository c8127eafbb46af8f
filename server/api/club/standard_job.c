/* A trial of another standard on the club's swings, and scoring them anew by the one in force: begun, watched, stopped.
 */
#include <string.h>

#include "api/club/handlers.h"
#include "api/club/standard_page.h"
#include "api/club/standard_work.h"
#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "store/club/version.h"
#include "wire/rules/standard_read.h"

#define TRY_DAYS 180
#define PLACE "/v1/standard/job"

/* ---- how it is shown ---- */

static void faults_write(struct json_out *out, const struct trial_tally *tally)
{
    json_out_array(out, "faults");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (tally->present_now[i] + tally->present_then[i] == 0) {
            continue;
        }
        json_out_object(out, NULL);
        json_out_text(out, "fault", fault_name((enum fault_id)i));
        answer_integer(out, "present_now", tally->present_now[i]);
        answer_integer(out, "present_then", tally->present_then[i]);
        answer_integer(out, "gained", tally->gained[i]);
        answer_integer(out, "lost", tally->lost[i]);
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

/* So far. */
static void result_write(struct json_out *out, const struct store_job *job)
{
    struct trial_tally tally = {0};
    json_out_object(out, "result");
    if (job->kind == STORE_JOB_RESCORE) {
        answer_integer(out, "swings", job->swings);
        answer_integer(out, "lessons", job->lessons);
    } else {
        if (job->tally != NULL && job->tally_size == sizeof tally) {
            memcpy(&tally, job->tally, sizeof tally);
        }
        answer_integer(out, "days", TRY_DAYS);
        answer_integer(out, "swings", tally.swings);
        answer_integer(out, "first_fix_changed", tally.first_changed);
        faults_write(out, &tally);
    }
    json_out_end_object(out);
}

static void job_write(struct json_out *out, const struct store_job *job)
{
    json_out_object(out, "job");
    json_out_text(out, "id", job->id);
    json_out_text(out, "kind", store_job_kind_name(job->kind));
    json_out_text(out, "state", store_job_state_name(job->state));
    answer_id(out, "started_by", job->started_by);
    answer_time(out, "started", job->started);
    answer_time(out, "ended", job->ended);
    answer_integer(out, "standard", job->standard);
    json_out_text(out, "tried", job->label);
    answer_integer(out, "done", job->done);
    if (job->total == 0 && job->state == STORE_JOB_RUNNING) {
        json_out_null(out, "of");
    } else {
        answer_integer(out, "of", job->total);
    }
    answer_integer(out, "unread", job->unread);
    result_write(out, job);
    json_out_end_object(out);
}

void standard_job_get(struct call *call)
{
    struct json_out out;
    struct store_job job;
    const enum store_status status = store_job_get(call->db, call->arena, &job);
    if (status != STORE_OK && status != STORE_NOT_FOUND) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    if (status == STORE_OK) {
        job_write(&out, &job);
    } else {
        json_out_null(&out, "job");
    }
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

/* ---- beginning ---- */

static enum store_status start_job(struct store_db *db, struct write *write)
{
    struct json_out out;
    struct store_job *job = write->data;
    enum store_status status = store_version_number(db, STORE_STANDARD, &job->standard);
    if (status == STORE_OK) {
        status = store_job_start(db, job);
    }
    if (status == STORE_CONFLICT) {
        return write_refuse(write, 409, "job-running", NULL,
                            "A trial or scoring anew is under way: wait until it is done, or stop it.");
    }
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    job_write(&out, job);
    json_out_end_object(&out);
    return answer_write(write, &out, 202) ? STORE_OK : STORE_NO_MEMORY;
}

static void started(struct write *write)
{
    standard_work_look(write->call.api->work);
}

static void job_start(struct call *call, struct store_job *job)
{
    struct write *write = write_new(call, start_job, job);
    if (write == NULL) {
        return;
    }
    uuid7_new(job->id);
    job->started = call->now;
    memcpy(job->started_by, call->principal->account_id, sizeof job->started_by);
    write->after = started;
    write->location = PLACE;
    answer_audit(write, job->kind == STORE_JOB_TRIAL ? "standard.try" : "standard.rescore", "standard", "", "");
    call_write(write);
}

void standard_try(struct call *call)
{
    struct wire_error error;
    struct store_job *job = arena_alloc(call->arena, sizeof *job);
    struct standard *tried = arena_alloc(call->arena, sizeof *tried);
    if (job == NULL || tried == NULL) {
        answer_no_memory(call);
        return;
    }
    job->kind = STORE_JOB_TRIAL;
    job->tried = exchange_body(call->exchange, &job->tried_size);
    if (!standard_read(job->tried, job->tried_size, call->arena, tried, &error)) {
        exchange_problem(call->exchange, 422, "invalid-standard", error.path, "%s", error.what);
        return;
    }
    job->label = tried->version;
    uuid7_least(call->now - TRY_DAYS * DAY_MS, job->swing_place);
    job_start(call, job);
}

void standard_rescore(struct call *call)
{
    static const char *const keys[] = {NULL};
    struct body body;
    struct store_job *job = arena_alloc(call->arena, sizeof *job);
    if (job == NULL) {
        answer_no_memory(call);
        return;
    }
    if (body_begin(&body, call, keys, true) && body_end(&body)) {
        job->kind = STORE_JOB_RESCORE;
        job_start(call, job);
    }
}

/* ---- stopping ---- */

static enum store_status stop_job(struct store_db *db, struct write *write)
{
    struct store_job job;
    const enum store_status status = store_job_get(db, write->call.arena, &job);
    return status == STORE_OK ? store_job_end(db, job.id, STORE_JOB_STOPPED, write->call.now) : status;
}

void standard_job_stop(struct call *call)
{
    struct write *write = write_new(call, stop_job, NULL);
    if (write != NULL) {
        write->status = 204;
        answer_audit(write, "standard.stop", "standard", "", "");
        call_write(write);
    }
}

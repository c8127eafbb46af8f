/* See gather.h. */
#include "api/lessons/gather.h"

#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/lessons/swing_load.h"
#include "wire/report/player.h"

#define QUICK_BYTES ((size_t)1 << 20) /* of documents; more are read and scored off the HTTP threads */

enum store_status gather_add(struct call *call, struct gathering *gathering, const char *swing_id,
                             struct store_swing *swing)
{
    const int at = gathering->count;
    if (at >= SCORE_SWINGS_MAX) {
        return STORE_ERROR;
    }
    const enum store_status status = store_swing_get(call->db, swing_id, false, call->arena, swing);
    if (status == STORE_OK) {
        memcpy(gathering->swings[at], swing_id, UUID_TEXT);
        gathering->versions[at] = swing->version;
        gathering->bytes += swing->document_size;
        gathering->count++;
    }
    return status;
}

static bool refuse(struct gathering *gathering, const char *path, const char *type, const char *what)
{
    gathering->refused.type = type;
    gathering->refused.path = path;
    gathering->refused.what = what;
    return false;
}

static const char *place(struct arena *arena, int i)
{
    return arena_printf(arena, "swings[%d]", i);
}

/* One document. Its text and its points are given back at once: fifty recordings don't fit in memory. */
static bool document_load(struct call *call, struct gathering *gathering, int i)
{
    struct store_swing swing;
    struct wire_error error;
    struct arena *own = arena_new(0);
    struct swing_document *document = own == NULL ? NULL : arena_alloc(call->arena, sizeof *document);
    gathering->status =
        document == NULL ? STORE_NO_MEMORY : store_swing_get(call->db, gathering->swings[i], true, own, &swing);
    bool good = gathering->status == STORE_OK;
    if (good && !swing_load_scored(&swing, call->arena, document, &error)) {
        good = refuse(gathering, place(call->arena, i), "invalid-document",
                      arena_printf(call->arena, "%s: %s", error.path, error.what));
    }
    gathering->documents[i] = document;
    arena_free(own);
    return good;
}

static bool document_read(struct call *call, struct gathering *gathering, int i)
{
    if (gathering->given != NULL && gathering->given_at == i) {
        gathering->documents[i] = gathering->given;
    } else if (!document_load(call, gathering, i)) {
        return false;
    }
    return gathering->documents[i]->swing.hand == gathering->documents[0]->swing.hand ||
           refuse(gathering, gathering->given != NULL ? "hand" : place(call->arena, i), "invalid", PLAYER_ONE_HAND);
}

/* Reads and scores, and answers nothing: on an HTTP thread or a heavy one. */
static void gather_score(struct call *call, void *data)
{
    struct gathering *gathering = data;
    struct scored_student *scored = &gathering->scored;
    unsigned clubs = 0;
    for (int i = 0; i < gathering->count; i++) {
        gathering->status = atomic_load(&call->api->refusing) ? STORE_CLOSED : STORE_OK;
        if (gathering->status != STORE_OK || !document_read(call, gathering, i)) {
            return;
        }
        clubs |= 1U << club_class_of(gathering->documents[i]->swing.club);
    }
    gathering->status =
        scoring_own_spread(call->db, call->arena, scored->student.id, clubs, gathering->instead, &scored->player);
    if (gathering->status != STORE_OK) {
        return;
    }
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        gathering->status = STORE_ERROR;
        return;
    }
    const bool made =
        scoring_report(scored, rules, gathering->documents, gathering->count, call->arena, &gathering->report);
    rules_return(call->api, rules);
    gathering->status = made ? STORE_OK : STORE_NO_MEMORY;
}

static void gather_scored(struct call *call, enum store_status status, void *data)
{
    struct gathering *gathering = data;
    status = status == STORE_OK ? gathering->status : status;
    if (status != STORE_OK) {
        call_problem_store(call, status);
    } else if (gathering->refused.type != NULL) {
        exchange_problem(call->exchange, 422, gathering->refused.type, gathering->refused.path, "%s",
                         gathering->refused.what == NULL ? "It can't be read." : gathering->refused.what);
    } else {
        gathering->then(call, gathering->data);
    }
}

void gather_run(struct call *call, struct gathering *gathering, void (*then)(struct call *call, void *data), void *data)
{
    gathering->then = then;
    gathering->data = data;
    if (gathering->bytes > QUICK_BYTES) {
        (void)call_heavy(call, gather_score, gather_scored, gathering, NULL);
        return;
    }
    gather_score(call, gathering);
    gather_scored(call, STORE_OK, gathering);
}

void gather_keep(struct call *call, struct gathering *gathering, const char *lesson_id)
{
    struct store_report *report = &gathering->report;
    uuid7_new(report->id);
    memcpy(report->lesson_id, lesson_id, sizeof report->lesson_id);
    report->created = call->now;
    store_report_pack(call->db, report, call->arena);
}

enum store_status gather_changed(struct write *write)
{
    return write_refuse(write, 409, "swing-changed", NULL,
                        "Somebody else changed this swing or its lesson at the same moment: try again.");
}

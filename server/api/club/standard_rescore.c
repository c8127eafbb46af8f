/* See standard_rescore.h. */
#include "api/club/standard_rescore.h"

#include <string.h>

#include "api/lessons/scoring.h"
#include "api/lessons/swing_load.h"
#include "store/lessons/edit.h"
#include "store/lessons/lesson.h"
#include "store/people/student.h"

/* As old as on the day; what hurts, as now. */
static enum store_status player_find(struct standard_page *page, const char *student_id, int64_t at,
                                     struct arena *arena, struct scored_student *out)
{
    const enum store_status status = store_student_get(page->db, student_id, arena, &out->student);
    if (status == STORE_OK) {
        scoring_player(&out->student, at, &out->player);
    }
    return status;
}

/* made false: it can't be read. From its document, as it was scored first. */
static enum store_status swing_score(struct standard_page *page, const char *id, struct arena *own,
                                     struct store_report *out, bool *made)
{
    struct store_swing swing;
    struct wire_error error;
    struct scored_student scored = {.unsteady = false};
    struct swing_document *document = arena_alloc(own, sizeof *document);
    enum store_status status = document == NULL ? STORE_NO_MEMORY : store_swing_get(page->db, id, true, own, &swing);
    if (status == STORE_OK) {
        status = player_find(page, swing.student_id, swing.recorded_at, own, &scored);
    }
    *made = status == STORE_OK && swing_load(&swing, own, document, &error);
    if (*made && !scoring_report(&scored, page->task->rules, &document, 1, own, out)) {
        return STORE_NO_MEMORY;
    }
    memcpy(out->swing_id, id, UUID_TEXT);
    return status;
}

/* The lesson's swings that count, read for scoring. *read false: one of them can't be. */
static enum store_status documents_read(struct standard_page *page, const struct store_swing_ids *ids,
                                        struct arena *arena, struct swing_document **documents, bool *read)
{
    enum store_status status = STORE_OK;
    *read = ids->count >= 1 && ids->count <= SCORE_SWINGS_MAX;
    for (size_t i = 0; i < ids->count && *read && status == STORE_OK; i++) {
        struct store_swing swing;
        struct wire_error error;
        struct arena *own = arena_new(0);
        documents[i] = own == NULL ? NULL : arena_alloc(arena, sizeof *documents[i]);
        status = documents[i] == NULL ? STORE_NO_MEMORY : store_swing_get(page->db, ids->items[i], true, own, &swing);
        *read = status == STORE_OK && swing_load_scored(&swing, arena, documents[i], &error) &&
                documents[i]->swing.hand == documents[0]->swing.hand;
        arena_free(own);
    }
    return status;
}

static enum store_status lesson_score_documents(struct standard_page *page, const struct store_lesson *lesson,
                                                struct scored_student *scored, struct arena *own,
                                                struct store_report *out, bool *made)
{
    struct store_swing_ids ids = {.count = 0};
    struct swing_document *documents[SCORE_SWINGS_MAX];
    unsigned clubs = 0;
    enum store_status status = store_edit_lesson_swings(page->db, lesson->id, own, &ids);
    if (status == STORE_OK) {
        status = documents_read(page, &ids, own, documents, made);
    }
    if (status != STORE_OK || !*made) {
        return status;
    }
    for (size_t i = 0; i < ids.count; i++) {
        clubs |= 1U << club_class_of(documents[i]->swing.club);
    }
    status = scoring_own_spread(page->db, own, lesson->student_id, clubs, NULL, &scored->player);
    return status == STORE_OK && !scoring_report(scored, page->task->rules, documents, (int)ids.count, own, out)
               ? STORE_NO_MEMORY
               : status;
}

/* False: not all of it is kept whole, or they are not of one hand. */
static bool lesson_unpack(const struct store_kept_list *list, struct report_kept *kept)
{
    for (size_t i = 0; i < list->count; i++) {
        if (!report_unpack_kept(list->items[i].packed, list->items[i].packed_size, &kept[i]) || !kept[i].whole ||
            kept[i].hand != kept[0].hand) {
            return false;
        }
    }
    return list->count >= 1 && list->count <= SCORE_SWINGS_MAX;
}

/* made false: it takes the documents. */
static enum store_status lesson_score_kept(struct standard_page *page, const struct store_lesson *lesson,
                                           struct scored_student *scored, struct arena *own, struct store_report *out,
                                           bool *made)
{
    struct store_kept_list list;
    unsigned clubs = 0;
    enum store_status status = store_job_lesson_kept(page->db, lesson->id, own, &list);
    struct report_kept *kept = status == STORE_OK ? arena_take(own, list.count * sizeof *kept) : NULL;
    if (kept == NULL) {
        return status == STORE_OK ? STORE_NO_MEMORY : status;
    }
    *made = lesson_unpack(&list, kept);
    for (size_t i = 0; i < list.count && *made; i++) {
        clubs |= 1U << kept[i].kept.club;
    }
    if (*made) {
        status = scoring_own_spread(page->db, own, lesson->student_id, clubs, NULL, &scored->player);
    }
    if (*made && status == STORE_OK) {
        out->measures = list.items[0].packed;
        out->measures_size = list.items[0].packed_size;
        status = scoring_again(scored, page->task->rules, kept, (int)list.count, own, out) ? STORE_OK : STORE_NO_MEMORY;
    }
    return status;
}

static enum store_status lesson_score(struct standard_page *page, const char *id, struct arena *own,
                                      struct store_report *out, bool *made)
{
    struct store_lesson lesson;
    struct scored_student scored = {.unsteady = false};
    enum store_status status = store_lesson_get(page->db, id, own, &lesson);
    if (status == STORE_OK) {
        status = player_find(page, lesson.student_id, lesson.held_at, own, &scored);
    }
    if (status == STORE_OK) {
        status = lesson_score_kept(page, &lesson, &scored, own, out, made);
    }
    if (status == STORE_OK && !*made) {
        status = lesson_score_documents(page, &lesson, &scored, own, out, made);
    }
    memcpy(out->lesson_id, id, UUID_TEXT);
    return status;
}

/* From what is kept whole beside its report; made false: it isn't. */
static enum store_status swing_score_kept(struct standard_page *page, const struct store_kept_swing *swing,
                                          struct arena *own, struct store_report *out, bool *made)
{
    struct scored_student scored = {.student = {.birth_date = swing->birth_date,
                                                .birth_year = swing->birth_year,
                                                .junior = swing->junior,
                                                .sex = swing->sex,
                                                .hand = swing->hand,
                                                .pain = swing->pain,
                                                .has_height = swing->has_height,
                                                .height_m = swing->height_m}};
    struct report_kept *kept = arena_take(own, sizeof *kept);
    *made = kept != NULL && report_unpack_kept(swing->packed, swing->packed_size, kept) && kept->whole;
    if (!*made) {
        return kept == NULL ? STORE_NO_MEMORY : STORE_OK;
    }
    scoring_player(&scored.student, swing->recorded_at, &scored.player);
    if (!scoring_again(&scored, page->task->rules, kept, 1, own, out)) {
        return STORE_NO_MEMORY;
    }
    memcpy(out->swing_id, swing->judged.id, UUID_TEXT);
    out->measures = swing->packed;
    out->measures_size = swing->packed_size;
    return STORE_OK;
}

static enum store_status one_score(struct standard_page *page, size_t i, struct arena *own, struct store_report *out,
                                   bool *made)
{
    enum store_status status = STORE_OK;
    if (page->of_lessons) {
        return lesson_score(page, page->judged.items[i].id, own, out, made);
    }
    status = swing_score_kept(page, &page->kept.items[i], own, out, made);
    return *made || status != STORE_OK ? status : swing_score(page, page->kept.items[i].judged.id, own, out, made);
}

/* A copy in the page's arena; NULL when memory is short. */
static const char *copy(struct standard_page *page, const char *bytes, size_t size)
{
    char *to = arena_take(page->arena, size);
    return to == NULL ? NULL : memcpy(to, bytes, size);
}

/* What is to be written of it: nothing else outlives its own arena. */
static bool report_take(struct standard_page *page, struct arena *own, struct store_report *report)
{
    uuid7_new(report->id);
    report->created = clock_now_ms();
    store_report_pack(page->db, report, own);
    report->measures = copy(page, report->measures, report->measures_size);
    if (report->packed == NULL) {
        report->json = copy(page, report->json, report->json_size);
        return report->measures != NULL && report->json != NULL;
    }
    report->json = "";
    report->packed = copy(page, report->packed, report->packed_size);
    return report->measures != NULL && report->packed != NULL;
}

enum store_status rescore_make(struct standard_page *page)
{
    const size_t count = page->of_lessons ? page->judged.count : page->kept.count;
    enum store_status status = STORE_OK;
    page->reports = arena_alloc(page->arena, count * sizeof *page->reports);
    page->instead = arena_alloc(page->arena, count * sizeof *page->instead);
    if (page->reports == NULL || page->instead == NULL) {
        return STORE_NO_MEMORY;
    }
    for (size_t i = 0; i < count && status == STORE_OK; i++) {
        const struct store_judged *item = page->of_lessons ? &page->judged.items[i] : &page->kept.items[i].judged;
        struct store_report *report = &page->reports[page->report_count];
        bool made = false;
        if (!item->counts || item->report == 0 || item->standard >= page->task->job.standard) {
            continue;
        }
        struct arena *own = arena_new(0);
        status = own == NULL ? STORE_NO_MEMORY : one_score(page, i, own, report, &made);
        if (status == STORE_OK && made && !report_take(page, own, report)) {
            status = STORE_NO_MEMORY;
        }
        arena_free(own);
        if (status == STORE_OK && made) {
            page->instead[page->report_count++] = item->report;
        }
        page->unread += status == STORE_OK && !made;
    }
    return status;
}

static enum store_status keep_job(struct store_db *db, void *argument)
{
    const struct standard_page *page = argument;
    int64_t kept = 0;
    enum store_status status = STORE_OK;
    for (size_t i = 0; i < page->report_count && status == STORE_OK; i++) {
        const struct store_report *report = &page->reports[i];
        int64_t newest = 0;
        status =
            store_job_newest(db, page->of_lessons, page->of_lessons ? report->lesson_id : report->swing_id, &newest);
        if (status == STORE_OK && newest == page->instead[i]) {
            status = store_report_insert(db, report);
            kept++;
        }
    }
    if (status == STORE_OK) {
        status = store_job_made(db, page->task->job.id, page->of_lessons ? 0 : kept, page->of_lessons ? kept : 0);
    }
    store_audit_waive(db); /* whoever began it is in the audit */
    return status;
}

enum store_status rescore_keep(struct standard_page *page)
{
    return page->report_count == 0 ? STORE_OK : store_run(page->task->api->store, keep_job, page);
}

/* See edit.h. */
#include "store/lessons/edit.h"

#include <string.h>

#include "store/engine/query.h"

static void read_state(struct query *query, struct arena *arena, void *item)
{
    struct store_edit_state *out = item;
    (void)arena;
    *out = (struct store_edit_state){.version = query_get_integer(query, 0)};
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->lesson_id, sizeof out->lesson_id);
}

enum store_status store_edit_state(struct store_db *db, const char *swing_id, struct store_edit_state *out)
{
    struct query query;
    query_open(&query, db, EDIT_STATE);
    query_text(&query, 1, swing_id);
    return query_one(&query, NULL, read_state, out);
}

static enum store_status stale(enum store_status status)
{
    return status == STORE_NOT_FOUND ? STORE_STALE : status;
}

/* The row is there before it is changed, so that every change is an update. */
static enum store_status row_make(struct store_db *db, const char *swing_id)
{
    struct query query;
    query_open(&query, db, EDIT_ROW);
    query_text(&query, 1, swing_id);
    return query_run(&query);
}

enum store_status store_edit_begin(struct store_db *db, const struct store_edit *edit)
{
    struct query query;
    struct store_edit_state now;
    enum store_status status = store_edit_state(db, edit->swing_id, &now);
    if (status != STORE_OK) {
        return status;
    }
    if (strcmp(now.student_id, edit->was.student_id) != 0 || strcmp(now.lesson_id, edit->was.lesson_id) != 0) {
        return STORE_STALE;
    }
    status = row_make(db, edit->swing_id);
    if (status == STORE_OK) {
        query_open(&query, db, EDIT_BEGIN);
        query_text(&query, 1, edit->swing_id);
        query_integer(&query, 2, edit->was.version);
        query_integer(&query, 3, edit->note.at);
        status = stale(query_run_one(&query));
    }
    if (status == STORE_OK && now.lesson_id[0] != '\0') {
        query_open(&query, db, EDIT_LESSON);
        query_text(&query, 1, now.lesson_id);
        query_integer(&query, 2, edit->lesson_version);
        status = stale(query_run_one(&query));
    }
    return status;
}

static enum store_status run_noted(struct store_db *db, enum statement statement, const struct store_edit *edit,
                                   bool noted)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, edit->swing_id);
    query_time(&query, 2, noted ? edit->note.at : 0);
    query_text(&query, 3, noted ? edit->note.by : NULL);
    query_text(&query, 4, noted ? edit->note.reason : NULL);
    return query_run_one(&query);
}

enum store_status store_edit_document(struct store_db *db, const struct store_edit *edit,
                                      const struct store_swing *swing)
{
    struct query query;
    char id[UUID_TEXT];
    uuid7_new(id);
    query_open(&query, db, EDIT_KEEP_DOCUMENT);
    query_text(&query, 1, edit->swing_id);
    query_text(&query, 2, id);
    enum store_status status = query_run_one(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, EDIT_DOCUMENT);
    query_text(&query, 1, edit->swing_id);
    query_integer(&query, 2, swing->recorded_at);
    query_bytes(&query, 3, swing->document_hash, STORE_HASH);
    query_bytes(&query, 4, swing->document, swing->packed == NULL ? swing->document_size : 0);
    if (swing->packed != NULL) {
        query_integer(&query, 5, (int64_t)swing->document_size);
        query_bytes(&query, 6, swing->packed, swing->packed_size);
    }
    status = query_run_one(&query);
    return status == STORE_OK ? run_noted(db, EDIT_REVISED, edit, true) : status;
}

enum store_status store_edit_void(struct store_db *db, const struct store_edit *edit, bool voided)
{
    return run_noted(db, EDIT_VOID, edit, voided);
}

static enum store_status run_for(struct store_db *db, enum statement statement, const char *first, const char *second)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, first);
    if (second != NULL) {
        query_text(&query, 2, second);
    }
    return query_run(&query);
}

/* Whatever of the former student hangs on it. */
static enum store_status let_go(struct store_db *db, const struct store_edit *edit)
{
    struct query query;
    const char *lesson_id = edit->was.lesson_id;
    enum store_status status = run_for(db, EDIT_FORGET_REPORTS, edit->swing_id, NULL);
    if (status == STORE_OK && lesson_id[0] != '\0') {
        status = run_for(db, EDIT_FORGET_LESSON_REPORTS, lesson_id, NULL);
        status = status == STORE_OK ? run_for(db, EDIT_FORGET_LESSON_ANSWERS, edit->was.student_id, lesson_id) : status;
    }
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, EDIT_BASELINE_EVENT);
    query_text(&query, 1, edit->swing_id);
    query_integer(&query, 2, edit->note.at);
    query_text(&query, 3, edit->note.by);
    status = query_run(&query);
    return status == STORE_OK ? run_for(db, EDIT_BASELINE, edit->swing_id, NULL) : status;
}

enum store_status store_edit_move(struct store_db *db, const struct store_edit *edit, const char *student_id,
                                  const char *answer)
{
    struct query query;
    enum store_status status = let_go(db, edit);
    status = status == STORE_OK ? run_for(db, EDIT_MOVE, edit->swing_id, student_id) : status;
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, EDIT_MOVE_ANSWERS);
    query_text(&query, 1, edit->was.student_id);
    query_text(&query, 2, edit->swing_id);
    query_text(&query, 3, student_id);
    query_text(&query, 4, answer);
    status = query_run(&query);
    return status == STORE_OK ? run_noted(db, EDIT_MOVED, edit, true) : status;
}

enum store_status store_edit_lesson_swings(struct store_db *db, const char *lesson_id, struct arena *arena,
                                           struct store_swing_ids *out)
{
    struct query query;
    query_open_all(&query, db, EDIT_LESSON_SWINGS, lesson_id);
    return query_list(&query, arena, STORE_PAGE_MAX, query_read_id, out);
}

static void read_revision(struct query *query, struct arena *arena, void *item)
{
    struct store_revision *out = item;
    *out = (struct store_revision){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->number = query_get_integer(query, 1);
    query_get_id(query, 2, out->made_by, sizeof out->made_by);
    out->created = query_get_integer(query, 3);
    out->reason = query_get_text(query, 4, arena);
    query_get_id(query, 5, out->report_id, sizeof out->report_id);
    query_get_hash(query, 6, out->document_hash);
    out->document_size = (size_t)query_get_integer(query, 7);
}

enum store_status store_revision_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                      struct store_revision_list *out)
{
    struct query query;
    query_open_all(&query, db, EDIT_REVISIONS, swing_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_revision, out);
}

struct store_blob store_revision_blob(const struct store_revision *revision)
{
    struct store_blob blob = {.kind = STORE_BLOB_REVISION, .size = revision->document_size};
    memcpy(blob.id, revision->id, sizeof blob.id);
    memcpy(blob.hash, revision->document_hash, sizeof blob.hash);
    return blob;
}

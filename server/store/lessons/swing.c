/* Swings and reports. */
#include "store/lessons/swing.h"

#include <string.h>

#include "store/engine/query.h"
#include "store/practice/progress.h"

static void read_note(struct query *query, int column, struct arena *arena, struct store_edit_note *out)
{
    out->at = query_get_integer(query, column);
    query_get_id(query, column + 1, out->by, sizeof out->by);
    out->reason = query_get_text(query, column + 2, arena);
}

static void read_swing(struct query *query, struct arena *arena, void *item)
{
    struct store_swing *out = item;
    *out = (struct store_swing){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->uploaded_by, sizeof out->uploaded_by);
    query_get_id(query, 3, out->lesson_id, sizeof out->lesson_id);
    out->recorded_at = query_get_integer(query, 4);
    out->received_at = query_get_integer(query, 5);
    query_get_hash(query, 6, out->document_hash);
    out->document_size = (size_t)query_get_integer(query, 7);
    out->media_type = query_get_text(query, 8, arena);
    out->version = query_get_integer(query, 9);
    out->revision = query_get_integer(query, 10);
    read_note(query, 11, arena, &out->revised);
    read_note(query, 14, arena, &out->voided);
    read_note(query, 17, arena, &out->moved);
}

static void read_listed(struct query *query, struct arena *arena, void *item)
{
    struct store_swing *out = item;
    read_swing(query, arena, out);
    out->still = query_get_text(query, 20, arena);
}

static void read_swing_reading(struct query *query, struct arena *arena, void *item)
{
    struct store_swing *out = item;
    read_swing(query, arena, out);
    out->reading = query_is_null(query, 20) ? NULL : query_get_bytes(query, 20, arena, &out->reading_size);
}

static void read_swing_document(struct query *query, struct arena *arena, void *item)
{
    struct store_swing *out = item;
    read_swing_reading(query, arena, out);
    out->document = query_get_bytes(query, 21, arena, &out->document_size);
}

void store_swing_pack(struct store_db *db, struct store_swing *swing, struct arena *arena)
{
    if (swing->reading == NULL) {
        swing->packed = packed_make(db->packer, PACKED_WITH_SWING, swing->document, swing->document_size, arena,
                                    &swing->packed_size);
    }
}

void store_report_pack(struct store_db *db, struct store_report *report, struct arena *arena)
{
    report->packed =
        packed_make(db->packer, PACKED_WITH_REPORT, report->json, report->json_size, arena, &report->packed_size);
}

enum store_status store_swing_insert(struct store_db *db, const struct store_swing *swing)
{
    struct query query;
    query_open(&query, db, SWING_INSERT);
    query_text(&query, 1, swing->id);
    query_text(&query, 2, swing->student_id);
    query_text(&query, 3, swing->uploaded_by);
    query_id(&query, 4, swing->lesson_id);
    query_integer(&query, 5, swing->recorded_at);
    query_integer(&query, 6, swing->received_at);
    query_bytes(&query, 7, swing->document_hash, STORE_HASH);
    query_bytes(&query, 8, swing->document, swing->packed == NULL ? swing->document_size : 0);
    query_text(&query, 9, swing->media_type);
    if (swing->reading != NULL) {
        query_long_text(&query, 10, swing->reading, swing->reading_size);
    }
    if (swing->packed != NULL) {
        query_integer(&query, 11, (int64_t)swing->document_size);
        query_bytes(&query, 12, swing->packed, swing->packed_size);
    }
    return query_run(&query);
}

enum store_status store_swing_get(struct store_db *db, const char *id, bool want_document, struct arena *arena,
                                  struct store_swing *out)
{
    struct query query;
    query_open(&query, db, want_document ? SWING_GET_DOCUMENT : SWING_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, want_document ? read_swing_document : read_swing_reading, out);
}

struct store_blob store_swing_blob(const struct store_swing *swing)
{
    struct store_blob blob = {.kind = STORE_BLOB_DOCUMENT, .size = swing->document_size};
    memcpy(blob.id, swing->id, sizeof blob.id);
    memcpy(blob.hash, swing->document_hash, sizeof blob.hash);
    return blob;
}

enum store_status store_swing_student(struct store_db *db, const char *id, char student_id[UUID_TEXT])
{
    struct query query;
    query_open(&query, db, SWING_STUDENT);
    query_text(&query, 1, id);
    return query_one(&query, NULL, query_read_id, student_id);
}

enum store_status store_swing_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                   struct arena *arena, struct store_swing_list *out)
{
    struct query query;
    query_open(&query, db, SWING_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    query_page_since(&query, 4, page);
    query_page_times(&query, 5, page);
    return query_list(&query, arena, page_limit(page), read_listed, out);
}

enum store_status store_report_insert(struct store_db *db, const struct store_report *report)
{
    struct query query;
    query_open(&query, db, SWING_REPORT_INSERT);
    query_text(&query, 1, report->id);
    query_id(&query, 2, report->swing_id);
    query_id(&query, 3, report->lesson_id);
    query_integer(&query, 4, report->standard);
    query_integer(&query, 5, report->created);
    query_long_text(&query, 6, report->json, report->packed == NULL ? report->json_size : 0);
    if (report->packed != NULL) {
        query_integer(&query, 7, (int64_t)report->json_size);
        query_bytes(&query, 8, report->packed, report->packed_size);
    }
    const enum store_status status = query_run(&query);
    if (status != STORE_OK || report->measures == NULL) {
        return status;
    }
    return store_measures_put(db, sqlite3_last_insert_rowid(db->handle), report->measures, report->measures_size);
}

static void read_report(struct query *query, struct arena *arena, void *item)
{
    struct store_report *out = item;
    *out = (struct store_report){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 2, out->lesson_id, sizeof out->lesson_id);
    out->standard = query_get_integer(query, 3);
    out->created = query_get_integer(query, 4);
    out->json = query_get_bytes(query, 5, arena, &out->json_size);
}

static enum store_status one_report(struct store_db *db, enum statement statement, const char *of, struct arena *arena,
                                    struct store_report *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, of);
    return query_one(&query, arena, read_report, out);
}

enum store_status store_report_get(struct store_db *db, const char *id, struct arena *arena, struct store_report *out)
{
    return one_report(db, SWING_REPORT_GET, id, arena, out);
}

enum store_status store_report_of_swing(struct store_db *db, const char *swing_id, struct arena *arena,
                                        struct store_report *out)
{
    return one_report(db, SWING_REPORT_SWING, swing_id, arena, out);
}

enum store_status store_report_of_lesson(struct store_db *db, const char *lesson_id, struct arena *arena,
                                         struct store_report *out)
{
    return one_report(db, SWING_REPORT_LESSON, lesson_id, arena, out);
}

enum store_status store_report_by_standard(struct store_db *db, bool lesson, const char *id, int64_t standard,
                                           struct arena *arena, struct store_report *out)
{
    struct query query;
    query_open(&query, db, lesson ? SWING_REPORT_LESSON_BY_STANDARD : SWING_REPORT_BY_STANDARD);
    query_text(&query, 1, id);
    query_integer(&query, 2, standard);
    return query_one(&query, arena, read_report, out);
}

/* Swings and reports. */
#include "store/lessons/swing.h"

#include <string.h>

#include "store/engine/internal.h"
#include "store/practice/progress.h"

#define SWING                                                                                                          \
    "s.id, s.student_id, s.uploaded_by, s.lesson_id, s.recorded_at, s.received_at, s.document_hash, s.document_size, " \
    "s.media_type"
#define DOCUMENT SWING ", s.reading, s.document"
#define REPORT "r.id, r.swing_id, r.lesson_id, r.standard, r.created, r.json"

enum {
    INSERT,
    GET,
    GET_DOCUMENT,
    STUDENT,
    LIST,
    LIST_LESSON,
    LIST_ALL,
    REPORT_INSERT,
    REPORT_GET,
    REPORT_SWING,
    REPORT_LESSON,
    REPORT_LIST,
    STATEMENTS
};
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO swing (id, student_id, uploaded_by, lesson_id, recorded_at, received_at, document_hash, "
               "document_size, document, media_type, reading) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, "
               "coalesce(?10, 'application/json'), ?11)",
    [GET] = "SELECT " SWING ", s.reading FROM swing AS s WHERE s.id = ?1",
    [GET_DOCUMENT] = "SELECT " DOCUMENT " FROM swing AS s WHERE s.id = ?1",
    [STUDENT] = "SELECT student_id FROM swing WHERE id = ?1",
    [LIST] = "SELECT " SWING " FROM swing AS s WHERE s.student_id = ?1 AND s.id < ?2 ORDER BY s.id DESC LIMIT ?3",
    [LIST_LESSON] = "SELECT " DOCUMENT " FROM swing AS s WHERE s.lesson_id = ?1 ORDER BY s.id LIMIT ?2",
    [LIST_ALL] = "SELECT " DOCUMENT " FROM swing AS s WHERE s.id > ?1 ORDER BY s.id LIMIT ?2",
    [REPORT_INSERT] =
        "INSERT INTO report (id, swing_id, lesson_id, standard, created, json) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    [REPORT_GET] = "SELECT " REPORT " FROM report AS r WHERE r.id = ?1",
    [REPORT_SWING] = "SELECT " REPORT " FROM report AS r WHERE r.swing_id = ?1 ORDER BY r.number DESC LIMIT 1",
    [REPORT_LESSON] = "SELECT " REPORT " FROM report AS r WHERE r.lesson_id = ?1 ORDER BY r.number DESC LIMIT 1",
    [REPORT_LIST] = "SELECT " REPORT " FROM swing AS s CROSS JOIN report AS r "
                    "ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id) "
                    "WHERE s.student_id = ?1 AND s.id < ?2 ORDER BY s.id DESC LIMIT ?3",
};
const struct store_statements store_swing_statements = {"swing", sql, STATEMENTS};

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
}

static void read_swing_reading(struct query *query, struct arena *arena, void *item)
{
    struct store_swing *out = item;
    read_swing(query, arena, out);
    out->reading = query_is_null(query, 9) ? NULL : query_get_bytes(query, 9, arena, &out->reading_size);
}

static void read_swing_document(struct query *query, struct arena *arena, void *item)
{
    struct store_swing *out = item;
    read_swing_reading(query, arena, out);
    out->document = query_get_bytes(query, 10, arena, &out->document_size);
}

enum store_status store_swing_insert(struct store_db *db, const struct store_swing *swing)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, INSERT);
    query_text(&query, 1, swing->id);
    query_text(&query, 2, swing->student_id);
    query_text(&query, 3, swing->uploaded_by);
    query_id(&query, 4, swing->lesson_id);
    query_integer(&query, 5, swing->recorded_at);
    query_integer(&query, 6, swing->received_at);
    query_bytes(&query, 7, swing->document_hash, STORE_HASH);
    query_integer(&query, 8, (int64_t)swing->document_size);
    query_bytes(&query, 9, swing->document, swing->document_size);
    query_text(&query, 10, swing->media_type);
    if (swing->reading != NULL) {
        query_long_text(&query, 11, swing->reading, swing->reading_size);
    }
    return query_run(&query);
}

enum store_status store_swing_get(struct store_db *db, const char *id, bool want_document, struct arena *arena,
                                  struct store_swing *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, want_document ? GET_DOCUMENT : GET);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        (want_document ? read_swing_document : read_swing_reading)(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
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
    query_open(&query, db, STATEMENTS_SWING, STUDENT);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        query_get_id(&query, 0, student_id, UUID_TEXT);
        status = query.status;
    }
    query_close(&query);
    return status;
}

static enum store_status read_swings(struct query *query, int limit, query_read_fn read, struct arena *arena,
                                     struct store_swing_list *out)
{
    struct query_items items;
    const enum store_status status = query_list(query, arena, limit, sizeof(struct store_swing), read, &items);
    *out = (struct store_swing_list){items.items, items.count, items.more};
    return status;
}

enum store_status store_swing_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                   struct arena *arena, struct store_swing_list *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, LIST);
    query_text(&query, 1, student_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, page_limit(page) + 1);
    return read_swings(&query, page_limit(page), read_swing, arena, out);
}

enum store_status store_swing_list_lesson(struct store_db *db, const char *lesson_id, struct arena *arena,
                                          struct store_swing_list *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, LIST_LESSON);
    query_text(&query, 1, lesson_id);
    query_integer(&query, 2, STORE_PAGE_MAX + 1);
    return read_swings(&query, STORE_PAGE_MAX, read_swing_document, arena, out);
}

enum store_status store_swing_list_all(struct store_db *db, const struct store_page *page, struct arena *arena,
                                       struct store_swing_list *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, LIST_ALL);
    query_text(&query, 1, page_after(page));
    query_integer(&query, 2, page_limit(page) + 1);
    return read_swings(&query, page_limit(page), read_swing_document, arena, out);
}

enum store_status store_report_insert(struct store_db *db, const struct store_report *report)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, REPORT_INSERT);
    query_text(&query, 1, report->id);
    query_id(&query, 2, report->swing_id);
    query_id(&query, 3, report->lesson_id);
    query_integer(&query, 4, report->standard);
    query_integer(&query, 5, report->created);
    query_long_text(&query, 6, report->json, report->json_size);
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

static enum store_status one_report(struct store_db *db, int statement, const char *of, struct arena *arena,
                                    struct store_report *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SWING, statement);
    query_text(&query, 1, of);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_report(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_report_get(struct store_db *db, const char *id, struct arena *arena, struct store_report *out)
{
    return one_report(db, REPORT_GET, id, arena, out);
}

enum store_status store_report_of_swing(struct store_db *db, const char *swing_id, struct arena *arena,
                                        struct store_report *out)
{
    return one_report(db, REPORT_SWING, swing_id, arena, out);
}

enum store_status store_report_of_lesson(struct store_db *db, const char *lesson_id, struct arena *arena,
                                         struct store_report *out)
{
    return one_report(db, REPORT_LESSON, lesson_id, arena, out);
}

enum store_status store_report_list_student(struct store_db *db, const char *student_id, const struct store_page *page,
                                            struct arena *arena, struct store_report_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_SWING, REPORT_LIST);
    query_text(&query, 1, student_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_report), read_report, &items);
    *out = (struct store_report_list){items.items, items.count, items.more};
    return status;
}

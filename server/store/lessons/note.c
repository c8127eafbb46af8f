/* Notes about a student. */
#include "store/lessons/note.h"

#include "store/engine/internal.h"

enum { INSERT, LIST, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO note (id, student_id, author, text, readers, created) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    [LIST] = "SELECT id, student_id, author, text, readers, created FROM note WHERE student_id = ?1 AND id < ?2 "
             "AND (?3 = 0 OR (readers & ?3) <> 0) ORDER BY id DESC LIMIT ?4",
};
const struct store_statements store_note_statements = {"note", sql, STATEMENTS};

static void read_note(struct query *query, struct arena *arena, void *item)
{
    struct store_note *out = item;
    *out = (struct store_note){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->author, sizeof out->author);
    out->text = query_get_text(query, 3, arena);
    out->readers = (unsigned)query_get_integer(query, 4);
    out->created = query_get_integer(query, 5);
}

enum store_status store_note_insert(struct store_db *db, const struct store_note *note)
{
    struct query query;
    query_open(&query, db, STATEMENTS_NOTE, INSERT);
    query_text(&query, 1, note->id);
    query_text(&query, 2, note->student_id);
    query_text(&query, 3, note->author);
    query_text(&query, 4, note->text);
    query_integer(&query, 5, note->readers);
    query_integer(&query, 6, note->created);
    return query_run(&query);
}

enum store_status store_note_list(struct store_db *db, const char *student_id, unsigned readers,
                                  const struct store_page *page, struct arena *arena, struct store_note_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_NOTE, LIST);
    query_text(&query, 1, student_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, readers);
    query_integer(&query, 4, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_note), read_note, &items);
    *out = (struct store_note_list){items.items, items.count, items.more};
    return status;
}

/* Notes about a student. */
#include "store/lessons/note.h"

#include "store/engine/query.h"

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

enum store_status store_note_get(struct store_db *db, const char *id, struct arena *arena, struct store_note *out)
{
    struct query query;
    query_open(&query, db, NOTE_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_note, out);
}

enum store_status store_note_insert(struct store_db *db, const struct store_note *note)
{
    struct query query;
    query_open(&query, db, NOTE_INSERT);
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
    query_open(&query, db, NOTE_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    query_integer(&query, 4, readers);
    query_page_since(&query, 5, page);
    query_page_times(&query, 6, page);
    return query_list(&query, arena, page_limit(page), read_note, out);
}

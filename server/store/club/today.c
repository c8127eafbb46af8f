/* Students who are on the tee today. */
#include "store/club/today.h"

#include "store/engine/query.h"

enum store_status store_today_active(struct store_db *db, const char *account_id, int64_t since, struct arena *arena,
                                     struct store_id_list *out)
{
    struct query query;
    char least[UUID_TEXT];
    uuid7_least(since, least);
    query_open(&query, db, TODAY_ACTIVE);
    query_text(&query, 1, account_id);
    query_text(&query, 2, least);
    query_integer(&query, 3, STORE_TODAY_MAX);
    return query_list(&query, arena, STORE_TODAY_MAX, query_read_id, out);
}

static void read_today(struct query *query, struct arena *arena, void *item)
{
    struct store_today *out = item;
    *out = (struct store_today){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->name = query_get_text(query, 1, arena);
    out->hand = query_get_text(query, 2, arena);
    out->sex = query_get_text(query, 3, arena);
    out->junior = query_get_integer(query, 4) != 0;
    out->pain = (unsigned)query_get_integer(query, 5);
    out->pain_note = query_get_text(query, 6, arena);
    query_get_id(query, 7, out->fix_id, sizeof out->fix_id);
    out->fault = query_get_text(query, 8, arena);
    out->opened_at = query_get_integer(query, 9);
    out->retest_at = query_get_integer(query, 10);
    out->open_fixes = query_get_integer(query, 11);
    query_get_id(query, 12, out->note_id, sizeof out->note_id);
    out->note = query_get_text(query, 13, arena);
    out->noted_at = query_get_integer(query, 14);
    out->note_by = query_get_text(query, 15, arena);
    query_get_id(query, 16, out->handover_id, sizeof out->handover_id);
    out->handed_note = query_get_text(query, 17, arena);
    out->handed_at = query_get_integer(query, 18);
    out->handed_by = query_get_text(query, 19, arena);
    out->waiting = query_get_integer(query, 20);
    out->urgent = query_get_integer(query, 21);
    out->still = query_get_text(query, 22, arena);
    out->last_swing = query_get_integer(query, 23);
}

enum store_status store_today_student(struct store_db *db, const char *account_id, const char *student_id, int64_t now,
                                      struct arena *arena, struct store_today *out)
{
    struct query query;
    query_open(&query, db, TODAY_STUDENT);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, now);
    query_text(&query, 3, student_id);
    return query_one(&query, arena, read_today, out);
}

/* The ledger in the club's file, and what a start makes of the two. */
#include "store/engine/ledger.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/engine/ledger_file.h"
#include "store/engine/query.h"

static const char *const kinds[STORE_ENDED_COUNT] = {
    [STORE_ENDED_STUDENT] = "student", [STORE_ENDED_ACCOUNT] = "account", [STORE_ENDED_DEVICE] = "device"};

static bool kind_of(const char *name, enum store_ended *out)
{
    for (int i = 0; i < STORE_ENDED_COUNT; i++) {
        if (strcmp(kinds[i], name) == 0) {
            *out = (enum store_ended)i;
            return true;
        }
    }
    return false;
}

static enum store_status add(struct store_db *db, const char *kind, const char *id, int64_t at)
{
    struct query query;
    query_open(&query, db, LEDGER_ADD);
    query_text(&query, 1, kind);
    query_text(&query, 2, id);
    query_integer(&query, 3, at);
    return query_run(&query);
}

static enum store_status find(struct store_db *db, const char *kind, const char *id)
{
    struct query query;
    query_open(&query, db, LEDGER_FIND);
    query_text(&query, 1, kind);
    query_text(&query, 2, id);
    return query_exists(&query);
}

enum store_status store_ledger_add(struct store_db *db, enum store_ended kind, const char *id, int64_t at)
{
    const enum store_status status = add(db, kinds[kind], id, at);
    db->ended = true;
    return status == STORE_OK && db->ledger ? ledger_wait(db->ledger, kinds[kind], id, at) : status;
}

/* ---- a start ---- */

struct replay {
    struct store_db *db;
    struct ledger *ledger;
    const struct store_endings *endings;
    const struct ledger_line *lines;
    size_t count, settled; /* lines, and those of them whose commit is known to have come */
    struct arena *arena;
    int64_t now;
    struct store_restored *told;
};

/* How many lines have a `kept` behind them; all of them in a file of before there was one. */
static size_t count_settled(const struct ledger_line *lines, size_t count)
{
    for (size_t i = count; i-- > 0;) {
        if (strcmp(lines[i].kind, LEDGER_KEPT) == 0) {
            return i;
        }
    }
    return count;
}

/* Ends it once more. What the restored file doesn't hold at all was begun and ended after its copy was made. */
static enum store_status end_again(const struct replay *replay, enum store_ended kind, const struct ledger_line *line)
{
    static const char *const actions[STORE_ENDED_COUNT] = {[STORE_ENDED_STUDENT] = "student.erase",
                                                           [STORE_ENDED_ACCOUNT] = "account.erase",
                                                           [STORE_ENDED_DEVICE] = "device.revoke"};
    enum store_status status = add(replay->db, kinds[kind], line->id, line->at);
    if (status != STORE_OK) {
        return status;
    }
    const int64_t before = store_db_changes(replay->db);
    status = replay->endings->end[kind](replay->db, line->id, line->at);
    status = status == STORE_NOT_FOUND ? STORE_OK : status;
    if (status != STORE_OK || store_db_changes(replay->db) == before) {
        return status;
    }
    replay->told->ended[kind]++;
    const bool restored = line < replay->lines + replay->settled;
    return replay->endings->audit(replay->db, replay->now, actions[kind], kinds[kind], line->id,
                                  restored ? "{\"after\":\"restore\"}" : "{\"after\":\"crash\"}");
}

static enum store_status end_missing(const struct replay *replay, bool *restored)
{
    enum store_status status = STORE_OK;
    for (size_t i = 0; i < replay->count && status == STORE_OK; i++) {
        const struct ledger_line *line = &replay->lines[i];
        enum store_ended kind;
        if (!kind_of(line->kind, &kind)) {
            continue;
        }
        status = find(replay->db, line->kind, line->id);
        if (status == STORE_NOT_FOUND) {
            *restored = *restored || i < replay->settled;
            status = end_again(replay, kind, line);
        }
    }
    return status;
}

static void read_line(struct query *query, struct arena *arena, void *item)
{
    struct ledger_line *out = item;
    (void)arena;
    query_get_id(query, 0, out->kind, sizeof out->kind);
    query_get_id(query, 1, out->id, sizeof out->id);
    out->at = query_get_integer(query, 2);
}

static int compare_lines(const void *a, const void *b)
{
    const struct ledger_line *first = a;
    const struct ledger_line *second = b;
    const int by_kind = strcmp(first->kind, second->kind);
    return by_kind != 0 ? by_kind : strcmp(first->id, second->id);
}

/* The other way round: the file beside was lost, or left on the old machine. `sorted` is a copy of its lines. */
static enum store_status write_missing(const struct replay *replay)
{
    struct query query;
    struct {
        struct ledger_line *items;
        size_t count;
        bool more;
    } rows;
    struct ledger_line *sorted = arena_alloc(replay->arena, (replay->count + 1) * sizeof *sorted);
    if (!sorted) {
        return STORE_NO_MEMORY;
    }
    if (replay->count > 0) {
        memcpy(sorted, replay->lines, replay->count * sizeof *sorted);
        qsort(sorted, replay->count, sizeof *sorted, compare_lines);
    }
    query_open(&query, replay->db, LEDGER_LIST);
    enum store_status status = query_list(&query, replay->arena, INT32_MAX - 1, read_line, &rows);
    for (size_t i = 0; i < rows.count && status == STORE_OK; i++) {
        if (!bsearch(&rows.items[i], sorted, replay->count, sizeof *sorted, compare_lines)) {
            status = ledger_wait(replay->ledger, rows.items[i].kind, rows.items[i].id, rows.items[i].at);
        }
    }
    return status;
}

struct state {
    char mark[UUID_TEXT];
    bool copied;
};

static void read_state(struct query *query, struct arena *arena, void *item)
{
    struct state *out = item;
    (void)arena;
    query_get_id(query, 0, out->mark, sizeof out->mark);
    out->copied = query_get_integer(query, 1) != 0;
}

/* A copy says so itself; any other older state was left by an earlier start than the newest in the file beside, but for
 * starts that a crash came into. */
static enum store_status is_restored(const struct replay *replay, bool *restored)
{
    struct state state;
    struct query query;
    query_open(&query, replay->db, LEDGER_STATE);
    enum store_status status = query_one(&query, NULL, read_state, &state);
    *restored = status == STORE_OK && state.copied;
    for (size_t i = replay->count; i-- > 0 && status == STORE_OK;) {
        const bool same = strcmp(replay->lines[i].id, state.mark) == 0;
        if (strcmp(replay->lines[i].kind, LEDGER_START) == 0 && (same || i < replay->settled)) {
            *restored = *restored || !same;
            break;
        }
    }
    return status;
}

/* Who was signed in, which invitations and feeds stood when the copy was made is no longer true. */
static enum store_status end_all_tokens(const struct replay *replay)
{
    char detail[128];
    struct query query;
    query_open(&query, replay->db, LEDGER_END_SESSIONS);
    query_integer(&query, 1, replay->now);
    enum store_status status = query_run(&query);
    for (enum statement next = LEDGER_END_INVITATIONS; next <= LEDGER_END_FEEDS && status == STORE_OK; next++) {
        query_open(&query, replay->db, next);
        status = query_run(&query);
    }
    (void)snprintf(detail, sizeof detail, "{\"students\":%d,\"accounts\":%d,\"devices\":%d}",
                   replay->told->ended[STORE_ENDED_STUDENT], replay->told->ended[STORE_ENDED_ACCOUNT],
                   replay->told->ended[STORE_ENDED_DEVICE]);
    return status == STORE_OK ? replay->endings->audit(replay->db, replay->now, "club.restore", "club", "1", detail)
                              : status;
}

static enum store_status replay_all(const struct replay *replay)
{
    char mark[UUID_TEXT];
    struct query query;
    struct store_restored *told = replay->told;
    enum store_status status = is_restored(replay, &told->restored);
    if (status == STORE_OK) {
        status = end_missing(replay, &told->restored);
    }
    if (status == STORE_OK && told->restored) {
        status = end_all_tokens(replay);
    }
    if (status == STORE_OK) {
        status = write_missing(replay);
    }
    if (status != STORE_OK) {
        return status;
    }
    uuid7_new(mark);
    query_open(&query, replay->db, LEDGER_SET_STATE);
    query_text(&query, 1, mark);
    status = query_run(&query);
    return status == STORE_OK ? ledger_wait(replay->ledger, LEDGER_START, mark, replay->now) : status;
}

bool store_ledger_start(struct store_db *db, struct ledger *ledger, const struct store_endings *endings,
                        struct store_restored *told, char *error, size_t error_size)
{
    struct arena *arena = arena_new(0);
    struct ledger_line *lines = NULL;
    struct replay replay = {
        .db = db, .ledger = ledger, .endings = endings, .arena = arena, .now = clock_now_ms(), .told = told};
    *told = (struct store_restored){0};
    if (!arena || !ledger_read(ledger, arena, &lines, &replay.count, error, error_size)) {
        arena_free(arena);
        return false;
    }
    replay.lines = lines;
    replay.settled = count_settled(lines, replay.count);
    enum store_status status = store_db_execute(db, "BEGIN IMMEDIATE");
    if (status == STORE_OK) {
        status = replay_all(&replay);
    }
    if (status == STORE_OK) {
        status = ledger_write(ledger);
    }
    if (status == STORE_OK) {
        status = store_db_execute(db, "COMMIT");
        (status == STORE_OK ? ledger_kept : ledger_take_back)(ledger);
    }
    if (status != STORE_OK) {
        (void)snprintf(error, error_size, "The ledger of erasures can't be followed: %s.", store_status_name(status));
        (void)store_db_execute(db, "ROLLBACK");
    }
    arena_free(arena);
    return status == STORE_OK;
}

enum store_status store_ledger_compare(struct store_db *db, struct ledger *ledger, ledger_returned_fn returned,
                                       void *context, char *error, size_t error_size)
{
    struct arena *arena = arena_new(0);
    struct ledger_line *lines = NULL;
    size_t count = 0;
    enum store_status status = STORE_OK;
    if (!arena || !ledger_read(ledger, arena, &lines, &count, error, error_size)) {
        arena_free(arena);
        return STORE_ERROR;
    }
    const size_t settled = count_settled(lines, count);
    for (size_t i = 0; i < settled && (status == STORE_OK || status == STORE_NOT_FOUND); i++) {
        enum store_ended kind;
        if (kind_of(lines[i].kind, &kind)) {
            status = find(db, lines[i].kind, lines[i].id);
            if (status == STORE_NOT_FOUND) {
                returned(context, lines[i].kind, lines[i].id);
            }
        }
    }
    arena_free(arena);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

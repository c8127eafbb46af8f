/* The house standard and the drills in use, parsed once and shared by every request that scores. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/drill_row.h"
#include "api/homework_write.h"
#include "api/internal.h"
#include "store/standard.h"
#include "wire/standard_read.h"

static void book_free(struct api_book *book)
{
    if (book != NULL) {
        arena_free(book->arena);
        free(book);
    }
}

static bool read_standard(struct api_book *book, struct store_db *db)
{
    struct store_standard row;
    struct wire_error error;
    struct standard *standard = arena_alloc(book->arena, sizeof *standard);
    if (standard == NULL || store_standard_current(db, book->arena, &row) != STORE_OK ||
        !standard_read(row.json, strlen(row.json), book->arena, standard, &error)) {
        return false;
    }
    book->number = row.number;
    book->standard = standard;
    return true;
}

static bool append_drills(struct api_book *book, const struct store_drill_list *list)
{
    size_t held = (size_t)book->drill_count;
    struct drill *drills = arena_alloc(book->arena, (held + list->count + 1) * sizeof *drills);
    if (drills == NULL) {
        return false;
    }
    if (held > 0) {
        memcpy(drills, book->drills, held * sizeof *drills);
    }
    for (size_t i = 0; i < list->count; i++) {
        const struct store_drill *row = &list->items[i];
        if (drill_row_read(row->id, row->name, row->json, book->arena, &drills[held])) {
            held++;
        }
    }
    book->drills = drills;
    book->drill_count = (int)held;
    return true;
}

static bool read_drills(struct api_book *book, struct store_db *db)
{
    struct store_drill_list list = {0};
    struct store_page page = {.limit = STORE_PAGE_MAX};
    do {
        if (store_drill_list(db, false, &page, book->arena, &list) != STORE_OK || !append_drills(book, &list)) {
            return false;
        }
        page.after = list.count > 0 ? list.items[list.count - 1].id : NULL;
    } while (list.more && page.after != NULL);
    return true;
}

/* Homework is fetched far more often than drills change. */
static bool write_sheets(struct api_book *book)
{
    const size_t count = (size_t)book->drill_count;
    bool good = true;
    book->drill_sheets = arena_alloc(book->arena, (count + 1) * sizeof *book->drill_sheets);
    for (size_t i = 0; i < count && good && book->drill_sheets != NULL; i++) {
        struct arena *arena = arena_new(0);
        const char *sheet = arena == NULL ? NULL : homework_drill_sheet(&book->drills[i], arena);
        book->drill_sheets[i] = sheet == NULL ? NULL : arena_strdup(book->arena, sheet);
        good = book->drill_sheets[i] != NULL;
        arena_free(arena);
    }
    return good && book->drill_sheets != NULL;
}

static struct api_book *book_read(struct store_db *db, unsigned book_edits)
{
    struct api_book *book = calloc(1, sizeof *book);
    if (book == NULL) {
        return NULL;
    }
    book->edits = book_edits; /* of before reading: a change meanwhile is read again */
    book->arena = arena_new(0);
    atomic_init(&book->users, 1); /* the api's own */
    if (book->arena == NULL || !read_standard(book, db) || !read_drills(book, db) || !write_sheets(book)) {
        book_free(book);
        return NULL;
    }
    return book;
}

static void let_go(struct api_book *book)
{
    if (book != NULL && atomic_fetch_sub(&book->users, 1) == 1) {
        book_free(book);
    }
}

const struct api_book *api_book_borrow(struct api *api, struct store_db *db, unsigned book_edits)
{
    if (db == NULL) {
        return NULL;
    }
    pthread_mutex_lock(&api->book_lock);
    struct api_book *book = api->book;
    if (book == NULL || (int)(book_edits - book->edits) > 0) {
        struct api_book *fresh = book_read(db, book_edits);
        if (fresh != NULL) {
            let_go(book);
            api->book = fresh;
        }
        book = fresh;
    }
    if (book != NULL) {
        atomic_fetch_add(&book->users, 1);
    }
    pthread_mutex_unlock(&api->book_lock);
    return book;
}

void api_book_return(struct api *api, const struct api_book *book)
{
    (void)api;
    /* Only the count is changed; the caller sees it as constant. */
    let_go((struct api_book *)book);
}

/* Large columns in pieces. */
#include <criterion/criterion.h>

#include "store/engine/blob.h"
#include "store/lessons/still.h"
#include "store_fixture.h"

#define SIZE 100001

static struct fixture fixture;
static char coach[UUID_TEXT], student[UUID_TEXT], swing_id[UUID_TEXT], text[SIZE + 1];

static void start(void)
{
    fixture_open(&fixture);
    cr_assert_eq(make_account(fixture.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_student(fixture.db, "Ada", student), STORE_OK);
    for (int i = 0; i < SIZE; i++) {
        text[i] = (char)('a' + i % 23);
    }
    cr_assert_eq(make_swing(fixture.db, student, coach, text, swing_id), STORE_OK);
}

static void stop(void)
{
    fixture_close(&fixture);
}

static void execute(const char *sql)
{
    cr_assert_eq(store_db_execute(fixture.db, sql), STORE_OK, "%s: %s", sql, sqlite3_errmsg(fixture.db->handle));
}

static struct store_blob document(void)
{
    struct store_swing swing;
    cr_assert_eq(store_swing_get(fixture.db, swing_id, false, fixture.arena, &swing), STORE_OK);
    cr_assert_null(swing.document);
    cr_assert_eq(swing.document_size, SIZE);
    return store_swing_blob(&swing);
}

Test(blob, comes_in_pieces, .init = start, .fini = stop)
{
    static const size_t sizes[] = {1, 4096, 30000, SIZE};
    static char out[SIZE];
    const struct store_blob blob = document();
    for (size_t k = 0; k < sizeof sizes / sizeof *sizes; k++) {
        const size_t size = sizes[k];
        const size_t step = size == 1 ? 997 : size;
        for (size_t at = 0; at < SIZE; at += step) {
            const size_t piece = SIZE - at < size ? SIZE - at : size;
            cr_assert_eq(store_blob_read(fixture.db, &blob, at, out, piece), STORE_OK);
            cr_assert_eq(memcmp(out, text + at, piece), 0, "%zu bytes at %zu", piece, at);
        }
    }
    cr_assert(sqlite3_get_autocommit(fixture.db->handle), "no piece holds a place in the log");
    cr_assert_eq(store_blob_read(fixture.db, &blob, SIZE, out, 1), STORE_INVALID);
    cr_assert_eq(store_blob_read(fixture.db, &blob, SIZE - 1, out, 2), STORE_INVALID);
    cr_assert_eq(store_blob_read(fixture.db, &blob, UINT64_MAX, out, 2), STORE_INVALID);
}

Test(blob, is_found_again_after_the_file_was_packed, .init = start, .fini = stop)
{
    char out[10], first[UUID_TEXT];
    strcpy(first, swing_id);
    cr_assert_eq(make_swing(fixture.db, student, coach, text, swing_id), STORE_OK);
    const struct store_blob blob = document();
    char sql[128];
    snprintf(sql, sizeof sql, "DELETE FROM swing WHERE id = '%s'", first);
    execute(sql);
    execute("VACUUM");
    cr_assert_eq(store_blob_read(fixture.db, &blob, 5, out, 10), STORE_OK);
    cr_assert_eq(memcmp(out, text + 5, 10), 0);
}

Test(blob, ends_with_its_row, .init = start, .fini = stop)
{
    char out[10];
    struct store_blob blob = document();
    blob.hash[3]++;
    cr_assert_eq(store_blob_read(fixture.db, &blob, 0, out, 10), STORE_NOT_FOUND, "other bytes than were meant");
    blob.hash[3]--;
    cr_assert_eq(store_blob_read(fixture.db, &blob, 0, out, 10), STORE_OK);
    execute("DELETE FROM student");
    cr_assert_eq(store_blob_read(fixture.db, &blob, 0, out, 10), STORE_NOT_FOUND);
}

static struct store_still put_still(const char *picture, uint8_t hash)
{
    struct store_still still = {.view = "face_on",
                                .checkpoint = "top",
                                .media_type = "image/png",
                                .width = 1,
                                .height = 1,
                                .created = NOW,
                                .picture = picture,
                                .picture_size = strlen(picture)};
    uuid7_new(still.id);
    strcpy(still.swing_id, swing_id);
    strcpy(still.put_by, coach);
    memset(still.picture_hash, hash, sizeof still.picture_hash);
    cr_assert_eq(store_still_put(fixture.db, &still), STORE_OK);
    cr_assert_eq(store_still_get(fixture.db, swing_id, "face_on", "top", fixture.arena, &still), STORE_OK);
    return still;
}

Test(blob, a_picture_that_was_replaced_is_another, .init = start, .fini = stop)
{
    char out[6];
    const struct store_still first = put_still("first picture", 1);
    const struct store_blob blob = store_still_blob(&first);
    cr_assert_eq(store_blob_read(fixture.db, &blob, 0, out, 5), STORE_OK);
    cr_assert_eq(memcmp(out, "first", 5), 0);
    const struct store_still second = put_still("other picture", 2);
    cr_assert_eq(store_blob_read(fixture.db, &blob, 5, out, 5), STORE_NOT_FOUND);
    const struct store_blob other = store_still_blob(&second);
    cr_assert_eq(store_blob_read(fixture.db, &other, 0, out, 5), STORE_OK);
    cr_assert_eq(memcmp(out, "other", 5), 0);
}

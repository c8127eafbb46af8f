/* Documents and reports kept packed: read back as they were; rows of the old kind; damage; limits. */
#include <criterion/criterion.h>
#include <sodium.h>

#include "store/engine/blob.h"
#include "store_fixture.h"

static struct fixture f;
static char coach[UUID_TEXT], student[UUID_TEXT];
static char text[PACKED_MAX + 2]; /* a document's */

static void setup(void)
{
    fixture_open(&f);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_student(f.db, "Ada", student), STORE_OK);
    cr_assert_eq(make_standard(f.db, 0), STORE_OK);
    memset(text, ' ', sizeof text);
    memcpy(text, "{\"schema\":\"leadside.swing/1\",\"views\":[]}", 39);
}

static void teardown(void)
{
    fixture_close(&f);
}

static void run(const char *sql)
{
    cr_assert_eq(store_db_execute(f.db, sql), STORE_OK, "%s", sql);
}

static int64_t number(const char *sql)
{
    int64_t value = -1;
    cr_assert_eq(store_db_number(f.db, sql, &value), STORE_OK, "%s", sql);
    return value;
}

TestSuite(store_packed, .init = setup, .fini = teardown);

static void keep(struct store_swing *swing, size_t size, bool pack)
{
    *swing = (struct store_swing){.document = text, .document_size = size, .recorded_at = NOW, .received_at = NOW};
    uuid7_new(swing->id);
    strcpy(swing->student_id, student);
    strcpy(swing->uploaded_by, coach);
    crypto_hash_sha256(swing->document_hash, (const unsigned char *)text, size);
    if (pack) {
        store_swing_pack(f.db, swing, f.arena);
    }
    cr_assert_eq(store_swing_insert(f.db, swing), STORE_OK);
    struct store_report report = {.standard = 1, .created = NOW, .json = text, .json_size = size};
    uuid7_new(report.id);
    strcpy(report.swing_id, swing->id);
    if (pack) {
        store_report_pack(f.db, &report, f.arena);
    }
    cr_assert_eq(store_report_insert(f.db, &report), STORE_OK);
}

/* In every way that it is read. */
static void same(const struct store_swing *swing, size_t size)
{
    struct store_swing kept;
    struct store_swing_list list;
    struct store_report report;
    cr_assert_eq(store_swing_get(f.db, swing->id, true, f.arena, &kept), STORE_OK);
    cr_assert(kept.document_size == size && memcmp(kept.document, text, size) == 0);
    cr_assert_eq(store_report_of_swing(f.db, swing->id, f.arena, &report), STORE_OK);
    cr_assert(report.json_size == size && memcmp(report.json, text, size) == 0);
    cr_assert_eq(store_swing_list(f.db, student, NULL, f.arena, &list), STORE_OK);
    cr_assert_eq(list.items[0].document_size, size);
    const struct store_blob blob = store_swing_blob(&list.items[0]);
    char piece[8];
    cr_assert_eq(store_blob_read(f.db, &blob, 3, piece, sizeof piece), STORE_OK);
    cr_assert_eq(memcmp(piece, text + 3, sizeof piece), 0);
    cr_assert_eq(store_blob_read(f.db, &blob, size - 4, piece, sizeof piece), STORE_INVALID);
}

Test(store_packed, comes_back_as_it_was)
{
    struct store_swing swing;
    keep(&swing, 5000, true);
    cr_assert_not_null(swing.packed);
    cr_assert_lt(swing.packed_size, 200);
    same(&swing, 5000);
    cr_assert_eq(number("SELECT length(document) + document_size FROM swing"), 0);
    cr_assert_eq(number("SELECT length(json) FROM report"), 0);
}

Test(store_packed, rows_of_the_old_kind_and_large_ones_are_as_they_came)
{
    struct store_swing old;
    struct store_swing large;
    struct store_swing largest;
    keep(&old, 5000, false);
    same(&old, 5000);
    keep(&largest, PACKED_MAX, true);
    cr_assert_not_null(largest.packed);
    same(&largest, PACKED_MAX);
    keep(&large, PACKED_MAX + 1, true);
    cr_assert_null(large.packed);
    same(&large, PACKED_MAX + 1);
}

/* Clubs' files hold what earlier versions packed: at another level, with a larger window, with an earlier dictionary.
 */
Test(store_packed, what_was_packed_with_any_dictionary_stays_readable)
{
    static const char swing_1[] =
        "78bb860702b6edd9211100400800b02adf8bfb2494478142a1b71acb39d9a5647b42e33f00000000e0ae00ee83796e";
    static const char report_2[] =
        "78bbae5e8773eddca11100000802c055dcd3e53dc926f37f2642a58f2783942a47063b8de40a00000000f81bee83796e";
    static const char report_3[] =
        "78bb25eee8c0eddba10d00300c03c155ba5c4117484196af641c547c87bd81f53d1439398913e4d4d937c30500000000fc"
        "7bee83796e";
    static const char *const packed[] = {swing_1, report_2, report_3};
    for (size_t i = 0; i < sizeof packed / sizeof packed[0]; i++) {
        struct store_swing swing;
        char sql[1024];
        keep(&swing, 5000, true);
        (void)snprintf(sql, sizeof sql, "UPDATE swing SET packed = x'%s'; UPDATE report SET packed = x'%s'", packed[i],
                       packed[i]);
        run(sql);
        same(&swing, 5000);
    }
}

Test(store_packed, damage_is_told_and_takes_no_memory)
{
    static const char *const damages[] = {
        "packed = x''",
        "packed = x'00'",
        "packed = zeroblob(length(packed))",
        "packed = substr(packed, 1, length(packed) - 1)",
        "packed = CAST(packed || x'00' AS BLOB)",
        "size = size - 1",
        "size = size + 1",
        "size = 0",
        "size = -1",
        "size = NULL",
        "size = 1000000000000",
        "packed = CAST(substr(packed, 1, 2) || x'01020304' || substr(packed, 7) AS BLOB)", /* an unknown dictionary */
    };
    for (size_t i = 0; i < sizeof damages / sizeof damages[0]; i++) {
        struct store_swing swing;
        struct store_swing kept;
        struct store_report report;
        char sql[256];
        keep(&swing, 5000, true);
        run("SAVEPOINT whole");
        (void)snprintf(sql, sizeof sql, "UPDATE swing SET %s; UPDATE report SET %s", damages[i], damages[i]);
        run(sql);
        cr_expect_eq(store_swing_get(f.db, swing.id, true, f.arena, &kept), STORE_CORRUPT, "%s", damages[i]);
        cr_expect_eq(store_report_of_swing(f.db, swing.id, f.arena, &report), STORE_CORRUPT, "%s", damages[i]);
        cr_expect_eq(number("SELECT count(*) FROM report WHERE packed IS NOT NULL AND "
                            "unpacked_or_null(packed, size) IS NULL"),
                     (int64_t)i + 1);
        run("ROLLBACK TO whole; RELEASE whole");
        cr_expect_eq(store_swing_get(f.db, swing.id, true, f.arena, &kept), STORE_OK);
    }
}

/* As the server is set up: what a savepoint may have to undo is kept in memory first, and goes to a file when it grows.
 */
Test(store_undo, of_a_large_change_goes_to_a_file)
{
    store_prepare_threads();
    setup();
    run("CREATE TABLE large (b BLOB); WITH RECURSIVE n (i) AS (VALUES (1) UNION ALL SELECT i + 1 FROM n LIMIT 300) "
        "INSERT INTO large SELECT zeroblob(3000) FROM n");
    run("BEGIN; SAVEPOINT job; UPDATE large SET b = randomblob(3000); ROLLBACK TO job; RELEASE job; COMMIT");
    cr_assert_eq(number("SELECT count(*) FROM large WHERE b = zeroblob(3000)"), 300);
    teardown();
}

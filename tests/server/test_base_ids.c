/* Ids and times against RFC 9562's own example, Python's datetime (values computed once) and threads. */
#include <criterion/criterion.h>

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/ids.h"
#include "base/times.h"

Test(ids, lays_out_the_example_of_rfc_9562)
{
    /* Appendix A.6: unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F. */
    const uint8_t random[10] = {0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f};
    char out[UUID_TEXT];
    uuid7_format(0x017F22E279B0, random, out);
    cr_assert_str_eq(out, "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
}

Test(ids, sets_version_and_variant_whatever_the_random_bits)
{
    uint8_t random[10];
    char out[UUID_TEXT];
    memset(random, 0xff, sizeof random);
    uuid7_format(0, random, out);
    cr_assert_str_eq(out, "00000000-0000-7fff-bfff-ffffffffffff");
    memset(random, 0, sizeof random);
    uuid7_format(0xffffffffffff, random, out);
    cr_assert_str_eq(out, "ffffffff-ffff-7000-8000-000000000000");
}

#define MANY 20000

static void *make_many(void *to)
{
    char(*ids)[UUID_TEXT] = to;
    for (int i = 0; i < MANY; i++) {
        uuid7_new(ids[i]);
    }
    return NULL;
}

static int order(const void *a, const void *b)
{
    return strcmp(a, b);
}

static char ids_made[4][MANY][UUID_TEXT];

Test(ids, rise_within_a_thread_and_never_repeat_between_threads)
{
    pthread_t threads[4];
    for (int i = 0; i < 4; i++) {
        pthread_create(&threads[i], NULL, make_many, ids_made[i]);
    }
    for (int i = 0; i < 4; i++) {
        pthread_join(threads[i], NULL);
        for (int k = 0; k < MANY; k++) {
            cr_assert(uuid_valid(ids_made[i][k]), "%s", ids_made[i][k]);
            cr_assert(k == 0 || strcmp(ids_made[i][k - 1], ids_made[i][k]) < 0);
        }
    }
    const char *all = ids_made[0][0];
    qsort(ids_made, (size_t)4 * MANY, UUID_TEXT, order);
    for (size_t k = 1; k < (size_t)4 * MANY; k++) {
        cr_assert_str_neq(all + (k - 1) * UUID_TEXT, all + k * UUID_TEXT);
    }
}

Test(ids, validity_is_the_lower_case_canonical_form)
{
    cr_assert(uuid_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398f"));
    cr_assert_not(uuid_valid("017F22E2-79B0-7CC3-98C4-DC0C0C07398F"));
    cr_assert_not(uuid_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398"));
    cr_assert_not(uuid_valid("017f22e2-79b0-7cc3-98c4-dc0c0c07398ff"));
    cr_assert_not(uuid_valid("017f22e2x79b0-7cc3-98c4-dc0c0c07398f"));
    cr_assert_not(uuid_valid(""));
    cr_assert_not(uuid_valid(NULL));
}

Test(times, agree_with_an_independent_calendar)
{
    static const struct {
        int64_t ms;
        const char *text;
    } rows[] = {{0, "1970-01-01T00:00:00.000Z"},
                {1777713245123, "2026-05-02T09:14:05.123Z"},
                {951782400000, "2000-02-29T00:00:00.000Z"},
                {-1, "1969-12-31T23:59:59.999Z"},
                {4107542399000, "2100-02-28T23:59:59.000Z"},
                {253402300799999, "9999-12-31T23:59:59.999Z"},
                {-62167219200000, "0000-01-01T00:00:00.000Z"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char out[TIME_TEXT];
        int64_t back;
        time_format(rows[i].ms, out);
        cr_assert_str_eq(out, rows[i].text);
        cr_assert(time_parse(rows[i].text, &back), "%s", rows[i].text);
        cr_assert_eq(back, rows[i].ms, "%s", rows[i].text);
    }
}

Test(times, take_offsets_and_fractions)
{
    int64_t ms;
    cr_assert(time_parse("2026-05-02T11:14:05+02:00", &ms));
    cr_assert_eq(ms, 1777713245000);
    cr_assert(time_parse("2026-05-02t09:14:05.5z", &ms));
    cr_assert_eq(ms, 1777713245500);
    cr_assert(time_parse("2026-05-02T05:44:05.123999-03:30", &ms));
    cr_assert_eq(ms, 1777713245123);
}

Test(times, refuse_what_is_no_instant)
{
    static const char *const bad[] = {"2026-02-29T00:00:00Z",      "2026-13-01T00:00:00Z",
                                      "2026-00-01T00:00:00Z",      "2026-01-01T24:00:00Z",
                                      "2026-01-01T00:60:00Z",      "2026-01-01T00:00:61Z",
                                      "2026-01-01 00:00:00Z",      "2026-01-01T00:00:00",
                                      "2026-01-01T00:00:00.Z",     "2026-01-01T00:00:00Zx",
                                      "2026-1-1T00:00:00Z",        "2100-02-29T00:00:00Z",
                                      "2026-01-01T00:00Z",         "",
                                      "2026-01-01T00:00:00+2:00",  "9999-12-31T23:59:60Z",
                                      "9999-12-31T23:59:00-00:01", "0000-01-01T00:00:00+00:01"};
    int64_t ms;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        cr_assert_not(time_parse(bad[i], &ms), "%s", bad[i]);
    }
    cr_assert_not(time_parse(NULL, &ms));
}

Test(dates, are_days_that_exist)
{
    int year;
    int month;
    int day;
    cr_assert(date_parse("2024-02-29", &year, &month, &day));
    cr_assert(year == 2024 && month == 2 && day == 29);
    cr_assert_not(date_parse("2023-02-29", &year, &month, &day));
    cr_assert_not(date_parse("2023-04-31", &year, &month, &day));
    cr_assert_not(date_parse("2023-04-30x", &year, &month, &day));
    cr_assert_not(date_parse(NULL, &year, &month, &day));
}

/* iCalendar text: lines, folding, escaping, and how practice days lie in a week. */
#include <criterion/criterion.h>
#include <string.h>

#include "wire/report/calendar.h"

static struct arena *arena;

static void set_up(void)
{
    arena = arena_new(0);
}

static void tear_down(void)
{
    arena_free(arena);
}

TestSuite(calendar, .init = set_up, .fini = tear_down);

static const char *one(const char *summary, const char *description)
{
    struct calendar_out out;
    size_t length;
    calendar_start(&out, arena, "Practice");
    calendar_event_add(&out, &(struct calendar_event){"1-a@leadside", 20574, 1777713245123, summary, description});
    char *text = calendar_finish(&out, &length);
    cr_assert_not_null(text);
    cr_assert_eq(strlen(text), length);
    return text;
}

Test(calendar, an_event_of_one_day)
{
    const char *text = one("Mirror", "12 minutes.");
    cr_assert_str_eq(strstr(text, "BEGIN:VEVENT"),
                     "BEGIN:VEVENT\r\nUID:1-a@leadside\r\nDTSTAMP:20260502T091405Z\r\nDTSTART;VALUE=DATE:20260501\r\n"
                     "DTEND;VALUE=DATE:20260502\r\nSUMMARY:Mirror\r\nDESCRIPTION:12 minutes.\r\nTRANSP:TRANSPARENT\r\n"
                     "END:VEVENT\r\nEND:VCALENDAR\r\n");
    cr_assert_eq(strncmp(text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:", 37), 0);
}

Test(calendar, what_has_a_meaning_is_escaped)
{
    const char *text = one("a;b,c\\d", "one\r\ntwo\n\x01\x7fthree");
    cr_assert_not_null(strstr(text, "\r\nSUMMARY:a\\;b\\,c\\\\d\r\n"));
    cr_assert_not_null(strstr(text, "\r\nDESCRIPTION:one\\ntwo\\nthree\r\n"));
}

/* Lines of at most 75 octets, whole characters, and the same text when unfolded. */
Test(calendar, long_lines_are_folded_between_characters)
{
    for (int shift = 0; shift < 8; shift++) {
        char long_one[400] = "";
        char unfolded[2000] = "";
        for (int i = 0; i < shift; i++) {
            strcat(long_one, "x");
        }
        for (int i = 0; i < 60; i++) {
            strcat(long_one, i % 3 == 0 ? "\xf0\x9f\x8c\xb3" : i % 3 == 1 ? "\xc3\xa9" : "\xe2\x80\x93");
        }
        const char *text = one("s", long_one);
        for (const char *at = text; *at != '\0';) {
            const char *end = strstr(at, "\r\n");
            cr_assert_not_null(end);
            cr_assert_leq(end - at, CALENDAR_LINE_MAX);
            const char *from = *at == ' ' ? at + 1 : at;
            cr_assert_neq((unsigned char)*from & 0xc0, 0x80, "a character is cut in two");
            if (*at != ' ') {
                strcat(unfolded, "\n");
            }
            strncat(unfolded, from, (size_t)(end - from));
            at = end + 2;
        }
        cr_assert_not_null(strstr(unfolded, long_one));
    }
}

Test(calendar, a_line_of_75_octets_stays_whole)
{
    char summary[80] = "";
    memset(summary, 'a', CALENDAR_LINE_MAX - 8);
    cr_assert_not_null(strstr(one(summary, ""), "aaa\r\nDESCRIPTION:"));
    cr_assert_null(strstr(one(summary, ""), "\r\n a"));
    strcat(summary, "b");
    cr_assert_not_null(strstr(one(summary, ""), "\r\n b\r\n"));
}

Test(calendar, practice_days_are_spread_over_the_week)
{
    static const char *const weeks[] = {"0000000", "0001000", "0100010", "0101010", "1010101",
                                        "1101110", "1110111", "1111111", "1111111"};
    for (int sessions = 0; sessions < 9; sessions++) {
        char week[8] = "";
        int count = 0;
        for (int day = 0; day < 7; day++) {
            week[day] = calendar_practice_day(sessions, day) ? '1' : '0';
            count += week[day] == '1';
        }
        cr_assert_eq(count, sessions > 7 ? 7 : sessions, "%d: %s", sessions, week);
        if (sessions != 5 && sessions != 6) {
            cr_assert_str_eq(week, weeks[sessions]);
        }
    }
}

/* Times, dates and ids. Each beside a second reading: a pattern of characters, and the C library's calendar. What is
 * read is written, and read again as the same. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/ids.h"
#include "base/times.h"
#include "fuzz.h"

#define TEXT_MAX 100

/* Does the text begin like the pattern? "9" stands for a digit, "f" for a small hexadecimal one, "T" for T or t. */
static bool begins(const char *text, const char *pattern)
{
    for (; *pattern != '\0'; text++, pattern++) {
        const bool digit = *text >= '0' && *text <= '9';
        const bool good = *pattern == '9'   ? digit
                          : *pattern == 'f' ? digit || (*text >= 'a' && *text <= 'f')
                          : *pattern == 'T' ? *text == 'T' || *text == 't'
                                            : *text == *pattern;
        if (!good) {
            return false;
        }
    }
    return true;
}

static int two(const char *at)
{
    return 10 * (at[0] - '0') + at[1] - '0';
}

/* The C library takes the 31st of April for the 1st of May, which tells that there is none. */
static bool day_of(const char *text, struct tm *out)
{
    if (!begins(text, "9999-99-99")) {
        return false;
    }
    *out = (struct tm){.tm_year = 100 * two(text) + two(text + 2) - 1900, .tm_mon = two(text + 5) - 1};
    out->tm_mday = two(text + 8);
    struct tm moved = *out;
    (void)timegm(&moved);
    return moved.tm_mon == out->tm_mon && moved.tm_mday == out->tm_mday && moved.tm_year == out->tm_year;
}

/* Milliseconds of ".5"; *at moves behind it. -1: a point without a digit. */
static int fraction_of(const char **at)
{
    char digits[4] = "000";
    if (**at != '.') {
        return 0;
    }
    const size_t count = strspn(*at + 1, "0123456789");
    memcpy(digits, *at + 1, count < 3 ? count : 3);
    *at += count + 1;
    return count == 0 ? -1 : atoi(digits);
}

static bool moment_of(const char *text, int64_t *out)
{
    struct tm when;
    if (!day_of(text, &when) || !begins(text + 10, "T99:99:99")) {
        return false;
    }
    const char *rest = text + 19;
    const int ms = fraction_of(&rest);
    int minutes = 0;
    if ((*rest == '+' || *rest == '-') && begins(rest + 1, "99:99") && two(rest + 1) < 24 && two(rest + 4) < 60) {
        minutes = (*rest == '+' ? 1 : -1) * (60 * two(rest + 1) + two(rest + 4));
        rest += 6;
    } else if (*rest == 'Z' || *rest == 'z') {
        rest++;
    } else {
        return false;
    }
    if (ms < 0 || *rest != '\0' || two(text + 11) > 23 || two(text + 14) > 59 || two(text + 17) > 60) {
        return false;
    }
    const int hours = two(text + 11);
    const int64_t seconds = timegm(&when) + (int64_t)(hours * 60 + two(text + 14) - minutes) * 60 + two(text + 17);
    *out = 1000 * seconds + ms;
    return seconds >= -62167219200 && seconds <= 253402300799; /* the years 0 to 9999 */
}

static void check_written(int64_t ms)
{
    char text[TIME_TEXT];
    char second[TIME_TEXT + 8];
    int64_t again = 0;
    struct tm when;
    time_t seconds = (time_t)(ms / 1000 - (ms % 1000 < 0));
    time_format(ms, text);
    fuzz_require(time_parse(text, &again) && again == ms, "what is read is written, and read as the same");
    fuzz_require(gmtime_r(&seconds, &when) != NULL, "a calendar");
    const size_t length = strftime(second, sizeof second, "-%m-%dT%H:%M:%S", &when);
    (void)snprintf(second + length, sizeof second - length, ".%03dZ", (int)(ms - 1000 * (int64_t)seconds));
    fuzz_require(strcmp(text + 4, second) == 0 && two(text) * 100 + two(text + 2) == when.tm_year + 1900,
                 "as the C library writes it");
}

static void check_id(int64_t ms, const char *text)
{
    char id[UUID_TEXT];
    char least[UUID_TEXT];
    uint8_t random[10] = {0};
    memcpy(random, text, strnlen(text, sizeof random));
    uuid7_format(ms > 0 ? ms : 0, random, id);
    uuid7_least(ms, least);
    fuzz_require(uuid_valid(id) && uuid_valid(least), "an id is one");
    fuzz_require(strcmp(least, id) <= 0, "and none of its moment is less than the least");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    int64_t ms = 0;
    int64_t second_ms = 0;
    int year = 0;
    int month = 0;
    int day = 0;
    struct tm date = {0};
    if (size > TEXT_MAX) {
        return 0;
    }
    char *text = fuzz_text(data, size);
    const bool is_time = time_parse(text, &ms);
    const bool is_date = date_parse(text, &year, &month, &day);
    const bool is_id = uuid_valid(text);
    fuzz_count("fuzz_time", is_time || is_date || is_id);
    fuzz_require(is_time == moment_of(text, &second_ms) && (!is_time || ms == second_ms), "a time, by both readings");
    fuzz_require(is_date == (day_of(text, &date) && text[10] == '\0'), "a date, by both readings");
    fuzz_require(!is_date || (year == date.tm_year + 1900 && month == date.tm_mon + 1 && day == date.tm_mday),
                 "and the same");
    fuzz_require(is_id == (begins(text, "ffffffff-ffff-ffff-ffff-ffffffffffff") && text[UUID_TEXT - 1] == '\0'),
                 "an id, by both readings");
    if (is_time) {
        check_written(ms);
        check_id(ms, text);
    }
    free(text);
    return 0;
}

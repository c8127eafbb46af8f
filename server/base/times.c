/* RFC 3339 and the two clocks. Days are counted with Hinnant's civil-calendar arithmetic (no libc time zone). */
#include "base/times.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#define MS_PER_DAY INT64_C(86400000)
#define LEAST_MS INT64_C(-62167219200000) /* 0000-01-01T00:00:00.000Z */
#define MOST_MS INT64_C(253402300799999)  /* 9999-12-31T23:59:59.999Z */

int64_t clock_now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

int64_t clock_monotonic_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * INT64_C(1000000000) + now.tv_nsec;
}

/* Days from 1970-01-01 of a day of the proleptic Gregorian calendar. */
static int64_t days_from_civil(int64_t year, int month, int day)
{
    year -= month <= 2;
    int64_t era = (year >= 0 ? year : year - 399) / 400;
    int64_t of_era = year - era * 400;
    int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

static void civil_from_days(int64_t days, int *year, int *month, int *day)
{
    days += 719468;
    int64_t era = (days >= 0 ? days : days - 146096) / 146097;
    int64_t of_era = days - era * 146097;
    int64_t years = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    int64_t of_year = of_era - (365 * years + years / 4 - years / 100);
    int64_t shifted = (5 * of_year + 2) / 153;
    *day = (int)(of_year - (153 * shifted + 2) / 5 + 1);
    *month = (int)(shifted < 10 ? shifted + 3 : shifted - 9);
    *year = (int)(years + era * 400 + (*month <= 2));
}

/* Written for every request, where printf would be the greater part of it. Returns what follows the mark. */
static char *digits_put(char *at, unsigned value, int width, char mark)
{
    for (int i = width - 1; i >= 0; i--) {
        at[i] = (char)('0' + value % 10);
        value /= 10;
    }
    at[width] = mark;
    return at + width + 1;
}

void time_format(int64_t unix_ms, char out[TIME_TEXT])
{
    /* Years past 9999 have no RFC 3339 form: the ends of the range stand for everything beyond. */
    unix_ms = unix_ms < LEAST_MS ? LEAST_MS : unix_ms > MOST_MS ? MOST_MS : unix_ms;
    int64_t days = unix_ms / MS_PER_DAY;
    int64_t rest = unix_ms % MS_PER_DAY;
    if (rest < 0) {
        rest += MS_PER_DAY;
        days--;
    }
    int year;
    int month;
    int day;
    civil_from_days(days, &year, &month, &day);
    char *at = out;
    at = digits_put(at, (unsigned)year, 4, '-');
    at = digits_put(at, (unsigned)month, 2, '-');
    at = digits_put(at, (unsigned)day, 2, 'T');
    at = digits_put(at, (unsigned)(rest / 3600000), 2, ':');
    at = digits_put(at, (unsigned)(rest / 60000 % 60), 2, ':');
    at = digits_put(at, (unsigned)(rest / 1000 % 60), 2, '.');
    (void)digits_put(at, (unsigned)(rest % 1000), 3, 'Z');
    out[TIME_TEXT - 1] = '\0';
}

/* Exactly `width` digits at *at. */
static bool digits_take(const char **at, int width, int *out)
{
    int value = 0;
    for (int i = 0; i < width; i++) {
        char c = (*at)[i];
        if (c < '0' || c > '9') {
            return false;
        }
        value = value * 10 + (c - '0');
    }
    *at += width;
    *out = value;
    return true;
}

static bool char_take(const char **at, char c)
{
    if (**at != c) {
        return false;
    }
    (*at)++;
    return true;
}

static int month_days(int year, int month)
{
    static const int days[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return month == 2 && leap ? 29 : days[month - 1];
}

static bool date_take(const char **at, int *year, int *month, int *day)
{
    return digits_take(at, 4, year) && char_take(at, '-') && digits_take(at, 2, month) && char_take(at, '-') &&
           digits_take(at, 2, day) && *month >= 1 && *month <= 12 && *day >= 1 && *day <= month_days(*year, *month);
}

/* ".123" and longer: the first three digits are kept. */
static bool fraction_take(const char **at, int *ms)
{
    *ms = 0;
    if (**at != '.') {
        return true;
    }
    (*at)++;
    int count = 0;
    int scale = 100;
    for (; **at >= '0' && **at <= '9'; (*at)++, count++) {
        *ms += (**at - '0') * scale;
        scale /= 10;
    }
    return count > 0;
}

static bool offset_take(const char **at, int *minutes)
{
    *minutes = 0;
    if (**at == 'Z' || **at == 'z') {
        (*at)++;
        return true;
    }
    int sign = **at == '+' ? 1 : **at == '-' ? -1 : 0;
    if (sign == 0) {
        return false;
    }
    (*at)++;
    int hour;
    int minute;
    if (!digits_take(at, 2, &hour) || !char_take(at, ':') || !digits_take(at, 2, &minute) || hour > 23 || minute > 59) {
        return false;
    }
    *minutes = sign * (hour * 60 + minute);
    return true;
}

bool time_parse(const char *text, int64_t *unix_ms)
{
    int year;
    int month;
    int day;
    int hour;
    int minute;
    int second;
    int ms;
    int offset;
    if (text == NULL || !date_take(&text, &year, &month, &day)) {
        return false;
    }
    if (*text != 'T' && *text != 't') {
        return false;
    }
    text++;
    if (!digits_take(&text, 2, &hour) || !char_take(&text, ':') || !digits_take(&text, 2, &minute) ||
        !char_take(&text, ':') || !digits_take(&text, 2, &second) || !fraction_take(&text, &ms) ||
        !offset_take(&text, &offset) || *text != '\0') {
        return false;
    }
    /* A leap second may be written :60; it is kept as the second that follows. */
    if (hour > 23 || minute > 59 || second > 60) {
        return false;
    }
    int64_t minutes = (days_from_civil(year, month, day) * 24 + hour) * 60 + minute - offset;
    int64_t seconds = minutes * 60 + second;
    *unix_ms = seconds * 1000 + ms;
    return *unix_ms >= LEAST_MS && *unix_ms <= MOST_MS;
}

bool date_parse(const char *text, int *year, int *month, int *day)
{
    return text != NULL && date_take(&text, year, month, day) && *text == '\0';
}

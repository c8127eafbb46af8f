/* iCalendar: content lines are put together unfolded and folded as they are written. */
#include "wire/report/calendar.h"

#include <stdio.h>
#include <string.h>

#include "base/times.h"

#define DAY_MS INT64_C(86400000)

/* One content line, folded before the 76th octet and never inside a character. */
static void line_put(struct calendar_out *out, const char *line)
{
    size_t left = strlen(line);
    size_t room = CALENDAR_LINE_MAX;
    while (left > room) {
        size_t size = room;
        while (size > 1 && ((unsigned char)line[size] & 0xc0) == 0x80) {
            size--;
        }
        text_put_n(&out->text, line, size);
        text_put_n(&out->text, "\r\n ", 3);
        line += size;
        left -= size;
        room = CALENDAR_LINE_MAX - 1; /* the space counts */
    }
    text_put_n(&out->text, line, left);
    text_put_n(&out->text, "\r\n", 2);
}

/* A TEXT value (RFC 5545, 3.3.11); control characters but the line's end are left out. */
static void value_put(struct calendar_out *out, const char *name, const char *text)
{
    char *line = text == NULL ? NULL : arena_alloc(out->text.arena, strlen(name) + 2 * strlen(text) + 2);
    if (line == NULL) {
        text_put(&out->text, NULL);
        return;
    }
    char *at = line;
    while (*name != '\0') {
        *at++ = *name++;
    }
    *at++ = ':';
    for (; *text != '\0'; text++) {
        const unsigned char c = (unsigned char)*text;
        if (c == '\\' || c == ';' || c == ',') {
            *at++ = '\\';
            *at++ = (char)c;
        } else if (c == '\n') {
            *at++ = '\\';
            *at++ = 'n';
        } else if (c >= 0x20 && c != 0x7f) {
            *at++ = (char)c;
        }
    }
    *at = '\0';
    line_put(out, line);
}

/* "20260502" of an RFC 3339 text. */
static void date_put(char *out, const char *text)
{
    memcpy(out, text, 4);
    memcpy(out + 4, text + 5, 2);
    memcpy(out + 6, text + 8, 2);
}

void calendar_start(struct calendar_out *out, struct arena *arena, const char *name)
{
    text_start(&out->text, arena, TEXT_NO_LIMIT);
    line_put(out, "BEGIN:VCALENDAR");
    line_put(out, "VERSION:2.0");
    line_put(out, "PRODID:-//Leadside//practice//EN");
    line_put(out, "CALSCALE:GREGORIAN");
    line_put(out, "METHOD:PUBLISH");
    value_put(out, "NAME", name);
    value_put(out, "X-WR-CALNAME", name);
    line_put(out, "REFRESH-INTERVAL;VALUE=DURATION:P1D");
}

void calendar_event_add(struct calendar_out *out, const struct calendar_event *event)
{
    char text[TIME_TEXT];
    char stamp[] = "DTSTAMP:00000000T000000Z";
    char start[] = "DTSTART;VALUE=DATE:00000000";
    char end[] = "DTEND;VALUE=DATE:00000000";
    time_format(event->stamp, text);
    date_put(stamp + 8, text);
    memcpy(stamp + 17, text + 11, 2);
    memcpy(stamp + 19, text + 14, 2);
    memcpy(stamp + 21, text + 17, 2);
    time_format(event->day * DAY_MS, text);
    date_put(start + 19, text);
    time_format((event->day + 1) * DAY_MS, text);
    date_put(end + 17, text);
    line_put(out, "BEGIN:VEVENT");
    value_put(out, "UID", event->uid);
    line_put(out, stamp);
    line_put(out, start);
    line_put(out, end);
    value_put(out, "SUMMARY", event->summary);
    value_put(out, "DESCRIPTION", event->description);
    line_put(out, "TRANSP:TRANSPARENT");
    line_put(out, "END:VEVENT");
}

char *calendar_finish(struct calendar_out *out, size_t *length)
{
    line_put(out, "END:VCALENDAR");
    return text_take(&out->text, length);
}

bool calendar_practice_day(int sessions, int weekday)
{
    const int n = sessions > 7 ? 7 : sessions;
    for (int k = 0; k < n; k++) {
        if ((7 * k + 3) / n == weekday) {
            return true;
        }
    }
    return false;
}

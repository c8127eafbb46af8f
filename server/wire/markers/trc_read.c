/* TRC into plain arrays: tab-separated text, five lines of header (keys found by name, not by place), then one line a
 * frame. Every complaint names the line and the column, both from 1, columns as a spreadsheet counts them. */
#include "wire/markers/parts.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define FIRST_COORDINATE 2 /* cells before it: frame and time */

struct trc {
    const char *at, *end; /* what is still to be read */
    const char *cell, *line_end;
    size_t length; /* of the cell */
    int line, column;
    struct arena *arena;
    struct wire_error *error;
};

static bool refuse(const struct trc *trc, const char *format, ...) __attribute__((format(printf, 2, 3)));

static bool refuse(const struct trc *trc, const char *format, ...)
{
    char place[48];
    char what[sizeof trc->error->what];
    va_list args;
    va_start(args, format);
    int wrote = vsnprintf(what, sizeof what, format, args);
    va_end(args);
    (void)snprintf(place, sizeof place, trc->column > 0 ? "line %d, column %d" : "line %d", trc->line, trc->column);
    struct wire_at here = wire_key(NULL, place);
    return wire_fail(trc->error, &here, "%s", wrote < 0 ? "" : what);
}

/* The next line, without its end. False at the end of the file. */
static bool line_next(struct trc *trc)
{
    trc->column = 0;
    if (trc->at >= trc->end) {
        return false;
    }
    const char *feed = memchr(trc->at, '\n', (size_t)(trc->end - trc->at));
    trc->cell = trc->at;
    trc->line_end = feed == NULL ? trc->end : feed;
    trc->at = feed == NULL ? trc->end : feed + 1;
    if (trc->line_end > trc->cell && trc->line_end[-1] == '\r') {
        trc->line_end--;
    }
    trc->line++;
    return true;
}

/* The next cell of the line, spaces trimmed. False behind the last. */
static bool cell_next(struct trc *trc)
{
    const char *from = trc->column == 0 ? trc->cell : trc->cell + trc->length;
    if (trc->column > 0) {
        while (from < trc->line_end && *from != '\t') {
            from++; /* trimmed spaces */
        }
        if (from >= trc->line_end) {
            return false;
        }
        from++;
    }
    const char *tab = memchr(from, '\t', (size_t)(trc->line_end - from));
    const char *to = tab == NULL ? trc->line_end : tab;
    while (from < to && *from == ' ') {
        from++;
    }
    while (to > from && to[-1] == ' ') {
        to--;
    }
    trc->cell = from;
    trc->length = (size_t)(to - from);
    trc->column++;
    return true;
}

static bool line_blank(const struct trc *trc)
{
    for (const char *c = trc->cell; c < trc->line_end; c++) {
        if (*c != '\t' && *c != ' ') {
            return false;
        }
    }
    return true;
}

static bool cell_is(const struct trc *trc, const char *text)
{
    return strlen(text) == trc->length && strncasecmp(text, trc->cell, trc->length) == 0;
}

/* The short exact way for what JSON also allows; else digits with a point, whatever stands before or after it. */
static bool cell_number(const struct trc *trc, double *out)
{
    struct json_in in;
    char copy[JSON_IN_NUMBER_MAX + 1];
    char *end;
    json_in_start(&in, trc->cell, trc->length);
    if (json_in_number(&in, out) && json_in_finish(&in)) {
        return true;
    }
    bool digit = false;
    for (size_t i = 0; i < trc->length; i++) {
        digit = digit || isdigit((unsigned char)trc->cell[i]);
        if (trc->cell[i] == '\0' || strchr("+-.0123456789eE", trc->cell[i]) == NULL) {
            return false;
        }
    }
    if (!digit || trc->length > JSON_IN_NUMBER_MAX) {
        return false;
    }
    memcpy(copy, trc->cell, trc->length);
    copy[trc->length] = '\0';
    *out = strtod(copy, &end);
    return *end == '\0' && isfinite(*out);
}

static bool need_number(const struct trc *trc, double *out)
{
    return cell_number(trc, out) ||
           refuse(trc, "must be a number, not \"%.*s\"", (int)(trc->length < 40 ? trc->length : 40), trc->cell);
}

enum header_key { KEY_RATE, KEY_FRAMES, KEY_MARKERS, KEY_UNITS, HEADER_KEYS };

/* Lines 2 and 3: keys, and below each its value. */
struct header {
    int column[HEADER_KEYS]; /* 0 = not there */
    double frames, markers;
    double metres; /* of the unit; 0 = not said */
    int line;
};

static const char *const key_names[HEADER_KEYS] = {"DataRate", "NumFrames", "NumMarkers", "Units"};

/* Which key the cell is; HEADER_KEYS = none of ours. */
static int key_index(const struct trc *trc)
{
    int k = 0;
    while (k < HEADER_KEYS && !cell_is(trc, key_names[k])) {
        k++;
    }
    return k;
}

static bool keys_read(struct trc *trc, struct header *header)
{
    if (!line_next(trc)) {
        return refuse(trc, "the file ends before its header does");
    }
    while (cell_next(trc)) {
        int key = key_index(trc);
        if (key == HEADER_KEYS) {
            continue;
        }
        if (header->column[key] != 0) {
            return refuse(trc, "%s is given twice", key_names[key]);
        }
        header->column[key] = trc->column;
    }
    trc->column = 0;
    for (int k = 0; k < KEY_UNITS; k++) {
        if (header->column[k] == 0) {
            return refuse(trc, "needs the key %s", key_names[k]);
        }
    }
    return true;
}

static bool count_value(const struct trc *trc, int max, double *out)
{
    if (!need_number(trc, out)) {
        return false;
    }
    return (*out >= 1.0 && *out <= max && *out == floor(*out)) ||
           refuse(trc, "must be a whole number from 1 to %d, not %.6g", max, *out);
}

static bool value_read(struct trc *trc, struct header *header, struct marker_file *out, int key)
{
    switch (key) {
    case KEY_RATE:
        if (!need_number(trc, &out->rate_hz)) {
            return false;
        }
        return (out->rate_hz >= 20.0 && out->rate_hz <= 2000.0) ||
               refuse(trc, "DataRate must be from 20 to 2000, not %.6g", out->rate_hz);
    case KEY_FRAMES:
        return count_value(trc, MOTION_SAMPLES_MAX, &header->frames);
    case KEY_MARKERS:
        return count_value(trc, MARKERS_MAX, &header->markers);
    default:
        return trc->length == 0 || marker_unit_parse(trc->cell, trc->length, &header->metres) ||
               refuse(trc, "Units must be m, cm or mm");
    }
}

static bool values_read(struct trc *trc, struct header *header, struct marker_file *out)
{
    int found = 0;
    if (!line_next(trc)) {
        return refuse(trc, "the file ends before its header does");
    }
    header->line = trc->line;
    while (cell_next(trc)) {
        int key = 0;
        while (key < HEADER_KEYS && header->column[key] != trc->column) {
            key++;
        }
        found |= 1 << key;
        if (key < HEADER_KEYS && !value_read(trc, header, out, key)) {
            return false;
        }
    }
    trc->column = 0;
    return (found & 7) == 7 || refuse(trc, "has fewer values than line %d has keys", trc->line - 1);
}

/* Line 4: Frame#, Time, then each name followed by two empty cells. */
static bool names_read(struct trc *trc, const struct header *header, struct marker_file *out)
{
    struct wire_at here = wire_key(NULL, "line 4");
    int found = 0;
    out->markers = (int)header->markers;
    out->names = arena_alloc(trc->arena, (size_t)out->markers * sizeof *out->names);
    if (out->names == NULL) {
        return wire_fail(trc->error, NULL, "needs more memory than there is");
    }
    if (!line_next(trc)) {
        return refuse(trc, "the file ends before its header does");
    }
    while (cell_next(trc)) {
        int cell = trc->column - 1 - FIRST_COORDINATE;
        if (cell < 0) {
            continue;
        }
        if (cell % 3 != 0 || cell / 3 >= out->markers) {
            if (trc->length > 0) {
                return refuse(trc,
                              cell % 3 != 0 ? "a marker's name must be followed by two empty cells"
                                            : "one more marker than line %d says",
                              header->line);
            }
            continue;
        }
        if (trc->length == 0) {
            break;
        }
        out->names[cell / 3] = marker_name_keep(trc->arena, trc->cell, trc->length);
        if (out->names[cell / 3] == NULL) {
            return wire_fail(trc->error, NULL, "needs more memory than there is");
        }
        found++;
    }
    if (found != out->markers) {
        trc->column = 0;
        return refuse(trc, "names %d markers where line %d says %d", found, header->line, out->markers);
    }
    return marker_names_distinct(out, trc->arena, &here, trc->error);
}

/* Line 5: X1 Y1 Z1 X2 ... */
static bool axes_read(struct trc *trc, const struct marker_file *out)
{
    int found = 0;
    if (!line_next(trc)) {
        return refuse(trc, "the file ends before its header does");
    }
    while (cell_next(trc)) {
        int cell = trc->column - 1 - FIRST_COORDINATE;
        if (cell < 0 || trc->length == 0) {
            continue;
        }
        char axis = "XYZ"[cell % 3];
        bool named = trc->cell[0] == axis || trc->cell[0] == axis - 'X' + 'x';
        if (cell >= out->markers * 3 || cell != found || !named) {
            return refuse(trc, "must hold X, Y and Z of each of %d markers in turn", out->markers);
        }
        found++;
    }
    trc->column = 0;
    return found == out->markers * 3 ||
           refuse(trc, "holds %d coordinates where %d markers need %d", found, out->markers, out->markers * 3);
}

/* Three cells of one marker. All empty = a gap. */
static bool sample_read(struct trc *trc, struct marker_file *out, int marker, int frame)
{
    double value[3] = {0, 0, 0};
    int empty = 0;
    size_t i = (size_t)marker * (size_t)out->frames + (size_t)frame;
    for (int k = 0; k < 3; k++) {
        if (!cell_next(trc)) {
            trc->column++;
            return refuse(trc, "the line ends before its last marker");
        }
        empty += trc->length == 0;
        if (trc->length > 0 && !need_number(trc, &value[k])) {
            return false;
        }
    }
    if (empty != 0 && empty != 3) {
        return refuse(trc, "marker \"%s\" has some of its coordinates and not others", out->names[marker]);
    }
    out->at[i] = vec_make(value[0], value[1], value[2]);
    out->seen[i] = empty == 0;
    return true;
}

/* Where the counting began. */
struct clock {
    double frame, time;
};

static bool row_time(struct trc *trc, const struct marker_file *out, int frame, struct clock *first)
{
    double number;
    double time;
    if (!cell_next(trc) || !need_number(trc, &number)) {
        return false;
    }
    first->frame = frame == 0 ? number : first->frame;
    if (number != first->frame + frame) {
        return refuse(trc, "frame %.6g stands where frame %.6g should", number, first->frame + frame);
    }
    if (!cell_next(trc)) {
        trc->column++;
        return refuse(trc, "the line ends before its time");
    }
    if (!need_number(trc, &time)) {
        return false;
    }
    first->time = frame == 0 ? time : first->time;
    double due = frame / out->rate_hz;
    double within = fmax(0.5 / out->rate_hz, 0.001) + 0.01 * due;
    return fabs(time - first->time - due) <= within ||
           refuse(trc, "frame %d comes after %.4g s; at %g frames a second that would be %.4g s", frame + 1,
                  time - first->time, out->rate_hz, due);
}

static bool row_read(struct trc *trc, struct marker_file *out, int frame, struct clock *first)
{
    if (!row_time(trc, out, frame, first)) {
        return false;
    }
    for (int m = 0; m < out->markers; m++) {
        if (!sample_read(trc, out, m, frame)) {
            return false;
        }
    }
    while (cell_next(trc)) {
        if (trc->length > 0) {
            return refuse(trc, "one column more than the markers need");
        }
    }
    return true;
}

static bool rows_read(struct trc *trc, const struct header *header, struct marker_file *out)
{
    struct clock first = {0, 0};
    int frame = 0;
    bool ended = false;
    while (line_next(trc)) {
        if (line_blank(trc)) {
            ended = frame > 0;
            continue;
        }
        if (ended) {
            return refuse(trc, "stands after an empty line");
        }
        if (frame >= out->frames) {
            return refuse(trc, "is one frame more than the %d that line %d says", out->frames, header->line);
        }
        if (!row_read(trc, out, frame, &first)) {
            return false;
        }
        frame++;
    }
    if (frame < out->frames) {
        trc->column = 0;
        return refuse(trc, "the file ends after %d frames; line %d says %d", frame, header->line, out->frames);
    }
    return true;
}

bool marker_file_is_trc(const void *bytes, size_t length)
{
    static const char mark[] = "PathFileType";
    return length >= sizeof mark - 1 && memcmp(bytes, mark, sizeof mark - 1) == 0;
}

static bool first_line(struct trc *trc)
{
    trc->line = 0;
    if (!line_next(trc)) {
        return false;
    }
    while (cell_next(trc)) {
        if (trc->column == 3 && trc->length > 0 && !cell_is(trc, "(X/Y/Z)")) {
            return refuse(trc, "coordinates must come as (X/Y/Z)");
        }
    }
    return true;
}

bool marker_file_read_trc(const void *bytes, size_t length, struct arena *arena, struct marker_file *out,
                          struct wire_error *error)
{
    const char *text = bytes;
    struct trc trc = {.at = text, .line = 1, .arena = arena, .error = error};
    struct header header = {.metres = 0.0};
    struct wire_at units = wire_key(NULL, "Units");
    *out = (struct marker_file){.rate_hz = 0.0};
    if (!marker_file_is_trc(bytes, length)) {
        return refuse(&trc, "must begin with PathFileType");
    }
    trc.end = text + length;
    if (!first_line(&trc) || !keys_read(&trc, &header) || !values_read(&trc, &header, out) ||
        !names_read(&trc, &header, out) || !axes_read(&trc, out)) {
        return false;
    }
    out->frames = (int)header.frames;
    if (header.frames * (3.0 * header.markers + 1.0) > (double)length) { /* a tab before every coordinate */
        trc.column = header.column[KEY_FRAMES];
        trc.line = header.line;
        return refuse(&trc, "%d frames of %d markers don't fit into a file of %zu bytes", out->frames, out->markers,
                      length);
    }
    return marker_file_room(out, arena, error) && rows_read(&trc, &header, out) &&
           marker_file_scale(out, header.metres, &units, arena, error);
}

/* C3D into plain arrays: the header, what the parameters say of it (all places that give a count must agree), the
 * markers' names and their samples. Analog samples and events are passed over. */
#include "wire/markers/c3d_parts.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define HEADER_WORD(n) (((size_t)(n)-1) * 2) /* words are counted from 1 */
#define LABEL_GROUPS_MAX 9                   /* LABELS, LABELS2 ... LABELS9 */

/* What header and parameters say together. */
struct layout {
    size_t points, frames;
    size_t analog;       /* values in a frame */
    size_t data, stride; /* bytes: where the first frame begins, and how long each is */
    double scale;        /* of integers, units */
    bool real;
};

static bool refuse_header(const struct c3d_file *file, const char *what, double header, const char *parameter,
                          double other)
{
    struct wire_at here = wire_key(NULL, "header");
    return wire_fail(file->error, &here, "says %.6g %s where %s says %.6g", header, what, parameter, other);
}

/* A count that stands in the header and, maybe, in a parameter. */
static bool count_agrees(const struct c3d_file *file, double header, const char *group, const char *name,
                         const char *what)
{
    double said = header;
    char full[64];
    if (c3d_number(file, group, name, 0, &said) == C3D_WRONG) {
        return false;
    }
    if (said == header) {
        return true;
    }
    (void)snprintf(full, sizeof full, "%s:%s", group, name);
    return refuse_header(file, what, header, full, said);
}

/* First to last frame, as the header, POINT:FRAMES and TRIAL:ACTUAL_START_FIELD, ACTUAL_END_FIELD (two words each, the
 * lower one first) say. */
static bool frames_read(const struct c3d_file *file, struct layout *out)
{
    struct wire_at here = wire_key(NULL, "header");
    double first = c3d_word(file, HEADER_WORD(4));
    double last = c3d_word(file, HEADER_WORD(5));
    double start[2] = {0, 0};
    double end[2] = {0, 0};
    if (last < first) {
        return wire_fail(file->error, &here, "the last frame (%g) comes before the first (%g)", last, first);
    }
    double frames = last - first + 1;
    if (frames > MOTION_SAMPLES_MAX) {
        return wire_fail(file->error, &here, "says %g frames; a file may hold %d", frames, MOTION_SAMPLES_MAX);
    }
    out->frames = (size_t)frames;
    if (!count_agrees(file, frames, "POINT", "FRAMES", "frames")) {
        return false;
    }
    enum c3d_found given = c3d_number(file, "TRIAL", "ACTUAL_START_FIELD", 0, &start[0]);
    given = given != C3D_FOUND ? given : c3d_number(file, "TRIAL", "ACTUAL_START_FIELD", 1, &start[1]);
    given = given != C3D_FOUND ? given : c3d_number(file, "TRIAL", "ACTUAL_END_FIELD", 0, &end[0]);
    given = given != C3D_FOUND ? given : c3d_number(file, "TRIAL", "ACTUAL_END_FIELD", 1, &end[1]);
    double said = end[0] - start[0] + 65536.0 * (end[1] - start[1]) + 1.0;
    if (given == C3D_FOUND && said != frames) {
        return refuse_header(file, "frames", frames, "TRIAL:ACTUAL_END_FIELD", said);
    }
    return given != C3D_WRONG;
}

static bool analog_read(const struct c3d_file *file, struct layout *out)
{
    double values = c3d_word(file, HEADER_WORD(3));
    double samples = c3d_word(file, HEADER_WORD(10));
    double used = 0.0;
    out->analog = (size_t)values;
    enum c3d_found given = c3d_number(file, "ANALOG", "USED", 0, &used);
    if (given == C3D_FOUND && used * samples != values) {
        return refuse_header(file, "analog values a frame", values, "ANALOG:USED", used * samples);
    }
    return given != C3D_WRONG;
}

/* The scale tells integers (above zero) from reals (below). */
static bool scale_read(const struct c3d_file *file, struct layout *out)
{
    double header = 0.0;
    bool good = c3d_real(file, HEADER_WORD(7), &header);
    double said = header;
    enum c3d_found given = c3d_number(file, "POINT", "SCALE", 0, &said);
    if (given == C3D_WRONG) {
        return false;
    }
    if (!good || said == 0.0 || fabs(said) > 1e6) {
        return c3d_refuse(file, "POINT", "SCALE", "must be a number other than 0");
    }
    out->real = said < 0.0;
    out->scale = said;
    bool same = (header < 0.0) == out->real && (out->real || fabs(header - said) <= 1e-3 * said);
    return same || refuse_header(file, "as the scale", header, "POINT:SCALE", said);
}

static bool rate_read(const struct c3d_file *file, double *rate)
{
    double header = 0.0;
    bool good = c3d_real(file, HEADER_WORD(11), &header);
    *rate = header;
    enum c3d_found given = c3d_number(file, "POINT", "RATE", 0, rate);
    if (given == C3D_WRONG) {
        return false;
    }
    if (!good || !(*rate >= 20.0 && *rate <= 2000.0)) {
        return c3d_refuse(file, "POINT", "RATE", "must be from 20 to 2000 frames a second, not %.6g", *rate);
    }
    return fabs(header - *rate) <= 0.01 * *rate || refuse_header(file, "frames a second", header, "POINT:RATE", *rate);
}

/* Is anything but padding left from `at` on? */
static bool goes_on(const struct c3d_file *file, size_t at)
{
    size_t end = file->section > at ? file->section : file->length;
    at = (at + C3D_BLOCK - 1) / C3D_BLOCK * C3D_BLOCK;
    for (; at < end; at++) {
        if (file->bytes[at] != 0) {
            return true;
        }
    }
    return false;
}

static bool extent_check(const struct c3d_file *file, struct layout *out)
{
    struct wire_at here = wire_key(NULL, "header");
    size_t block = c3d_word(file, HEADER_WORD(9));
    size_t width = out->real ? 4 : 2;
    if (!count_agrees(file, (double)block, "POINT", "DATA_START", "as the data's first block")) {
        return false;
    }
    out->data = block < 2 ? 0 : (block - 1) * C3D_BLOCK;
    out->stride = (out->points * 4 + out->analog) * width;
    size_t end = out->data + out->frames * out->stride;
    if (out->data == 0 || (out->data < file->section_end && end > file->section)) {
        return wire_fail(file->error, &here, "the data would begin at block %zu, which is no place for them", block);
    }
    if (end > file->length) {
        return wire_fail(file->error, &here,
                         "%zu frames of %zu points need %zu bytes from block %zu on; the file ends after %zu",
                         out->frames, out->points, end - out->data, block, file->length);
    }
    if (goes_on(file, end)) {
        return wire_fail(file->error, &here, "%zu frames of %zu points end at byte %zu, and the data go on after them",
                         out->frames, out->points, end);
    }
    return true;
}

static bool layout_read(const struct c3d_file *file, struct layout *out, double *rate)
{
    struct wire_at here = wire_key(NULL, "header");
    out->points = c3d_word(file, HEADER_WORD(2));
    if (!count_agrees(file, (double)out->points, "POINT", "USED", "points")) {
        return false;
    }
    if (out->points < 1 || out->points > MARKERS_MAX) {
        return wire_fail(file->error, &here, "says %zu points; there must be from 1 to %d", out->points, MARKERS_MAX);
    }
    return frames_read(file, out) && analog_read(file, out) && scale_read(file, out) && rate_read(file, rate) &&
           extent_check(file, out);
}

/* Names of points from..., out of one LABELS parameter. *from moves on by as many as it holds. */
static bool labels_take(const struct c3d_file *file, const char *name, struct marker_file *out, struct arena *arena,
                        int *from)
{
    struct c3d_parameter labels;
    enum c3d_found found = c3d_find(file, "POINT", name, &labels);
    if (found != C3D_FOUND) {
        return found == C3D_ABSENT;
    }
    if (labels.type != C3D_CHAR || labels.dims < 1 || labels.dims > 2) {
        return c3d_refuse(file, "POINT", name, "must be a list of texts");
    }
    size_t width = (size_t)labels.dim[0];
    int count = labels.dims == 2 ? labels.dim[1] : 1;
    for (int i = 0; i < count && *from < out->markers; i++, ++*from) {
        out->names[*from] = marker_name_keep(arena, (const char *)labels.data + (size_t)i * width, width);
        if (out->names[*from] == NULL) {
            return wire_fail(file->error, NULL, "needs more memory than there is");
        }
    }
    return true;
}

/* A point without a name is called by its number, "#3", so that a map can still name it. */
static bool labels_read(const struct c3d_file *file, struct marker_file *out, struct arena *arena)
{
    int taken = 0;
    char name[16] = "LABELS";
    struct wire_at top = wire_key(NULL, "parameters");
    struct wire_at in = wire_key(&top, "POINT");
    struct wire_at here = wire_key(&in, "LABELS");
    out->names = arena_alloc(arena, (size_t)out->markers * sizeof *out->names);
    if (out->names == NULL) {
        return wire_fail(file->error, NULL, "needs more memory than there is");
    }
    for (int i = 1; i <= LABEL_GROUPS_MAX && taken < out->markers; i++) {
        if (i > 1) {
            (void)snprintf(name, sizeof name, "LABELS%d", i);
        }
        if (!labels_take(file, name, out, arena, &taken)) {
            return false;
        }
    }
    for (int m = 0; m < out->markers; m++) {
        if (out->names[m] == NULL || out->names[m][0] == '\0') {
            out->names[m] = arena_printf(arena, "#%d", m + 1);
        }
        if (out->names[m] == NULL) {
            return wire_fail(file->error, NULL, "needs more memory than there is");
        }
    }
    return marker_names_distinct(out, arena, &here, file->error);
}

static bool refuse_sample(const struct c3d_file *file, const struct marker_file *out, int marker, int frame)
{
    struct wire_at here = wire_key(NULL, "data");
    return wire_fail(file->error, &here,
                     "marker \"%s\" holds something that is no number at sample %d, though marked as seen",
                     out->names[marker], frame + 1);
}

/* Four words of a point: x, y, z, and residual with cameras; below zero = not seen. */
static bool point_read(const struct c3d_file *file, const struct layout *layout, size_t at, struct vec3 *point,
                       bool *seen)
{
    double value[4];
    bool good[4] = {true, true, true, true};
    for (size_t k = 0; k < 4; k++) {
        if (layout->real) {
            good[k] = c3d_real(file, at + k * 4, &value[k]);
        } else {
            int word = c3d_word(file, at + k * 2);
            value[k] = (word > 32767 ? word - 65536 : word) * (k < 3 ? layout->scale : 1.0);
        }
    }
    *seen = good[3] && value[3] >= 0.0;
    if (!*seen) {
        return true;
    }
    *point = vec_make(value[0], value[1], value[2]);
    return good[0] && good[1] && good[2] && good[3];
}

static bool data_read(const struct c3d_file *file, const struct layout *layout, struct marker_file *out)
{
    size_t width = layout->real ? 16 : 8;
    for (int f = 0; f < out->frames; f++) {
        size_t at = layout->data + (size_t)f * layout->stride;
        for (int m = 0; m < out->markers; m++) {
            size_t i = (size_t)m * (size_t)out->frames + (size_t)f;
            if (!point_read(file, layout, at + (size_t)m * width, &out->at[i], &out->seen[i])) {
                return refuse_sample(file, out, m, f);
            }
        }
    }
    return true;
}

/* Y_SCREEN: which axis is drawn upward, "+Z". Not understood = not said. */
static bool up_read(const struct c3d_file *file, struct marker_file *out)
{
    struct c3d_parameter screen;
    enum c3d_found found = c3d_find(file, "POINT", "Y_SCREEN", &screen);
    if (found != C3D_FOUND || screen.type != C3D_CHAR || screen.count < 1) {
        return found != C3D_WRONG;
    }
    char name[3] = "+";
    size_t at = screen.data[0] == '+' || screen.data[0] == '-' ? 1 : 0;
    name[0] = screen.data[0] == '-' ? '-' : '+';
    name[1] = at < screen.count ? (char)tolower(screen.data[at]) : '\0';
    out->up_given = lab_axis_parse(name, &out->up);
    return true;
}

/* Metres of the file's unit; 0 when it doesn't say. */
static bool unit_read(const struct c3d_file *file, double *metres)
{
    struct c3d_parameter units;
    enum c3d_found found = c3d_find(file, "POINT", "UNITS", &units);
    *metres = 0.0;
    if (found != C3D_FOUND) {
        return found == C3D_ABSENT;
    }
    const char *text = (const char *)units.data;
    size_t length = units.type == C3D_CHAR ? units.dims > 0 ? (size_t)units.dim[0] : 1 : 0;
    length = length > units.count ? units.count : length;
    bool blank = true;
    for (size_t i = 0; i < length; i++) {
        blank = blank && (text[i] == ' ' || text[i] == '\0');
    }
    return blank || marker_unit_parse(text, length, metres) ||
           c3d_refuse(file, "POINT", "UNITS", "must be m, cm or mm");
}

bool marker_file_is_c3d(const void *bytes, size_t length)
{
    const unsigned char *b = bytes;
    return length >= 2 && b[0] != 0 && b[1] == 0x50;
}

bool marker_file_read_c3d(const void *bytes, size_t length, struct arena *arena, struct marker_file *out,
                          struct wire_error *error)
{
    struct c3d_file file = {.bytes = bytes, .length = length, .error = error};
    struct layout layout = {.points = 0};
    struct wire_at header = wire_key(NULL, "header");
    struct wire_at top = wire_key(NULL, "parameters");
    struct wire_at in = wire_key(&top, "POINT");
    struct wire_at units = wire_key(&in, "UNITS");
    double metres;
    *out = (struct marker_file){.rate_hz = 0.0};
    if (!marker_file_is_c3d(bytes, length)) {
        return wire_fail(error, &header, "is not that of a C3D file");
    }
    if (length < (size_t)2 * C3D_BLOCK) {
        return wire_fail(error, &header, "the file ends after %zu bytes", length);
    }
    if (!c3d_section_check(&file) || !layout_read(&file, &layout, &out->rate_hz)) {
        return false;
    }
    out->frames = (int)layout.frames;
    out->markers = (int)layout.points;
    return labels_read(&file, out, arena) && up_read(&file, out) && unit_read(&file, &metres) &&
           marker_file_room(out, arena, error) && data_read(&file, &layout, out) &&
           marker_file_scale(out, metres, &units, arena, error);
}

/* What the readers of marker files share: names that can be written out again, room for the samples, units. */
#include "wire/markers/parts.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

#define SPREAD_LOW_M 0.6 /* markers of a player who stands: no set is smaller, and no room of one is larger */
#define SPREAD_HIGH_M 6.0
#define FAR_M 100.0 /* the limit of a coordinate, as in a document */

/* Bytes of the printable UTF-8 character that stands first; 0 when there is none. */
static size_t character_length(const char *at, size_t left)
{
    uint32_t code = 0;
    const size_t length = utf8_step(at, left, &code);
    return code < 0x20 || (code >= 0x7f && code < 0xa0) ? 0 : length;
}

const char *marker_name_keep(struct arena *arena, const char *bytes, size_t length)
{
    char name[MARKER_NAME_TEXT];
    size_t used = 0;
    while (length > 0 && (bytes[0] == ' ' || bytes[0] == '\0')) {
        bytes++;
        length--;
    }
    while (length > 0 && (bytes[length - 1] == ' ' || bytes[length - 1] == '\0')) {
        length--;
    }
    for (size_t i = 0; i < length;) {
        size_t step = character_length(bytes + i, length - i);
        size_t wrote = step == 0 ? 1 : step;
        if (used + wrote >= sizeof name) {
            break;
        }
        if (step == 0) {
            name[used] = '?';
        } else {
            memcpy(name + used, bytes + i, step);
        }
        used += wrote;
        i += wrote;
    }
    return arena_strndup(arena, name, used);
}

bool marker_file_room(struct marker_file *out, struct arena *arena, struct wire_error *error)
{
    size_t samples = (size_t)out->frames * (size_t)out->markers;
    out->at = arena_alloc(arena, samples * sizeof *out->at);
    out->seen = arena_alloc(arena, samples * sizeof *out->seen);
    return (out->at != NULL && out->seen != NULL) || wire_fail(error, NULL, "needs more memory than there is");
}

static int name_order(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

bool marker_names_distinct(const struct marker_file *file, struct arena *arena, const struct wire_at *place,
                           struct wire_error *error)
{
    const char **sorted = arena_take(arena, (size_t)file->markers * sizeof *sorted);
    if (sorted == NULL) {
        return wire_fail(error, NULL, "needs more memory than there is");
    }
    memcpy(sorted, file->names, (size_t)file->markers * sizeof *sorted);
    qsort(sorted, (size_t)file->markers, sizeof *sorted, name_order);
    for (int i = 1; i < file->markers; i++) {
        if (strcmp(sorted[i - 1], sorted[i]) == 0) {
            return wire_fail(error, place, "two markers are called \"%s\"", sorted[i]);
        }
    }
    return true;
}

bool marker_unit_parse(const char *bytes, size_t length, double *metres)
{
    static const struct {
        const char *name;
        double metres;
    } units[] = {{"m", 1.0},
                 {"meter", 1.0},
                 {"meters", 1.0},
                 {"metres", 1.0},
                 {"cm", 0.01},
                 {"mm", 0.001},
                 {"mms", 0.001},
                 {"centimeters", 0.01},
                 {"centimetres", 0.01},
                 {"millimeters", 0.001},
                 {"millimetres", 0.001}};
    while (length > 0 && (bytes[length - 1] == ' ' || bytes[length - 1] == '\0')) {
        length--;
    }
    while (length > 0 && bytes[0] == ' ') {
        bytes++;
        length--;
    }
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (strlen(units[i].name) == length && strncasecmp(units[i].name, bytes, length) == 0) {
            *metres = units[i].metres;
            return true;
        }
    }
    return false;
}

/* How far the markers of one instant spread, corner to corner; negative when fewer than three are seen. */
static double spread_at(const struct marker_file *file, int frame)
{
    struct vec3 low = {0, 0, 0};
    struct vec3 high = {0, 0, 0};
    int count = 0;
    for (int m = 0; m < file->markers; m++) {
        size_t i = (size_t)m * (size_t)file->frames + (size_t)frame;
        struct vec3 at = file->at[i];
        if (!file->seen[i]) {
            continue;
        }
        low = count == 0 ? at : vec_make(fmin(low.x, at.x), fmin(low.y, at.y), fmin(low.z, at.z));
        high = count == 0 ? at : vec_make(fmax(high.x, at.x), fmax(high.y, at.y), fmax(high.z, at.z));
        count++;
    }
    return count < 3 ? -1.0 : vec_norm(vec_sub(high, low));
}

static int number_order(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The middle one of the frames' spreads; negative when no frame has one. */
static bool spread_middle(const struct marker_file *file, struct arena *arena, double *middle)
{
    double *spreads = arena_take(arena, (size_t)file->frames * sizeof *spreads);
    int count = 0;
    if (spreads == NULL) {
        return false;
    }
    for (int f = 0; f < file->frames; f++) {
        spreads[count] = spread_at(file, f);
        count += spreads[count] >= 0.0;
    }
    qsort(spreads, (size_t)count, sizeof *spreads, number_order);
    *middle = count == 0 ? -1.0 : spreads[count / 2];
    return true;
}

/* No laboratory is so large: a number that cannot be a place is not passed on, as in a document. */
static bool refuse_far(const struct marker_file *file, size_t sample, struct wire_error *error)
{
    struct wire_at here = wire_key(NULL, "data");
    const size_t frames = (size_t)file->frames;
    const struct vec3 at = file->at[sample];
    return wire_fail(error, &here, "marker \"%s\" lies at %.4g, %.4g, %.4g m at sample %zu; %g m is the limit",
                     file->names[sample / frames], at.x, at.y, at.z, sample % frames + 1, FAR_M);
}

bool marker_file_scale(struct marker_file *file, double metres, const struct wire_at *place, struct arena *arena,
                       struct wire_error *error)
{
    static const double known[] = {1.0, 0.01, 0.001};
    double spread = 0.0;
    if (metres == 0.0 && !spread_middle(file, arena, &spread)) {
        return wire_fail(error, NULL, "needs more memory than there is");
    }
    for (size_t i = 0; i < sizeof known / sizeof *known && metres == 0.0; i++) {
        bool fits = spread * known[i] >= SPREAD_LOW_M && spread * known[i] <= SPREAD_HIGH_M;
        metres = fits ? known[i] : 0.0;
    }
    if (metres == 0.0 && spread < 0.0) {
        return wire_fail(error, place, "is not given, and too few markers are seen to tell it");
    }
    if (metres == 0.0) {
        return wire_fail(error, place, "is not given, and points that spread over %.4g fit neither m, cm nor mm",
                         spread);
    }
    size_t samples = (size_t)file->frames * (size_t)file->markers;
    for (size_t i = 0; i < samples; i++) {
        const struct vec3 at = vec_scale(file->at[i], metres);
        file->at[i] = at;
        if (file->seen[i] && !(fabs(at.x) <= FAR_M && fabs(at.y) <= FAR_M && fabs(at.z) <= FAR_M)) {
            return refuse_far(file, i, error);
        }
    }
    return true;
}

/* A marker file's markers as our points: which alternative of the map the file has, and the middle of its markers. */
#include "wire/markers/map.h"

#include <stdio.h>
#include <string.h>

#include "wire/markers/parts.h"

#define NAMED_MAX 5 /* markers that an error names */

struct matcher {
    const struct marker_map *map;
    const struct marker_file *file;
    char (*plain)[MARKER_NAME_TEXT]; /* the file's names as they are compared */
    bool *ever;                      /* a marker is seen at least once */
    bool *known;                     /* it is named by the map */
    struct arena *arena;
    struct wire_error *error;
};

/* Without case, subject, spaces, '_', '-' and '.'. */
static void plain_write(const char *name, char out[MARKER_NAME_TEXT])
{
    const char *colon = strrchr(name, ':');
    size_t used = 0;
    for (const char *c = colon == NULL ? name : colon + 1; *c != '\0' && used + 1 < MARKER_NAME_TEXT; c++) {
        bool passed_over = strchr(" _-.", *c) != NULL;
        out[used] = (char)(*c >= 'A' && *c <= 'Z' ? *c - 'A' + 'a' : *c);
        used += !passed_over;
    }
    out[used] = '\0';
}

/* The file's markers of a name: how many, and the last of them. */
static int marker_find(const struct matcher *matcher, const char *name, int *marker)
{
    char plain[MARKER_NAME_TEXT];
    int count = 0;
    plain_write(name, plain);
    for (int m = 0; m < matcher->file->markers; m++) {
        if (strcmp(matcher->plain[m], plain) == 0) {
            matcher->known[m] = true;
            count += matcher->ever[m];
            *marker = matcher->ever[m] ? m : *marker;
        }
    }
    return count;
}

/* The first alternative with all its markers in the file, as indices; their number, 0 = none, -1 = error. A marker that
 * is never seen is as good as not there. Every name is looked up, so that known gets complete. */
static int choose(const struct matcher *matcher, enum point point, int out[MARKER_MIDDLE_MAX])
{
    int taken = 0;
    for (int i = 0; i < matcher->map->alternatives[point]; i++) {
        const struct marker_choice *choice = &matcher->map->choices[point][i];
        const char *twice = NULL;
        int markers[MARKER_MIDDLE_MAX] = {0};
        int found = 0;
        for (int k = 0; k < choice->count; k++) {
            int count = marker_find(matcher, choice->names[k], &markers[k]);
            found += count > 0;
            twice = count > 1 ? matcher->file->names[markers[k]] : twice;
        }
        if (taken != 0 || found < choice->count) {
            continue;
        }
        if (twice != NULL) {
            struct wire_at here = wire_key(NULL, "markers");
            wire_fail(matcher->error, &here,
                      "\"%s\" has a twin that differs only in case, spaces or subject; which of them is meant?", twice);
            return -1;
        }
        taken = choice->count;
        memcpy(out, markers, sizeof markers);
    }
    return taken;
}

/* A marker at one instant. Many writers put a lost marker at the very origin: only the ball can lie there. */
static bool place_seen(const struct matcher *matcher, size_t i, bool ball)
{
    struct vec3 at = matcher->file->at[i];
    return matcher->file->seen[i] && (ball || at.x != 0.0 || at.y != 0.0 || at.z != 0.0);
}

static void middle(const struct matcher *matcher, const int *markers, int count, bool ball, struct vec3 *at, bool *seen)
{
    size_t frames = (size_t)matcher->file->frames;
    for (size_t f = 0; f < frames; f++) {
        seen[f] = true;
        at[f] = vec_make(0, 0, 0);
        for (int k = 0; k < count; k++) {
            size_t i = (size_t)markers[k] * frames + f;
            seen[f] = seen[f] && place_seen(matcher, i, ball);
            at[f] = vec_add(at[f], vec_scale(matcher->file->at[i], 1.0 / count));
        }
        at[f] = seen[f] ? at[f] : vec_make(0, 0, 0);
    }
}

static bool refuse_memory(struct wire_error *error)
{
    return wire_fail(error, NULL, "needs more memory than there is");
}

/* One of our points. source: the map's, of the right-hander. */
static bool point_fill(const struct matcher *matcher, enum point source, struct motion_record *record,
                       struct marker_match *match, enum point point)
{
    int markers[MARKER_MIDDLE_MAX];
    int count = choose(matcher, source, markers);
    if (count <= 0) {
        return count == 0;
    }
    struct vec3 *at = arena_take(matcher->arena, (size_t)matcher->file->frames * sizeof *at);
    bool *seen = arena_take(matcher->arena, (size_t)matcher->file->frames * sizeof *seen);
    if (at == NULL || seen == NULL) {
        return refuse_memory(matcher->error);
    }
    record->at[point] = at;
    record->seen[point] = seen;
    match->found[point] = true;
    middle(matcher, markers, count, source == POINT_BALL, at, seen);
    return true;
}

static bool matcher_start(struct matcher *matcher)
{
    const struct marker_file *file = matcher->file;
    matcher->plain = arena_alloc(matcher->arena, (size_t)file->markers * sizeof *matcher->plain);
    matcher->ever = arena_alloc(matcher->arena, (size_t)file->markers * sizeof *matcher->ever);
    matcher->known = arena_alloc(matcher->arena, (size_t)file->markers * sizeof *matcher->known);
    if (matcher->plain == NULL || matcher->ever == NULL || matcher->known == NULL) {
        return false;
    }
    for (int m = 0; m < file->markers; m++) {
        plain_write(file->names[m], matcher->plain[m]);
        for (int f = 0; f < file->frames && !matcher->ever[m]; f++) {
            matcher->ever[m] = file->seen[(size_t)m * (size_t)file->frames + (size_t)f];
        }
    }
    return true;
}

/* Not one point was found. */
static bool refuse_all(const struct matcher *matcher)
{
    struct wire_at here = wire_key(NULL, "markers");
    char names[96] = "";
    size_t used = 0;
    bool known = false;
    for (int m = 0; m < matcher->file->markers; m++) {
        known = known || matcher->known[m];
        if (m < NAMED_MAX && used < sizeof names) {
            int wrote = snprintf(names + used, sizeof names - used, "%s%s", m > 0 ? ", " : "", matcher->file->names[m]);
            used += wrote > 0 ? (size_t)wrote : 0;
        }
    }
    return wire_fail(matcher->error, &here,
                     known ? "no point has all its markers in the file and seen; it holds %s"
                           : "none of them is a point by this map; the file calls them %s",
                     names);
}

bool marker_map_apply(const struct marker_map *map, const struct marker_file *file, enum hand hand, struct arena *arena,
                      struct motion_record *record, struct marker_match *match, struct wire_error *error)
{
    struct matcher matcher = {.map = map, .file = file, .arena = arena, .error = error};
    bool any = false;
    *record = (struct motion_record){.rate_hz = file->rate_hz, .count = file->frames};
    *match = (struct marker_match){.unmapped_count = 0};
    match->unmapped = arena_alloc(arena, (size_t)file->markers * sizeof *match->unmapped);
    if (match->unmapped == NULL || !matcher_start(&matcher)) {
        return refuse_memory(error);
    }
    for (int p = 0; p < POINT_COUNT; p++) {
        bool sided = p >= POINT_LEAD_SHOULDER && p <= POINT_TRAIL_TOE; /* lead and trail stand in pairs */
        int source = hand == HAND_LEFT && sided ? p ^ 1 : p;
        if (!point_fill(&matcher, (enum point)source, record, match, (enum point)p)) {
            return false;
        }
        any = any || match->found[p];
    }
    for (int m = 0; m < file->markers; m++) {
        if (!matcher.known[m]) {
            match->unmapped[match->unmapped_count++] = file->names[m];
        }
    }
    return any || refuse_all(&matcher);
}

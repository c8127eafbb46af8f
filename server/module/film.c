/* Reading a film (module.h). What is known of it comes as
 *
 *     {"view": "face_on", "hand": "right", "width": 1920, "height": 1080, "rate_hz": 120, "ground": 9,
 *      "frames": [{"club_px": 400, "points": {"grip": [u, v, sd], ...}}, ...]}
 *
 * with as many frames as the film has, in pixels of the pictures that will be given; "ground" pictures come by
 * module_ground (0: none). The answer of module_path:
 *
 *     {"frames": [{"found": true, "known": true, "angle_deg": 93.1, "sd_deg": 0.4, "rate_deg_s": 310, "length_px": 391,
 *                  "head": [u, v, sd]}, ...], "instants": {"top": {"time_s": 1.204, "sd_s": 0.006}, ...}}
 *
 * where angle, sd and rate are given of a known shaft, length of a found one, and head where the clubhead is seen. */
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "core/finder/finder.h"
#include "module/module.h"
#include "module/parts.h"
#include "wire/json/out.h"
#include "wire/json/tree.h"

#define FILM_MEMORY ((size_t)192 << 20)
#define GROUND_BYTES ((size_t)96 << 20) /* of all its pictures together */

static const char *const INVALID = "urn:leadside:problem:invalid-film";

static struct {
    struct arena *arena; /* NULL: no film */
    struct finder_film data;
    struct finder_ray (*rays)[FINDER_RAYS];
    int *ray_counts;
    struct swing_mark (*points)[POINT_COUNT];
    double *club_px;
    int width, height;
    int wanted, given; /* pictures of the ground */
    unsigned char *pictures[FINDER_GROUND_MAX];
    unsigned char *grey, *ground; /* ground: NULL until it is made */
    void *work;
} film;

static void pictures_let_go(void)
{
    for (int i = 0; i < film.given; i++) {
        free(film.pictures[i]);
    }
    film.given = 0;
}

static void film_end(void)
{
    pictures_let_go();
    arena_free(film.arena);
    memset(&film, 0, sizeof film);
}

static size_t pixels(void)
{
    return (size_t)film.width * (size_t)film.height;
}

static bool read_point(struct tree *tree, const char *key, struct swing_mark *out)
{
    const json_t *place = json_object_get(tree->value, key);
    double numbers[3];
    for (size_t i = 0; i < 3; i++) {
        const json_t *number = json_array_get(place, i);
        if (json_array_size(place) != 3 || !json_is_number(number)) {
            return tree_refuse(tree, key, "must be [u, v, sd]");
        }
        numbers[i] = json_number_value(number);
    }
    *out = (struct swing_mark){.seen = true, .found = true, .u = numbers[0], .v = numbers[1], .sd = numbers[2]};
    return numbers[2] > 0 || tree_refuse(tree, key, "an error is above 0");
}

#define POINT_KEY(value, name) name,
static const char *const point_keys[] = {POINT_NAMES(POINT_KEY) NULL};

static bool read_points(struct tree *tree, int index, void *to)
{
    struct swing_mark *points = to;
    (void)index;
    for (int i = 0; i < POINT_COUNT; i++) {
        if (tree_has(tree, point_keys[i]) && !read_point(tree, point_keys[i], &points[i])) {
            return false;
        }
    }
    return true;
}

static bool read_frame(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"club_px", "points", NULL};
    (void)to;
    return tree_keys(tree, keys) &&
           tree_number(tree, "club_px", true, 0, FINDER_SIDE_MAX, &film.club_px[index], NULL) &&
           tree_object(tree, "points", true, point_keys, read_points, film.points[index]);
}

/* Memory for the frames, once it is known how many there are. */
static bool frames_make(int count)
{
    const size_t n = (size_t)count;
    film.points = arena_alloc(film.arena, n * sizeof *film.points);
    film.rays = arena_alloc(film.arena, n * sizeof *film.rays);
    film.ray_counts = arena_alloc(film.arena, n * sizeof *film.ray_counts);
    film.club_px = arena_alloc(film.arena, n * sizeof *film.club_px);
    film.grey = arena_take(film.arena, pixels());
    film.work = arena_take(film.arena, finder_frame_bytes());
    film.data.frames = count;
    film.data.points = (const struct swing_mark(*)[POINT_COUNT])film.points;
    film.data.rays = (const struct finder_ray(*)[FINDER_RAYS])film.rays;
    film.data.ray_counts = film.ray_counts;
    film.data.club_px = film.club_px;
    return film.points != NULL && film.rays != NULL && film.ray_counts != NULL && film.club_px != NULL &&
           film.grey != NULL && film.work != NULL;
}

static bool read_film(struct tree *tree)
{
    static const char *const keys[] = {"view", "hand", "width", "height", "rate_hz", "ground", "frames", NULL};
    const char *view = "";
    const char *hand = "";
    int count = 0;
    if (!tree_keys(tree, keys) || !tree_text_borrow(tree, "view", true, 20, &view) ||
        !tree_text_borrow(tree, "hand", true, 20, &hand) ||
        !tree_integer(tree, "width", true, FINDER_SIDE_MIN, FINDER_SIDE_MAX, &film.width) ||
        !tree_integer(tree, "height", true, FINDER_SIDE_MIN, FINDER_SIDE_MAX, &film.height) ||
        !tree_number(tree, "rate_hz", true, FINDER_RATE_MIN, FINDER_RATE_MAX, &film.data.rate_hz, NULL) ||
        !tree_integer(tree, "ground", true, 0, FINDER_GROUND_MAX, &film.wanted)) {
        return false;
    }
    if (!view_kind_parse(view, &film.data.view)) {
        return tree_refuse(tree, "view", "must be down_the_line or face_on");
    }
    if (strcmp(hand, "left") != 0 && strcmp(hand, "right") != 0) {
        return tree_refuse(tree, "hand", "must be right or left");
    }
    film.data.hand = strcmp(hand, "left") == 0 ? HAND_LEFT : HAND_RIGHT;
    count = (int)json_array_size(json_object_get(tree->value, "frames"));
    if (count < 3 || count > FINDER_FRAMES_MAX) {
        return tree_refuse(tree, "frames", "must be a list of 3 to %d", FINDER_FRAMES_MAX);
    }
    if (!frames_make(count)) {
        return tree_refuse(tree, NULL, "memory is short");
    }
    return tree_list(tree, "frames", true, FINDER_FRAMES_MAX, NULL, read_frame, NULL, NULL);
}

int module_film(size_t bytes)
{
    struct wire_error error;
    film_end();
    const char *text = module_text(bytes);
    if (text == NULL || bytes == 0) {
        return text != NULL;
    }
    film.arena = arena_new(FILM_MEMORY);
    json_t *root = film.arena == NULL ? NULL : tree_parse(text, bytes, &error);
    struct tree tree = {.value = root, .arena = film.arena, .error = &error};
    const bool good = root != NULL && read_film(&tree);
    json_decref(root);
    if (film.arena == NULL || !good) {
        const bool short_of = film.arena == NULL;
        film_end();
        return short_of ? module_no_memory() : module_refuse(INVALID, error.path, error.what);
    }
    /* as many as there is memory for */
    const size_t most = GROUND_BYTES / pixels();
    film.wanted = (size_t)film.wanted > most ? (int)most : film.wanted;
    return true;
}

/* The picture that was given as grey, into out. False: it is none of this film's size. */
static bool grey_take(size_t bytes, unsigned char *out)
{
    const unsigned char *in = film.arena == NULL ? NULL : (const unsigned char *)module_input(bytes);
    const size_t n = in == NULL ? 0 : pixels();
    if (n == 0 || (bytes != n && bytes != 4 * n)) {
        return module_refuse(INVALID, NULL, "a picture of the film's size is wanted, grey or RGBA");
    }
    if (bytes == n) {
        memcpy(out, in, n);
        return true;
    }
    for (size_t i = 0; i < n; i++) { /* the luma of ITU-R BT.601 */
        out[i] = (unsigned char)((77U * in[4 * i] + 150U * in[4 * i + 1] + 29U * in[4 * i + 2] + 128U) >> 8);
    }
    return true;
}

int module_ground(size_t bytes)
{
    if (module_begin() == NULL) {
        return module_no_memory();
    }
    if (film.arena == NULL || film.given >= film.wanted || film.ground != NULL) {
        return true; /* more than are of use */
    }
    unsigned char *picture = malloc(pixels());
    if (picture == NULL) {
        return module_no_memory();
    }
    if (!grey_take(bytes, picture)) {
        free(picture);
        return false;
    }
    film.pictures[film.given++] = picture;
    return true;
}

/* The ground out of its pictures, which are let go. */
static void ground_make(void)
{
    if (film.given > 0) {
        unsigned char *ground = arena_take(film.arena, pixels());
        if (ground != NULL &&
            finder_ground((const unsigned char *const *)film.pictures, film.given, pixels(), ground)) {
            film.ground = ground;
        }
    }
    pictures_let_go();
    film.wanted = 0;
}

int module_frame(size_t bytes, int frame)
{
    struct json_out out;
    struct arena *arena = module_begin();
    if (arena == NULL) {
        return module_no_memory();
    }
    if (film.arena == NULL || frame < 0 || frame >= film.data.frames) {
        return module_refuse(INVALID, NULL, "there is no such frame");
    }
    if (!grey_take(bytes, film.grey)) {
        return false;
    }
    ground_make();
    const struct finder_picture picture = {film.grey, film.width, film.height, (size_t)film.width};
    film.ray_counts[frame] = finder_frame(&picture, film.ground, (const struct swing_mark *)film.points[frame],
                                          film.club_px[frame], film.work, film.rays[frame]);
    json_out_start(&out, arena);
    json_out_object(&out, NULL);
    json_out_number(&out, "rays", film.ray_counts[frame], 0);
    json_out_end_object(&out);
    return module_answer(&out);
}

static void shaft_write(struct json_out *out, const struct finder_shaft *shaft)
{
    json_out_object(out, NULL);
    json_out_bool(out, "found", shaft->found);
    json_out_bool(out, "known", shaft->known);
    if (shaft->known) {
        json_out_number(out, "angle_deg", shaft->angle_deg, 3);
        json_out_number(out, "sd_deg", shaft->sd_deg, 3);
        json_out_number(out, "rate_deg_s", shaft->rate_deg_s, 1);
    }
    if (shaft->found) {
        json_out_number(out, "length_px", shaft->length_px, 2);
    }
    if (shaft->head) {
        json_out_array(out, "head");
        json_out_number(out, NULL, shaft->u, 2);
        json_out_number(out, NULL, shaft->v, 2);
        json_out_number(out, NULL, shaft->head_sd_px, 2);
        json_out_end_array(out);
    }
    json_out_end_object(out);
}

int module_path(void)
{
    struct json_out out;
    struct finder_instant instants[CHECKPOINT_COUNT];
    struct arena *arena = module_begin();
    const size_t frames = (size_t)film.data.frames;
    if (film.arena == NULL) {
        return arena == NULL ? module_no_memory() : module_refuse(INVALID, NULL, "there is no film");
    }
    void *work = arena == NULL ? NULL : arena_take(arena, finder_path_bytes(film.data.frames));
    struct finder_shaft *shafts = arena == NULL ? NULL : arena_alloc(arena, frames * sizeof *shafts);
    if (work == NULL || shafts == NULL) {
        return module_no_memory();
    }
    if (finder_path(&film.data, work, shafts) < 0 || finder_instants(&film.data, shafts, work, instants) < 0) {
        return module_refuse(INVALID, NULL, "the film can't be read");
    }
    json_out_start(&out, arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "frames");
    for (size_t i = 0; i < frames; i++) {
        shaft_write(&out, &shafts[i]);
    }
    json_out_end_array(&out);
    json_out_object(&out, "instants");
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (instants[c].found) {
            json_out_object(&out, checkpoint_name((enum checkpoint)c));
            json_out_number(&out, "time_s", instants[c].time_s, 6);
            json_out_number(&out, "sd_s", instants[c].sd_s, 6);
            json_out_end_object(&out);
        }
    }
    json_out_end_object(&out);
    json_out_end_object(&out);
    return module_answer(&out) || module_no_memory();
}

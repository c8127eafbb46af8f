/* Reads a film of grey frames with what is known beside it and tells what the finder makes of it.
 * Its input: one line of JSON, then frames x height x width bytes; tests/films/render.py writes it. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/finder/finder.h"

#define HEADER_MAX ((size_t)64 << 20)
#define HANDS_OF_BODY 0.015 /* what the pose library's joints are off by, of the body's height */

struct film {
    struct finder_film data;
    int width, height;
    FILE *file;
    long start;
    struct swing_mark (*points)[POINT_COUNT];
    struct finder_ray (*rays)[FINDER_RAYS];
    int *ray_counts;
    double *club_px;
    unsigned char *ground;
    bool take_ground;
};

static void *memory(size_t count, size_t size)
{
    void *out = calloc(count, size);
    if (out == NULL) {
        (void)fputs("no memory\n", stderr);
        exit(1);
    }
    return out;
}

static void need(bool held, const char *what)
{
    if (!held) {
        (void)fprintf(stderr, "finder_read: %s\n", what);
        exit(1);
    }
}

static double number(const json_t *object, const char *key, double otherwise)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : otherwise;
}

static void take_point(const json_t *series, int frame, double sd, struct swing_mark *out)
{
    const json_t *place = json_array_get(series, (size_t)frame);
    if (json_array_size(place) >= 2) {
        const json_t *own = json_array_get(place, 2);
        *out = (struct swing_mark){true, true, json_number_value(json_array_get(place, 0)),
                                   json_number_value(json_array_get(place, 1)),
                                   json_is_number(own) ? json_number_value(own) : sd};
    }
}

static void take_header(struct film *film, const json_t *header)
{
    const char *view = json_string_value(json_object_get(header, "view"));
    const char *hand = json_string_value(json_object_get(header, "hand"));
    const json_t *club = json_object_get(header, "club_px");
    const json_t *joints = json_object_get(header, "joints");
    const double sd = number(header, "hands_sd", HANDS_OF_BODY * number(header, "body_px", 200.0));
    const char *name;
    json_t *series;

    film->width = (int)number(header, "width", 0);
    film->height = (int)number(header, "height", 0);
    film->data.frames = (int)number(header, "frames", 0);
    film->data.rate_hz = number(header, "fps", 0);
    film->data.view = view != NULL && strcmp(view, "face_on") == 0 ? VIEW_FACE_ON : VIEW_DOWN_THE_LINE;
    film->data.hand = hand != NULL && strcmp(hand, "left") == 0 ? HAND_LEFT : HAND_RIGHT;
    film->take_ground = !json_is_false(json_object_get(header, "ground"));
    need(film->data.frames >= 3 && film->data.frames <= FINDER_FRAMES_MAX, "frames");
    film->points = memory((size_t)film->data.frames, sizeof *film->points);
    film->rays = memory((size_t)film->data.frames, sizeof *film->rays);
    film->ray_counts = memory((size_t)film->data.frames, sizeof *film->ray_counts);
    film->club_px = memory((size_t)film->data.frames, sizeof *film->club_px);
    for (int f = 0; f < film->data.frames; f++) {
        film->club_px[f] = json_number_value(json_is_array(club) ? json_array_get(club, (size_t)f) : club);
        take_point(json_object_get(header, "hands"), f, sd, &film->points[f][POINT_GRIP]);
        json_object_foreach((json_t *)joints, name, series)
        {
            enum point point;
            need(point_parse(name, &point), name);
            take_point(series, f, sd, &film->points[f][point]);
        }
    }
    film->data.points = (const struct swing_mark(*)[POINT_COUNT])film->points;
    film->data.rays = (const struct finder_ray(*)[FINDER_RAYS])film->rays;
    film->data.ray_counts = film->ray_counts;
    film->data.club_px = film->club_px;
}

static void read_frame(const struct film *film, int frame, unsigned char *out)
{
    const size_t pixels = (size_t)film->width * (size_t)film->height;
    need(fseek(film->file, film->start + (long)pixels * frame, SEEK_SET) == 0 &&
             fread(out, 1, pixels, film->file) == pixels,
         "the film is cut");
}

static void make_ground(struct film *film)
{
    const size_t pixels = (size_t)film->width * (size_t)film->height;
    const int count = film->data.frames < FINDER_GROUND_MAX ? film->data.frames : FINDER_GROUND_MAX;
    unsigned char *pictures[FINDER_GROUND_MAX];

    if (!film->take_ground) {
        return;
    }
    film->ground = memory(pixels, 1);
    for (int k = 0; k < count; k++) {
        pictures[k] = memory(pixels, 1);
        read_frame(film, (int)((k + 0.5) * film->data.frames / count), pictures[k]);
    }
    need(finder_ground((const unsigned char *const *)pictures, count, pixels, film->ground), "ground");
    for (int k = 0; k < count; k++) {
        free(pictures[k]);
    }
}

static double seconds(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static double look(struct film *film)
{
    const size_t pixels = (size_t)film->width * (size_t)film->height;
    unsigned char *grey = memory(pixels, 1);
    void *work = memory(1, finder_frame_bytes());
    double spent = 0.0;

    for (int f = 0; f < film->data.frames; f++) {
        read_frame(film, f, grey);
        const struct finder_picture picture = {grey, film->width, film->height, (size_t)film->width};
        const double began = seconds();
        film->ray_counts[f] = finder_frame(&picture, film->ground, (const struct swing_mark *)film->points[f],
                                           film->club_px[f], work, film->rays[f]);
        spent += seconds() - began;
    }
    free(work);
    free(grey);
    return 1000.0 * spent / film->data.frames;
}

static void print_frame(const struct film *film, int frame, const struct finder_shaft *shaft)
{
    printf("{\"frame\":%d,\"found\":%s", frame, shaft->found ? "true" : "false");
    if (shaft->known) {
        printf(",\"angle_deg\":%.3f,\"angle_sd\":%.3f,\"rate\":%.1f", remainder(shaft->angle_deg, 360.0), shaft->sd_deg,
               shaft->rate_deg_s);
    }
    if (shaft->head) {
        printf(",\"head\":[%.2f,%.2f],\"head_sd\":%.2f", shaft->u, shaft->v, shaft->head_sd_px);
    } else {
        printf(",\"head\":null");
    }
    printf(",\"rays\":[");
    for (int k = 0; k < film->ray_counts[frame]; k++) {
        const struct finder_ray *ray = &film->rays[frame][k];
        printf("%s[%.2f,%.2f,%.3f,%.1f,%.1f,%.1f]", k ? "," : "", ray->angle_deg, ray->sd_deg, ray->score, ray->from_px,
               ray->to_px, ray->width_px);
    }
    printf("]}\n");
}

static void print_instants(const struct film *film, const struct finder_shaft *shafts, void *work, double spent)
{
    struct finder_instant instants[CHECKPOINT_COUNT];
    const double rate = film->data.rate_hz;
    const char *comma = "";

    need(finder_instants(&film->data, shafts, work, instants) >= 0, "instants");
    printf("{\"instants\":{");
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (instants[c].found) {
            printf("%s\"%s\":{\"frame\":%.3f,\"sd\":%.3f}", comma, checkpoint_name((enum checkpoint)c),
                   instants[c].time_s * rate, instants[c].sd_s * rate);
            comma = ",";
        }
    }
    printf("},\"ms_per_frame\":%.3f}\n", spent);
}

int main(int argc, char **argv)
{
    struct film film = {0};
    json_error_t error;

    need(argc == 2, "usage: finder_read FILE");
    film.file = fopen(argv[1], "rb");
    need(film.file != NULL, "the file can't be read");
    char *line = memory(HEADER_MAX, 1);
    need(fgets(line, (int)HEADER_MAX, film.file) != NULL, "no header");
    film.start = ftell(film.file);
    json_t *header = json_loads(line, 0, &error);
    need(header != NULL, error.text);
    take_header(&film, header);
    make_ground(&film);
    const double spent = look(&film);
    void *work = memory(1, finder_path_bytes(film.data.frames));
    struct finder_shaft *shafts = memory((size_t)film.data.frames, sizeof *shafts);
    need(finder_path(&film.data, work, shafts) >= 0, "path");
    for (int f = 0; f < film.data.frames; f++) {
        print_frame(&film, f, &shafts[f]);
    }
    print_instants(&film, shafts, work, spent);
    free(shafts);
    free(work);
    free(line);
    free(film.ground);
    free(film.points);
    free(film.rays);
    free(film.ray_counts);
    free(film.club_px);
    json_decref(header);
    (void)fclose(film.file);
    return 0;
}

/* The finder: a small film whose pictures, joints and rate are the input's. One byte after another says how large it
 * is, how long, where the hands are; what is left is grey pixels, over and over. Whatever comes in, what goes out is
 * finite and in range, and rays made of any numbers may come to the path. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/finder/finder.h"
#include "fuzz.h"

#define FRAMES 40
#define SIDE 160

struct bytes {
    const uint8_t *data;
    size_t size, at;
};

static unsigned next(struct bytes *in)
{
    return in->at < in->size ? in->data[in->at++] : 0;
}

/* A place about the picture, sometimes far off or no number. */
static double place(struct bytes *in, int side)
{
    const unsigned byte = next(in);
    static const double odd[] = {NAN, INFINITY, -INFINITY, 1e300, -1e300, -1.0};
    return byte >= 250 ? odd[byte - 250] : (byte - 20.0) / 200.0 * side;
}

static void points_of(struct bytes *in, int width, int height, struct swing_mark points[POINT_COUNT])
{
    memset(points, 0, POINT_COUNT * sizeof *points);
    for (int p = 0; p < POINT_COUNT; p++) {
        const bool seen = p == POINT_GRIP || next(in) % 2 == 1;
        points[p] = (struct swing_mark){seen, true, place(in, width), place(in, height), next(in) / 8.0};
    }
}

/* Rays that no picture gave, but that keep their ranges: about a club that turns, or anything. */
static void rays_of(struct bytes *in, struct finder_ray rays[FINDER_RAYS], int *count)
{
    *count = (int)(next(in) % (FINDER_RAYS + 2)) - 1;
    for (int k = 0; k < *count; k++) {
        rays[k] = (struct finder_ray){.angle_deg = next(in) * 1.4,
                                      .sd_deg = 0.05 + next(in) / 16.0,
                                      .u = next(in),
                                      .v = next(in),
                                      .to_px = 1.0 + next(in),
                                      .score = (1.0 + next(in)) / 256.0,
                                      .fan_deg = (double)(next(in) % 23),
                                      .end_open = next(in) % 2 == 0,
                                      .head_px = next(in),
                                      .head_sd_px = 1.0};
    }
}

static void check_rays(const struct finder_ray *rays, int count)
{
    fuzz_require(count >= -1 && count <= FINDER_RAYS, "as many rays as there may be");
    for (int k = 0; k < count; k++) {
        const struct finder_ray *ray = &rays[k];
        fuzz_require(ray->angle_deg >= 0.0 && ray->angle_deg < 360.0, "an angle within a turn");
        fuzz_require(ray->sd_deg > 0.0 && isfinite(ray->sd_deg), "an angle's error");
        fuzz_require(ray->score > 0.0 && ray->score <= 1.0, "a score is a share");
        fuzz_require(isfinite(ray->u) && isfinite(ray->v) && ray->to_px > ray->from_px, "a run has a length");
        fuzz_require(isfinite(ray->head_px) && ray->head_sd_px > 0.0, "a head's place");
    }
}

static void check_film(const struct finder_film *film)
{
    struct finder_shaft shafts[FRAMES];
    struct finder_instant instants[CHECKPOINT_COUNT];
    void *work = malloc(finder_path_bytes(film->frames));

    fuzz_require(work != NULL, "memory");
    fuzz_require(finder_path(film, work, shafts) >= 0, "a film in range is read");
    for (int f = 0; f < film->frames; f++) {
        fuzz_require(!shafts[f].found || shafts[f].known, "what is found is known");
        fuzz_require(!shafts[f].known || (isfinite(shafts[f].angle_deg) && shafts[f].sd_deg > 0.0),
                     "an angle with its error");
    }
    fuzz_require(finder_instants(film, shafts, work, instants) >= 0, "its instants are read");
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        const struct finder_instant *at = &instants[c];
        fuzz_require(!at->found ||
                         (at->time_s >= 0.0 && at->time_s <= (film->frames - 1) / film->rate_hz && at->sd_s > 0.0),
                     "an instant within the film");
    }
    free(work);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static unsigned char pixels[SIDE * SIDE];
    static unsigned char ground[SIDE * SIDE];
    static struct finder_ray rays[FRAMES][FINDER_RAYS];
    static struct swing_mark points[FRAMES][POINT_COUNT];
    static int counts[FRAMES];
    static double club_px[FRAMES];
    struct bytes in = {data, size, 0};
    void *work = malloc(finder_frame_bytes());
    const int width = FINDER_SIDE_MIN + (int)next(&in) % (SIDE - FINDER_SIDE_MIN);
    const int height = FINDER_SIDE_MIN + (int)next(&in) % (SIDE - FINDER_SIDE_MIN);
    const int frames = 3 + (int)next(&in) % (FRAMES - 2);
    const unsigned flags = next(&in);
    const double club = FINDER_CLUB_MIN + next(&in);
    const struct finder_film film = {.frames = frames,
                                     .rate_hz = FINDER_RATE_MIN + 3.0 * next(&in),
                                     .rays = (const struct finder_ray(*)[FINDER_RAYS])rays,
                                     .ray_counts = counts,
                                     .points = (const struct swing_mark(*)[POINT_COUNT])points,
                                     .club_px = club_px,
                                     .view = flags & 1 ? VIEW_FACE_ON : VIEW_DOWN_THE_LINE,
                                     .hand = flags & 2 ? HAND_LEFT : HAND_RIGHT};
    bool read = true;

    fuzz_require(work != NULL, "memory");
    memset(rays, 0, sizeof rays);
    for (int f = 0; f < frames; f++) {
        points_of(&in, width, height, points[f]);
        club_px[f] = club;
        rays_of(&in, rays[f], &counts[f]);
    }
    if ((flags & 8) != 0) { /* a picture is long work under the sanitizers: only some inputs have one */
        const struct finder_picture picture = {pixels, width, height, (size_t)width};
        const unsigned char *still[] = {pixels, ground, pixels};
        for (int i = 0; i < width * height; i++) { /* a few bytes, over and over */
            pixels[i] = (unsigned char)(size > in.at ? data[in.at + (size_t)i % (size - in.at)] : i / width * 3);
            ground[i] = (unsigned char)(pixels[i] / 2 + (unsigned)i % 7);
        }
        fuzz_require(finder_ground(still, 3, (size_t)(width * height), ground), "a ground");
        counts[0] = finder_frame(&picture, flags & 4 ? ground : NULL, points[0], club, work, rays[0]);
        check_rays(rays[0], counts[0]);
        read = counts[0] >= 0;
    }
    check_film(&film);
    fuzz_count("fuzz_finder", read);
    free(work);
    return 0;
}

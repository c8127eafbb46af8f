/* The film reads itself: the shaft in grey pictures, its path over a film, and the instants of a swing in it.
 *
 * Three steps, each by itself: finder_frame() looks for rays from the hands in one picture, finder_path() chooses among
 * the rays of all frames, finder_instants() reads the checkpoints' times from the path and the body's points. What was
 * not seen is told as not found, never guessed. Method, sources and what the errors were tried on: docs/finder.md.
 *
 * Pixels as in swing.h. Angles in degrees in the picture: 0 to the right, 90 down, from the hands to the clubhead. Owns
 * nothing, allocates nothing: the caller lends work memory (aligned as malloc gives it). */
#ifndef LEADSIDE_CORE_FINDER_FINDER_H
#define LEADSIDE_CORE_FINDER_FINDER_H

#include <stdbool.h>
#include <stddef.h>

#include "core/swing.h"

#define FINDER_SIDE_MIN 32   /* px */
#define FINDER_SIDE_MAX 4096 /* px */
#define FINDER_CLUB_MIN 24.0 /* px: a shorter club is not looked for */
#define FINDER_FRAMES_MAX 2000
#define FINDER_RATE_MIN 10.0 /* pictures a second */
#define FINDER_RATE_MAX 1000.0
#define FINDER_RAYS 5
#define FINDER_GROUND_MAX 15 /* pictures of which a ground is made */

/* A grey picture, 0 black ... 255 white; stride bytes from a row to the next, >= width. Borrowed. */
struct finder_picture {
    const unsigned char *grey;
    int width, height;
    size_t stride;
};

/* What may be the shaft in one picture. The line runs through (u, v), the foot of the hands on it, toward angle_deg;
 * the run lies from from_px to to_px along it. */
struct finder_ray {
    double angle_deg; /* [0, 360) */
    double sd_deg;    /* random, of angle_deg */
    double u, v;
    double from_px, to_px;
    double score;    /* (0, 1]: share of the club's length that answers as a thin line would */
    double width_px; /* at its middle: the shaft's own, or the fan that it sweeps while the shutter is open */
    double fan_deg;  /* that fan's angle; 0: the shaft's own width */
    bool end_open;   /* it ends inside the picture and not on the body: */
    double head_px, head_sd_px; /* the clubhead's middle then lies so far along the line */
};

/* The ground that stands still in a film: at each pixel the median of `count` pictures spread over the film
 * (1...FINDER_GROUND_MAX, of the same size, without padding). Writes `pixels` bytes. False: bad count or NULL. */
bool finder_ground(const unsigned char *const *pictures, int count, size_t pixels, unsigned char *out);

/* Work memory of finder_frame(), bytes. */
size_t finder_frame_bytes(void);

/* Looks for the shaft in one picture.
 * ground: what stands still, same size and stride as the picture; NULL = not known.
 * points: POINT_COUNT marks of this frame with their sd. The hands are the grip, else the middle of the wrists seen;
 * the other joints say where the body is. club_px: the club's length, hands to clubhead, if it lay across the view, >=
 * FINDER_CLUB_MIN and at most the longer side. Returns how many rays were written, best first, 0...FINDER_RAYS; -1 when
 * an argument is out of range or the hands are not seen in the picture. */
int finder_frame(const struct finder_picture *picture, const unsigned char *ground, const struct swing_mark *points,
                 double club_px, void *work, struct finder_ray out[FINDER_RAYS]);

/* A film's frames as finder_path() and finder_instants() take them. Arrays of `frames`, borrowed. Frame i was taken at
 * i / rate_hz: the camera's own rate, not the stored one of slow motion. */
struct finder_film {
    int frames;     /* 3...FINDER_FRAMES_MAX */
    double rate_hz; /* FINDER_RATE_MIN...FINDER_RATE_MAX */
    const struct finder_ray (*rays)[FINDER_RAYS];
    const int *ray_counts; /* of each frame; below 1: none */
    const struct swing_mark (*points)[POINT_COUNT];
    const double *club_px;
    enum view_kind view;
    enum hand hand;
};

/* The shaft in one frame. */
struct finder_shaft {
    bool found;       /* seen in this frame */
    bool known;       /* found, or bridged between frames that are; otherwise the rest means nothing */
    double angle_deg; /* running on over the film: it may pass 360 or fall below 0 */
    double sd_deg;    /* random */
    double rate_deg_s;
    bool head; /* the clubhead's place is seen as well */
    double u, v, head_sd_px;
    double length_px; /* hands to the run's end; 0 unless found */
};

/* Work memory of finder_path() and of finder_instants(), bytes; 0 when `frames` is out of range. */
size_t finder_path_bytes(int frames);

/* Chooses at most one ray a frame so that the club turns as a club can. Writes film->frames shafts. Returns how many
 * frames are found; -1 when an argument is out of range. */
int finder_path(const struct finder_film *film, void *memory, struct finder_shaft *out);

struct finder_instant {
    bool found;
    double time_s; /* from frame 0 */
    double sd_s;   /* random */
};

/* The times of the checkpoints: shaft and arm level as crossings between frames, the top from the club's turning,
 * impact from the club's return to its place at address, address and finish from stillness. shafts: of finder_path().
 * Returns how many were found; -1 when an argument is out of range. */
int finder_instants(const struct finder_film *film, const struct finder_shaft *shafts, void *memory,
                    struct finder_instant out[CHECKPOINT_COUNT]);

#endif

/* What the files of this room share. Not for callers.
 *
 * A picture is looked at round the hands: ROWS rings of COLUMNS directions, out to a little beyond the club's length. A
 * ring holds PAD columns more at either end, the other end's again, so that windows and lines run over the seam.
 * Lengths in "small" pixels: of the picture after reducing it until the club is at most FINDER_SMALL_CLUB long. */
#ifndef LEADSIDE_CORE_FINDER_PARTS_H
#define LEADSIDE_CORE_FINDER_PARTS_H

#include "core/finder/finder.h"

#define FINDER_PI 3.14159265358979323846
#define FINDER_COLUMNS 1024
#define FINDER_PAD 160
#define FINDER_WIDE (FINDER_COLUMNS + 2 * FINDER_PAD)
#define FINDER_ROWS 64
#define FINDER_SMALL_CLUB 230.0
#define FINDER_SMALL_SIDE 536  /* 2 * 1.12 * FINDER_SMALL_CLUB and a rim */
#define FINDER_RING_FIRST 0.08 /* of the club's length: first ring's inner edge */
#define FINDER_RING_LAST 1.10  /* last ring's outer edge */
#define FINDER_GRIP 0.20       /* of the club's length: hands cover it up to here */
#define FINDER_CHANNELS 4      /* the shaft's own width, and three widths of a fan */
#define FINDER_MASK_ROWS 32
#define FINDER_MASK_COLUMNS 128
#define FINDER_ONE 64 /* a ring that answers fully, as written into score */

/* Of a body's segment at a place: nothing, crossed by the ray, or along the ray. */
enum { FINDER_CLEAR, FINDER_CROSSED, FINDER_ALONG };

struct finder_work {
    int shrink;         /* full pixels of a small one */
    int left, top;      /* full pixel of small (0, 0) */
    int side_u, side_v; /* small pixels */
    double u, v;        /* the hands, small pixels */
    double sd;          /* theirs, small pixels */
    double club;        /* small pixels */
    bool has_ground;
    double step;               /* from ring to ring, small pixels */
    float radius[FINDER_ROWS]; /* small pixels */
    float cosine[FINDER_COLUMNS], sine[FINDER_COLUMNS];
    short limit[FINDER_COLUMNS]; /* first ring outside the picture */
    unsigned char mask[FINDER_MASK_ROWS][FINDER_MASK_COLUMNS];
    unsigned short small[2][FINDER_SMALL_SIDE * FINDER_SMALL_SIDE]; /* 256 per grey level: picture, ground */
    unsigned short columns[FINDER_SIDE_MAX];                        /* sums down the columns of a small row */
    int places[2][FINDER_COLUMNS];                                  /* of one circle's samples */
    float ring[2][FINDER_ROWS][FINDER_WIDE];                        /* picture, ground */
    float prefix[FINDER_WIDE + 1];
    float line[3][FINDER_COLUMNS];
    float still[FINDER_ROWS][FINDER_COLUMNS]; /* how much of an answer the ground gives as well, 0...1 */
    float answer[FINDER_CHANNELS][FINDER_ROWS][FINDER_COLUMNS]; /* over noise */
    short score[FINDER_CHANNELS][FINDER_ROWS][FINDER_WIDE];
    short run[FINDER_COLUMNS], high[FINDER_COLUMNS];
    short total[FINDER_COLUMNS], who[FINDER_COLUMNS]; /* the best run of each direction, and whose it is */
};

static inline int finder_body_at(const struct finder_work *work, int row, int column)
{
    return work->mask[row * FINDER_MASK_ROWS / FINDER_ROWS][column / (FINDER_COLUMNS / FINDER_MASK_COLUMNS)];
}

/* Degrees of a fan that a channel looks for; 0 the shaft's own width. */
double finder_fan(int channel);

/* The shaft's own width, small pixels. */
double finder_thin(const struct finder_work *work);

/* Reduces picture and ground round the hands and lays the rings. False when the hands are outside. */
bool finder_rings(struct finder_work *work, const struct finder_picture *picture, const unsigned char *ground);

/* Marks where the body's segments lie. */
void finder_mask(struct finder_work *work, const struct swing_mark *points);

/* Fills answer and score of every channel. */
void finder_answers(struct finder_work *work);

/* Where along a line (radians; offset in small pixels) whose run ends at ring `last` the clubhead's middle lies, and
 * its error; small pixels. */
void finder_head(const struct finder_work *work, double direction, double offset, int last, double *along, double *sd);

/* The best rays of the scores. */
int finder_pick(struct finder_work *work, struct finder_ray out[FINDER_RAYS]);

/* Counts, rates and arrays in range. */
bool finder_film_is_good(const struct finder_film *film);

/* The middle of the hands: the grip, else the wrists seen. False when none is. */
bool finder_hands(const struct swing_mark *points, struct swing_mark *out);

#endif

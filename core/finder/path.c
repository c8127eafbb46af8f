/* The shaft over a film: among the rays of all frames the chain that turns as a club can, smoothed both ways. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "core/finder/parts.h"

#define RATE_MOST 3200.0 /* deg/s: 25 degrees a frame at 120 Hz and a little */
#define RATE_FIRST 500.0 /* deg/s: of a chain's first step, when nothing is known */
#define TURN_SLOW 5000.0 /* deg/s^2: how a club's turning changes, at rest ... */
#define TURN_FAST 12.0   /* ... and more by so much for each deg/s */
#define TURN_HOLDS 0.05  /* s: for so long it changes one way */
#define REWARD 8.0       /* of a ray that answers over the whole club */
#define PRICE 1.5        /* of taking any ray rather than none */
#define JUMP_MOST 8.0    /* the dearest step, and that to another stretch */
#define REACH_S 0.15     /* a chain may miss so long */
#define REACH_FRAMES 40
#define LENGTH_MOST 1.12 /* of the club */
#define FAR_SD 3.3       /* a ray farther from the others' curve is let go ... */
#define FAR_DEG 0.3      /* ... its errors widened by this */
#define NEAR_S 0.04      /* the farthest of so long a neighbourhood, each way */
#define ROUNDS 12
#define BRIDGE_S 0.13   /* between found frames the turning is followed for so long */
#define ISLAND_S 0.06   /* a stretch that answers for less than this, all rays over the whole club, is none */
#define HEAD_APART 0.09 /* of the club: a run's end may differ so much from its neighbours' */

#define NODES (2 * FINDER_RAYS) /* of a frame: each ray as going on, then each as beginning anew */

struct node {
    double cost, angle, rate;
    int frame, ray; /* the one before; frame -1: none */
    bool begun;     /* rate is known */
    bool jumped;    /* not by turning as a club does: another stretch begins here */
};

struct kalman {
    double angle, rate;
    double p00, p01, p11;
};

/* The cheapest end of a chain so far; frame -1: taking none. */
struct least {
    double cost;
    int frame, ray;
};

struct path_work {
    struct node (*nodes)[NODES];
    struct least *least;
    int *chosen;
    bool *jumped;
    double *angle; /* of the chosen ray, running on */
    struct kalman *before, *after;
};

size_t finder_path_bytes(int frames)
{
    if (frames < 3 || frames > FINDER_FRAMES_MAX) {
        return 0;
    }
    return (size_t)frames * (sizeof(struct node[NODES]) + 2 * sizeof(struct kalman) + sizeof(double) +
                             sizeof(struct least) + sizeof(int) + sizeof(bool));
}

static struct path_work lay_out(void *memory, int frames)
{
    const size_t n = (size_t)frames;
    struct path_work out;
    char *at = memory;

    out.nodes = (void *)at;
    at += n * sizeof(struct node[NODES]);
    out.before = (void *)at;
    at += n * sizeof(struct kalman);
    out.after = (void *)at;
    at += n * sizeof(struct kalman);
    out.angle = (void *)at;
    at += n * sizeof(double);
    out.least = (void *)at;
    at += n * sizeof(struct least);
    out.chosen = (void *)at;
    at += n * sizeof(int);
    out.jumped = (void *)at;
    return out;
}

bool finder_film_is_good(const struct finder_film *film)
{
    return film != NULL && film->frames >= 3 && film->frames <= FINDER_FRAMES_MAX && film->rate_hz >= FINDER_RATE_MIN &&
           film->rate_hz <= FINDER_RATE_MAX && film->rays != NULL && film->ray_counts != NULL && film->points != NULL &&
           film->club_px != NULL;
}

static int rays_of(const struct finder_film *film, int frame)
{
    const int count = film->ray_counts[frame];
    return count < 0 ? 0 : count > FINDER_RAYS ? FINDER_RAYS : count;
}

/* The nearest turn to b from a, degrees in (-180, 180]. */
static double turn(double from, double to)
{
    const double d = fmod(to - from, 360.0);
    return d > 180.0 ? d - 360.0 : d <= -180.0 ? d + 360.0 : d;
}

static double change(double rate)
{
    return TURN_SLOW + TURN_FAST * fabs(rate);
}

/* ---- the chain (Viterbi's recursion, with frames that may be missed) ---- */

static double price_of(const struct finder_film *film, int frame, const struct finder_ray *ray)
{
    const double too_long = fmax(0.0, ray->to_px / film->club_px[frame] - LENGTH_MOST);
    return PRICE - REWARD * ray->score + 20.0 * too_long;
}

/* A fan is swept while the shutter is open, which is a frame at most: a club that turns less can't have made it. */
static double idle_fan(const struct finder_film *film, const struct finder_ray *ray, double rate)
{
    const double swept = 1.3 * fabs(rate) / film->rate_hz + 2.0;
    return ray->fan_deg <= swept ? 0.0 : 4.0 * (1.0 - swept / ray->fan_deg);
}

/* What it costs to come from a node to a ray some frames on; where the ray's angle then runs on. False: no club turns
 * so. */
static bool step_cost(const struct finder_film *film, const struct node *from, const struct finder_ray *was,
                      const struct finder_ray *ray, int frames, double *cost, double *angle)
{
    const double dt = frames / film->rate_hz;
    const double guess = from->begun ? from->angle + from->rate * dt : from->angle;
    const double off = turn(guess, ray->angle_deg);
    const double free = from->begun ? 0.0 : RATE_FIRST * dt;
    const double bend = 0.5 * change(from->rate) * dt * fmin(dt, TURN_HOLDS);
    const double sd = sqrt(was->sd_deg * was->sd_deg + ray->sd_deg * ray->sd_deg + bend * bend + free * free + 1.0);

    *angle = guess + off;
    if (fabs(*angle - from->angle) > RATE_MOST * dt + 3.0 * ray->sd_deg) {
        return false;
    }
    *cost = 0.5 * off * off / (sd * sd) + idle_fan(film, ray, (*angle - from->angle) / dt);
    return *cost < JUMP_MOST;
}

/* The cheapest way to a ray from those of the frames before it; cost stays INFINITY where none leads there. */
static void go_on(const struct finder_film *film, struct path_work *work, int frame, int r)
{
    struct node *node = &work->nodes[frame][r];
    const struct finder_ray *ray = &film->rays[frame][r];
    const double price = price_of(film, frame, ray);
    const int back = (int)fmin(REACH_FRAMES, fmax(2.0, ceil(REACH_S * film->rate_hz)));

    *node = (struct node){.cost = INFINITY, .frame = -1, .ray = -1};
    for (int f = frame - 1; f >= 0 && f >= frame - back; f--) {
        for (int k = 0; k < NODES; k++) {
            const struct node *from = &work->nodes[f][k];
            double cost;
            double angle;
            if (k % FINDER_RAYS >= rays_of(film, f) || from->cost + price >= node->cost ||
                !step_cost(film, from, &film->rays[f][k % FINDER_RAYS], ray, frame - f, &cost, &angle) ||
                from->cost + cost + price >= node->cost) {
                continue;
            }
            const double rate = (angle - from->angle) * film->rate_hz / (frame - f);
            const double smooth = from->begun ? 0.7 * rate + 0.3 * from->rate : rate;
            *node = (struct node){from->cost + cost + price, angle, smooth, f, k, true, false};
        }
    }
}

/* Another stretch begins at a ray, after the cheapest chain so far: kept beside the way that goes on, for what is
 * dearer now may turn out the better. */
static void begin_anew(const struct finder_film *film, struct path_work *work, int frame, int r)
{
    struct node *node = &work->nodes[frame][FINDER_RAYS + r];
    const struct finder_ray *ray = &film->rays[frame][r];
    const double price = price_of(film, frame, ray) + idle_fan(film, ray, 0.0);

    *node = (struct node){price, ray->angle_deg, 0.0, -1, -1, false, true};
    if (frame > 0 && work->least[frame - 1].frame >= 0) {
        const struct least *from = &work->least[frame - 1];
        const double was = work->nodes[from->frame][from->ray].angle;
        node->cost += from->cost + JUMP_MOST;
        node->angle = was + turn(was, ray->angle_deg);
        node->frame = from->frame;
        node->ray = from->ray;
    }
}

static struct least cheaper(const struct path_work *work, struct least best, int frame, int at)
{
    const double cost = work->nodes[frame][at].cost;
    return cost < best.cost ? (struct least){cost, frame, at} : best;
}

static void choose(const struct finder_film *film, struct path_work *work)
{
    struct least best = {0.0, -1, -1};

    for (int f = 0; f < film->frames; f++) {
        for (int r = 0; r < rays_of(film, f); r++) {
            go_on(film, work, f, r);
            begin_anew(film, work, f, r);
            best = cheaper(work, best, f, r);
            best = cheaper(work, best, f, FINDER_RAYS + r);
        }
        work->least[f] = best;
        work->chosen[f] = -1;
        work->jumped[f] = false;
    }
    int frame = best.frame;
    int at = best.ray;
    while (frame >= 0) {
        const struct node *node = &work->nodes[frame][at];
        work->chosen[frame] = at % FINDER_RAYS;
        work->angle[frame] = node->angle;
        work->jumped[frame] = node->jumped;
        frame = node->frame;
        at = node->ray;
    }
}

/* ---- smoothing: Kalman's filter forward, Rauch, Tung & Striebel's back ---- */

static void predict(struct kalman *state, double dt)
{
    const double accel = change(state->rate);
    const double q = accel * accel * TURN_HOLDS;
    const double p01 = state->p01 + dt * state->p11;

    state->angle += state->rate * dt;
    state->p00 += dt * (state->p01 + p01) + q * dt * dt * dt / 3.0;
    state->p01 = p01 + q * dt * dt / 2.0;
    state->p11 += q * dt;
}

static void update(struct kalman *state, double seen, double sd)
{
    const double s = state->p00 + sd * sd;
    const double k0 = state->p00 / s;
    const double k1 = state->p01 / s;
    const double off = seen - state->angle;

    state->angle += k0 * off;
    state->rate += k1 * off;
    state->p11 -= k1 * state->p01;
    state->p01 -= k0 * state->p01;
    state->p00 -= k0 * state->p00;
}

static void go_back(struct kalman *here, const struct kalman *next_before, const struct kalman *next, double dt)
{
    const double c00 = here->p00 + dt * here->p01; /* covariance of here with the prediction of next */
    const double c10 = here->p01 + dt * here->p11;
    const double c01 = here->p01;
    const double c11 = here->p11;
    const double det = next_before->p00 * next_before->p11 - next_before->p01 * next_before->p01;
    if (!(det > 1e-12)) {
        return;
    }
    const double g00 = (c00 * next_before->p11 - c01 * next_before->p01) / det;
    const double g01 = (c01 * next_before->p00 - c00 * next_before->p01) / det;
    const double g10 = (c10 * next_before->p11 - c11 * next_before->p01) / det;
    const double g11 = (c11 * next_before->p00 - c10 * next_before->p01) / det;
    const double da = next->angle - next_before->angle;
    const double dr = next->rate - next_before->rate;
    const double d00 = next->p00 - next_before->p00;
    const double d01 = next->p01 - next_before->p01;
    const double d11 = next->p11 - next_before->p11;

    here->angle += g00 * da + g01 * dr;
    here->rate += g10 * da + g11 * dr;
    here->p00 += g00 * (g00 * d00 + g01 * d01) + g01 * (g00 * d01 + g01 * d11);
    here->p01 += g10 * (g00 * d00 + g01 * d01) + g11 * (g00 * d01 + g01 * d11);
    here->p11 += g10 * (g10 * d00 + g11 * d01) + g11 * (g10 * d01 + g11 * d11);
}

/* From first to last, both chosen. Leaves the smoothed states in after, the predictions in before. */
static void smooth(const struct finder_film *film, struct path_work *work, int first, int last)
{
    const double dt = 1.0 / film->rate_hz;
    struct kalman state = {work->angle[first], 0.0, 0.0, 0.0, 400.0 * 400.0};

    for (int f = first; f <= last; f++) {
        if (f == first) {
            const double sd = film->rays[f][work->chosen[f]].sd_deg;
            state.p00 = sd * sd;
        } else {
            predict(&state, dt);
        }
        work->before[f] = state;
        if (f > first && work->chosen[f] >= 0) {
            update(&state, work->angle[f], film->rays[f][work->chosen[f]].sd_deg);
        }
        work->after[f] = state;
    }
    for (int f = last - 1; f >= first; f--) {
        go_back(&work->after[f], &work->before[f + 1], &work->after[f + 1], dt);
    }
}

static int next_chosen(const struct path_work *work, int frame, int frames)
{
    while (frame < frames && work->chosen[frame] < 0) {
        frame++;
    }
    return frame;
}

/* How far a chosen ray lies off the curve of all, in errors of that difference; 0 where none is chosen. */
static double off_curve(const struct finder_film *film, const struct path_work *work, int frame)
{
    if (work->chosen[frame] < 0) {
        return 0.0;
    }
    const double sd = film->rays[frame][work->chosen[frame]].sd_deg;
    const double spread = sqrt(fmax(0.04 * sd * sd, sd * sd - work->after[frame].p00));
    return fabs(work->angle[frame] - work->after[frame].angle) / (spread + FAR_DEG);
}

/* Lets the farthest ray of each neighbourhood go where it lies far off: the others about it were only pulled by it.
 * True when any went. */
static bool let_go(const struct finder_film *film, struct path_work *work, int first, int last)
{
    const int near = (int)fmax(3.0, NEAR_S * film->rate_hz);
    bool any = false;

    for (int f = first; f <= last; f++) {
        const double off = off_curve(film, work, f);
        bool farthest = off > FAR_SD;
        for (int k = f - near; farthest && k <= f + near; k++) {
            farthest = k < first || k > last || k == f || off_curve(film, work, k) <= off;
        }
        if (farthest) {
            work->chosen[f] = -1;
            any = true;
            f += near;
        }
    }
    return any;
}

/* The last frame of the stretch that begins at `first`: no jump in it, and no gap longer than can be bridged. */
static int stretch_end(const struct finder_film *film, const struct path_work *work, int first)
{
    const int far = (int)fmax(2.0, ceil(BRIDGE_S * film->rate_hz));
    int last = first;

    for (int f = first + 1; f < film->frames && f - last <= far; f++) {
        if (work->jumped[f]) {
            break;
        }
        last = work->chosen[f] >= 0 ? f : last;
    }
    return last;
}

/* A stretch of few found frames is none; else smoothed, without what lies far off. */
static void settle(const struct finder_film *film, struct path_work *work, int first, int last)
{
    double sum = 0.0;
    int count = 0;

    for (int round = 0; round < ROUNDS; round++) {
        smooth(film, work, first, last);
        if (!let_go(film, work, first, last)) {
            break;
        }
    }
    for (int f = first; f <= last; f++) {
        sum += work->chosen[f] >= 0 ? film->rays[f][work->chosen[f]].score : 0.0;
        count += work->chosen[f] >= 0;
    }
    const bool none = count < 3 || sum < fmax(0.6, ISLAND_S * film->rate_hz * 0.4);
    for (int f = first; f <= last && none; f++) {
        work->chosen[f] = -1;
    }
}

/* ---- what is told ---- */

static void tell(const struct finder_film *film, const struct path_work *work, int frame, struct finder_shaft *out)
{
    const struct kalman *state = &work->after[frame];

    *out = (struct finder_shaft){.known = true, .angle_deg = state->angle, .rate_deg_s = state->rate};
    out->sd_deg = sqrt(fmax(state->p00, 1e-6));
    if (work->chosen[frame] >= 0) {
        const struct finder_ray *ray = &film->rays[frame][work->chosen[frame]];
        out->found = true;
        out->length_px = ray->to_px;
        out->head = ray->end_open;
        out->u = ray->u + ray->head_px * cos(ray->angle_deg * FINDER_PI / 180.0);
        out->v = ray->v + ray->head_px * sin(ray->angle_deg * FINDER_PI / 180.0);
        out->head_sd_px = hypot(ray->head_sd_px, 0.5 * out->sd_deg * FINDER_PI / 180.0 * ray->head_px);
    }
}

/* Each stretch by itself: first what lies off is let go, then what is left is smoothed and told. */
static void tell_stretches(const struct finder_film *film, struct path_work *work, struct finder_shaft *out)
{
    int first = next_chosen(work, 0, film->frames);

    while (first < film->frames) {
        const int last = stretch_end(film, work, first);
        settle(film, work, first, last);
        first = next_chosen(work, last + 1, film->frames);
    }
    first = next_chosen(work, 0, film->frames);
    while (first < film->frames) {
        const int last = stretch_end(film, work, first);
        smooth(film, work, first, last);
        for (int f = first; f <= last; f++) {
            tell(film, work, f, &out[f]);
        }
        first = next_chosen(work, last + 1, film->frames);
    }
}

/* A run's end is the clubhead's only where its neighbours in time end about there as well. */
static void check_heads(const struct finder_film *film, struct finder_shaft *shafts)
{
    for (int f = 0; f < film->frames; f++) {
        if (!shafts[f].found) {
            continue;
        }
        int near = 0;
        int agree = 0;
        for (int k = f - 3; k <= f + 3; k++) {
            if (k == f || k < 0 || k >= film->frames || !shafts[k].found) {
                continue;
            }
            near++;
            agree +=
                fabs(shafts[k].length_px - shafts[f].length_px) < HEAD_APART * film->club_px[f] * fabs(k - f + 0.0);
        }
        shafts[f].head = shafts[f].head && near >= 2 && 2 * agree >= near;
    }
}

int finder_path(const struct finder_film *film, void *memory, struct finder_shaft *out)
{
    int found = 0;

    if (!finder_film_is_good(film) || memory == NULL || out == NULL) {
        return -1;
    }
    struct path_work work = lay_out(memory, film->frames);
    memset(out, 0, (size_t)film->frames * sizeof *out);
    choose(film, &work);
    tell_stretches(film, &work, out);
    check_heads(film, out);
    for (int f = 0; f < film->frames; f++) {
        found += out[f].found;
    }
    return found;
}

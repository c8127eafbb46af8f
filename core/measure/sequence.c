/* Orders from motion data: turn and lift of the hands along their whole path, and the order of the segments' peaks. */
#include <math.h>
#include <string.h>

#include "core/measure/motion.h"
#include "core/order.h"

#define NO_IMPACT_SD 0.10 /* a downswing that ends at the lowest hands instead of impact (simulated) */
#define FADE 18.0         /* an end's error is gone a third of the way along the path */
#define LAG_OF_ERROR 2.0  /* a lag counts as an inversion only beyond so many of its own errors */

/* Errors of a path: fixed offset of hands from hub (3), and the moving part at its first and last place (3 each), faded
 * along the path, since the ends decide the progress of every place between. */
enum { PATH_FIXED = 0, PATH_FIRST = 3, PATH_LAST = 6, PATH_INPUTS = 9 };

struct path_work {
    const struct motion_path *path;
    enum order_phase phase;
    double first[MOTION_PATH_MAX], last[MOTION_PATH_MAX]; /* how much of an end's error is left at a place */
};

static void path_fade(struct path_work *work)
{
    for (int i = 0; i < work->path->count; i++) {
        double share = (double)i / (work->path->count - 1);
        work->first[i] = exp(-FADE * share * share);
        work->last[i] = exp(-FADE * (1.0 - share) * (1.0 - share));
    }
}

static bool path_index(const double *x, void *context, double *out)
{
    const struct path_work *work = context;
    struct vec3 hands[MOTION_PATH_MAX];
    int n = work->path->count;

    for (int i = 0; i < n; i++) {
        double first = work->first[i];
        double last = work->last[i];
        hands[i] = work->path->hands[i];
        hands[i].x += x[PATH_FIXED] + first * x[PATH_FIRST] + last * x[PATH_LAST];
        hands[i].y += first * x[PATH_FIRST + 1] + last * x[PATH_LAST + 1];
        hands[i].z += x[PATH_FIXED + 2] + first * x[PATH_FIRST + 2] + last * x[PATH_LAST + 2];
    }
    return order_of_hands(hands, n, vec_make(0.0, 0.0, 0.0), work->phase, out);
}

void measure_motion_orders(struct measure_work *work, const struct motion_summary *motion)
{
    static const struct {
        enum measure_item item;
        enum motion_phase path;
        enum order_phase phase;
        double own; /* fast hands, a corner cut by the filter, most beside impact (simulated) */
    } orders[] = {{MEASURE_ORDER_BACK, MOTION_BACK, ORDER_BACK, 0.005},
                  {MEASURE_ORDER_DOWN, MOTION_DOWN, ORDER_DOWN, 0.018},
                  {MEASURE_ORDER_THROUGH, MOTION_THROUGH, ORDER_THROUGH, 0.045}};
    const struct motion_path *back = &motion->paths[MOTION_BACK];
    /* A hub is the middle of two points, hands of two or one: their difference has sqrt(3/2) of a point's error. */
    const double share = sqrt(1.5);

    if (back->count > 0 && back->hands[0].z < ORDER_IN_FRONT_M) {
        return; /* the hands hang under the hub: their turn has no beginning */
    }
    for (size_t k = 0; k < sizeof orders / sizeof orders[0]; k++) {
        struct path_work path = {.path = &motion->paths[orders[k].path], .phase = orders[k].phase};
        struct sigma_input inputs[PATH_INPUTS];
        struct sigma_result result;
        for (int i = 0; i < PATH_INPUTS; i++) {
            bool fixed = i < PATH_FIRST;
            inputs[i] = (struct sigma_input){0.0, share * (fixed ? MOTION_FIXED_SD_M : MOTION_MOVING_SD_M), fixed};
        }
        path_fade(&path);
        if (path.path->count < 4 || !sigma_transform(inputs, PATH_INPUTS, path_index, &path, false, &result)) {
            continue;
        }
        bool guessed = orders[k].phase == ORDER_DOWN && !motion->events[CHECKPOINT_IMPACT].found;
        struct measure measure = {.value = result.value,
                                  .sd_random = result.sd_random,
                                  .sd_systematic = hypot(result.sd_systematic, guessed ? NO_IMPACT_SD : orders[k].own),
                                  .source = MEASURE_SOURCE_MOTION};
        (void)measure_offer(work, orders[k].item, &measure);
    }
}

void measure_body_order(struct measure_work *work, const struct motion_summary *motion)
{
    double count = 0.0;
    double variance = 0.0;
    int known = 0;

    for (int s = 0; s + 1 < MOTION_SEGMENT_COUNT; s++) {
        const struct motion_peak *a = &motion->peaks[s];
        const struct motion_peak *b = &motion->peaks[s + 1];
        if (!a->found || !b->found) {
            continue;
        }
        double lag = b->time_s - a->time_s; /* + as expected */
        double sd = motion_lag_sd(a, b);
        /* How likely another look would find the lag beyond its error too. */
        double p = 0.5 * erfc((lag + LAG_OF_ERROR * sd) / (sd * sqrt(2.0)));
        count += lag < -LAG_OF_ERROR * sd ? 1.0 : 0.0;
        variance += p * (1.0 - p);
        known++;
    }
    if (known < MOTION_SEGMENT_COUNT - 1) {
        return;
    }
    struct measure measure = {.value = count, .sd_random = sqrt(variance), .source = MEASURE_SOURCE_MOTION};
    (void)measure_offer(work, MEASURE_BODY_ORDER, &measure);
}

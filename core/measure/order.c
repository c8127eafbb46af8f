/* Turn and lift: from both views' pictures paired by checkpoint, and from one view alone. */
#include <math.h>
#include <string.h>

#include "core/measure/families.h"
#include "core/measure/pairs.h"
#include "core/order.h"

#define PHASE_MAX 4
#define ONE_VIEW_SD 0.05  /* perspective of the one-view index (simulated) */
#define STILL_HUB_SD 0.08 /* a hub that is taken to stay where it was at address (seen on real swings) */
#define NO_ARM_SD 0.06    /* the place of the level lead arm is missing (simulated: bias .02 to .06) */

struct phase {
    enum measure_item item, one_view; /* MEASURE_COUNT = none */
    enum order_phase phase;
    double own; /* few checkpoints instead of the whole path (simulated) */
    int count;
    enum checkpoint at[PHASE_MAX]; /* all are needed but for the level lead arm */
};

static const struct phase phases[] = {
    {MEASURE_ORDER_BACK,
     MEASURE_ORDER_BACK_DTL,
     ORDER_BACK,
     0.030,
     4,
     {CHECKPOINT_ADDRESS, CHECKPOINT_SHAFT_BACK, CHECKPOINT_ARM_BACK, CHECKPOINT_TOP}},
    {MEASURE_ORDER_DOWN,
     MEASURE_ORDER_DOWN_DTL,
     ORDER_DOWN,
     0.042,
     4,
     {CHECKPOINT_TOP, CHECKPOINT_ARM_DOWN, CHECKPOINT_SHAFT_DOWN, CHECKPOINT_IMPACT}},
    {MEASURE_ORDER_THROUGH,
     MEASURE_COUNT,
     ORDER_THROUGH,
     0.075,
     3,
     {CHECKPOINT_IMPACT, CHECKPOINT_SHAFT_THROUGH, CHECKPOINT_ARM_THROUGH}},
};

/* Places: hands at address, hub at address, then hands and hub of each checkpoint of the phase, or its hands alone when
 * the shoulders are not seen at all of them. The probe's kind holds which, and the phase. */
enum { HUB_STAYS, HUB_MOVES };

/* The azimuths last worked out: of a phase's hands most stay where they are from one call to the next. */
struct azimuths {
    bool known[PHASE_MAX];
    double x[PHASE_MAX], z[PHASE_MAX], deg[PHASE_MAX];
};

static bool azimuth(struct azimuths *kept, int i, double x, double z)
{
    if (kept->x[i] != x || kept->z[i] != z || !kept->known[i]) {
        kept->x[i] = x;
        kept->z[i] = z;
        kept->known[i] = order_azimuth(x, z, &kept->deg[i]);
    }
    return kept->known[i];
}

static bool order_formula(const struct pair_probe *probe, const struct vec3 *p, double *out)
{
    enum order_phase phase = (enum order_phase)(probe->kind / 2);
    bool moves = probe->kind % 2 == HUB_MOVES;
    struct azimuths *kept = probe->kept;
    double turn[PHASE_MAX];
    double height[PHASE_MAX];
    int n = 0;

    if (!order_in_front(p[0], p[1])) {
        return false;
    }
    if (phase == ORDER_BACK) {
        if (!azimuth(kept, n, p[0].x - p[1].x, p[0].z - p[1].z)) {
            return false;
        }
        height[n++] = p[0].y;
    }
    for (int i = 2; i < probe->count && n < PHASE_MAX; i += moves ? 2 : 1) {
        struct vec3 hub = moves ? p[i + 1] : p[1];
        if (!azimuth(kept, n, p[i].x - hub.x, p[i].z - hub.z)) {
            return false;
        }
        height[n++] = p[i].y;
    }
    memcpy(turn, kept->deg, sizeof turn); /* they are joined in place */
    return order_of_turn(turn, height, n, phase, out);
}

/* Without the place where the shaft is level the path's corner is cut: the index reads .26 to .29 low. */
static bool order_may_miss(enum checkpoint checkpoint)
{
    return checkpoint == CHECKPOINT_ARM_BACK || checkpoint == CHECKPOINT_ARM_DOWN;
}

/* Fills the probe with a phase's checkpoints. Returns how many, 0 when one that is needed is missing. */
static int order_places(struct pair_probe *probe, const struct phase *phase, bool moves)
{
    int count = 0;

    for (int i = 0; i < phase->count; i++) {
        bool added = phase->at[i] == CHECKPOINT_ADDRESS; /* those hands lead the list already */
        int before = probe->count;
        if (!added) {
            added = pair_add(probe, phase->at[i], POINT_GRIP, POINT_GRIP) &&
                    (!moves || pair_add(probe, phase->at[i], POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER));
            probe->count = added ? probe->count : before;
        }
        if (!added && !order_may_miss(phase->at[i])) {
            return 0;
        }
        count += added;
    }
    return count;
}

static void order_phase(struct measure_work *work, const struct measure_view *line, const struct measure_view *face,
                        const struct phase *phase)
{
    for (int hub = HUB_MOVES; hub >= HUB_STAYS; hub--) {
        struct pair_probe probe;
        struct azimuths kept = {.known = {false}};
        struct sigma_result result;
        if (!pair_start(&probe, line, face, order_formula) ||
            !pair_add(&probe, CHECKPOINT_ADDRESS, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER)) {
            return;
        }
        probe.kind = 2 * (int)phase->phase + hub;
        probe.kept = &kept;
        int places = order_places(&probe, phase, hub == HUB_MOVES);
        if (places < 3 || !pair_run(&probe, &result)) {
            continue;
        }
        double own = hub == HUB_MOVES ? phase->own : hypot(phase->own, STILL_HUB_SD);
        own = places == phase->count ? own : hypot(own, NO_ARM_SD);
        struct measure measure = {.marks = result.random / 2,
                                  .value = result.value,
                                  .sd_random = result.sd_random,
                                  .sd_systematic = hypot(result.sd_systematic, own),
                                  .source = MEASURE_SOURCE_PICTURES};
        if (measure_offer(work, phase->item, &measure)) {
            pair_shares(&probe, &result, &work->shares[phase->item]);
        }
        return;
    }
}

static bool one_view_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    double shift[PHASE_MAX];
    double height[PHASE_MAX];

    (void)x;
    if (probe->count < 3 || probe->count > PHASE_MAX) {
        return false;
    }
    for (int i = 0; i < probe->count; i++) {
        shift[i] = -rays[i].z;
        height[i] = rays[i].y;
    }
    if (!(fabs(shift[probe->count - 1] - shift[0]) * probe->depth >= ORDER_SHIFT_MIN_M)) {
        return false;
    }
    return order_index_one_view(shift, height, probe->count, out);
}

static void order_one_view(struct measure_work *work, const struct measure_view *line, const struct phase *phase)
{
    struct probe probe = probe_make(line, one_view_formula);
    struct sigma_result result;

    if (phase->one_view == MEASURE_COUNT || !probe_metres(&probe, 0.0)) {
        return;
    }
    probe.depth_sd = 0.0; /* only the least shift uses it */
    for (int i = 0; i < phase->count; i++) {
        bool added = probe_add(&probe, line->frames[phase->at[i]], POINT_GRIP);
        if (!added && !order_may_miss(phase->at[i])) {
            return;
        }
    }
    if (probe.count < 3 || !probe_run(&probe, &result)) {
        return;
    }
    struct measure measure = {.marks = result.random / 2,
                              .value = result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, ONE_VIEW_SD),
                              .source = MEASURE_SOURCE_PICTURE};
    (void)measure_offer(work, phase->one_view, &measure);
}

/* One phase in one view down the line, alone and with every view face on. */
static void order_line(struct measure_work *work, const struct measure_view *line, const struct phase *phase)
{
    order_one_view(work, line, phase);
    for (int i = 0; i < work->view_count && line->camera.has_depth; i++) {
        const struct measure_view *face = &work->views[i];
        if (face->camera.kind == VIEW_FACE_ON && face->camera.has_depth) {
            order_phase(work, line, face, phase);
        }
    }
}

void measure_orders(struct measure_work *work)
{
    for (int i = 0; i < work->view_count; i++) {
        for (size_t p = 0; p < sizeof phases / sizeof phases[0]; p++) {
            if (work->views[i].camera.kind == VIEW_DOWN_THE_LINE) {
                order_line(work, &work->views[i], &phases[p]);
            }
        }
    }
}

/* How steady a hand is, from marks that would lie in one place, or on one line, if it were quite: the ball and the toes
 * from one moment to the next before impact, and the butt, which lies in line with grip and clubhead. Mean squares
 * without the largest, so that a slip is not taken for a tremble. */
#include "core/hand.h"

#include <math.h>

#include "core/vec.h"

#define KEPT 0.85       /* of the misfits, the smallest */
#define OF_KEPT 0.5206  /* mean square of those of normal values */
#define ENOUGH 12       /* misfits that say anything */
#define AS_SAID 10.0    /* misfits that the default counts for */
#define MOST 16.0       /* times the default's variance */
#define LINE_LEAST 10.0 /* sds that a club is long in the picture at least */
#define MISFITS_MAX (SWING_VIEWS_MAX * CHECKPOINT_COUNT * 7)

struct misfits {
    int count;
    double squared[MISFITS_MAX];
};

static void add(struct misfits *misfits, double squared)
{
    int at = misfits->count;
    if (at >= MISFITS_MAX || !isfinite(squared)) {
        return;
    }
    for (; at > 0 && misfits->squared[at - 1] > squared; at--) {
        misfits->squared[at] = misfits->squared[at - 1];
    }
    misfits->squared[at] = squared;
    misfits->count++;
}

/* Of a mark set by hand in a picture; NULL for any other. */
static const struct swing_mark *by_hand(const struct swing_view *view, enum checkpoint at, enum point point)
{
    const struct frame *frame = swing_frame(view, at);
    const struct swing_mark *mark = frame != NULL ? &frame->points[point] : NULL;
    return mark != NULL && mark->seen && !mark->found && !(mark->sd > 0.0) ? mark : NULL;
}

static void add_still(const struct swing_view *view, enum point point, double sd, struct misfits *out)
{
    const struct swing_mark *last = NULL;
    for (int c = CHECKPOINT_ADDRESS; c <= CHECKPOINT_SHAFT_DOWN; c++) {
        const struct swing_mark *mark = by_hand(view, (enum checkpoint)c, point);
        if (mark != NULL && last != NULL) {
            add(out, 0.5 * (mark->u - last->u) * (mark->u - last->u) / (sd * sd));
            add(out, 0.5 * (mark->v - last->v) * (mark->v - last->v) / (sd * sd));
        }
        last = mark != NULL ? mark : last;
    }
}

static void add_straight(const struct swing_view *view, enum checkpoint at, double sd, struct misfits *out)
{
    const struct swing_mark *grip = by_hand(view, at, POINT_GRIP);
    const struct swing_mark *head = by_hand(view, at, POINT_CLUBHEAD);
    const struct swing_mark *butt = by_hand(view, at, POINT_BUTT);
    if (grip == NULL || head == NULL || butt == NULL) {
        return;
    }
    const double u = head->u - grip->u;
    const double v = head->v - grip->v;
    const double length = hypot(u, v);
    if (!(length > LINE_LEAST * sd)) {
        return;
    }
    const double aside = (u * (butt->v - grip->v) - v * (butt->u - grip->u)) / length;
    const double along = (u * (butt->u - grip->u) + v * (butt->v - grip->v)) / (length * length);
    add(out, aside * aside / (sd * sd * (1.0 + (1.0 - along) * (1.0 - along) + along * along)));
}

/* How many times the default's variance these marks show; never under 1. */
static double unsteady(const struct misfits *misfits)
{
    const int kept = (int)(KEPT * misfits->count + 0.5);
    double sum = 0.0;
    if (misfits->count < ENOUGH) {
        return 1.0;
    }
    for (int i = 0; i < kept; i++) {
        sum += misfits->squared[i];
    }
    const double own = sum / (kept * OF_KEPT);
    return fmin(fmax((AS_SAID + misfits->count * own) / (AS_SAID + misfits->count), 1.0), MOST);
}

/* The body's height in the picture, px; 0 when head and ankles are not marked at address. */
static double body_height(const struct swing_view *view)
{
    const struct frame *frame = swing_frame(view, CHECKPOINT_ADDRESS);
    double feet = 0.0;
    int count = 0;
    for (int p = POINT_LEAD_ANKLE; frame != NULL && p <= POINT_TRAIL_ANKLE; p++) {
        feet += frame->points[p].seen ? frame->points[p].v : 0.0;
        count += frame->points[p].seen;
    }
    if (count == 0 || !frame->points[POINT_HEAD].seen) {
        return 0.0;
    }
    double height = (feet / count - frame->points[POINT_HEAD].v) / SWING_STANDING_SHARE;
    return height > 0.0 ? height : 0.0;
}

static void set_errors(struct swing_view *view, double sd)
{
    for (int i = 0; i < view->frame_count * POINT_COUNT; i++) {
        struct swing_mark *mark = &view->frames[i / POINT_COUNT].points[i % POINT_COUNT];
        if (mark->seen && !(mark->sd > 0.0)) {
            mark->sd = sd;
        }
    }
}

void hand_errors(struct swing *swing)
{
    double sd[SWING_VIEWS_MAX];
    struct misfits misfits;
    misfits.count = 0;
    for (int v = 0; v < swing->view_count; v++) {
        const struct swing_view *view = &swing->views[v];
        sd[v] = fmax(swing_line_error(view), SWING_MARK_SD_BODY * body_height(view));
        add_still(view, POINT_BALL, sd[v], &misfits);
        add_still(view, POINT_LEAD_TOE, sd[v], &misfits);
        add_still(view, POINT_TRAIL_TOE, sd[v], &misfits);
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            add_straight(view, (enum checkpoint)c, sd[v], &misfits);
        }
    }
    const double times = sqrt(unsteady(&misfits));
    for (int v = 0; v < swing->view_count; v++) {
        set_errors(&swing->views[v], times * sd[v]);
    }
}

/* Finds a swing's suspect marks: views and hand first, then exchanges, moments and times, then the marks one by one,
 * the largest w first, each time without those taken out before. */
#include "core/finder/check.h"

#include <math.h>

#include "core/finder/check_adjust.h"
#include "core/finder/check_exchanges.h"
#include "core/finder/check_hypotheses.h"

#define FILM_ERRS 0.5 /* sd: so much worse must the film fit than the mark to be laid aside */
#define CRITICAL 3.29 /* Baarda's: one mark in a thousand */
#define ALIKE 0.9     /* marks of a moment whose w is this near to the largest can't be told from it */
#define OFF_MAX 12    /* marks of one swing; what is left after so many is not one slip */
#define FILM_MAX 48   /* places in the film that may be wrong; a program errs in heaps */

NAMES(mark_kind, enum mark_kind, MARK_KIND_NAMES);

struct worst {
    enum checkpoint at;
    enum point point;
    enum scene_side side;
    double w;
    bool film; /* what does not fit is rather the film's place than the mark */
};

static double largest(const struct adjust_test *test)
{
    return fmax(fabs(test->w[0]), fabs(test->w[1]));
}

static double largest_film(const struct adjust_test *test)
{
    return fmax(fabs(test->film_w[0]), fabs(test->film_w[1]));
}

/* Whether what is known besides speaks for the mark and against the film. Where it speaks for neither, it is the mark
 * that a person is asked about. */
static bool film_errs(const struct adjust_test *test)
{
    return hypot(test->film_w[0], test->film_w[1]) > hypot(test->w[0], test->w[1]) + FILM_ERRS;
}

/* The largest w of a moment's marks; what receives whose. */
static double moment_worst(const struct adjust_moment *moment, enum point *point, enum scene_side *side)
{
    double w = 0.0;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        double here = largest(&moment->tests[i / SCENE_SIDES][i % SCENE_SIDES]);
        if (here > w) {
            w = here;
            *point = (enum point)(i / SCENE_SIDES);
            *side = (enum scene_side)(i % SCENE_SIDES);
        }
    }
    return w;
}

static struct worst find_worst(const struct adjust_moment *moments)
{
    struct worst worst = {.w = 0.0};
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct worst here = {.at = (enum checkpoint)c};
        here.w = moment_worst(&moments[c], &here.point, &here.side);
        worst = here.w > worst.w ? here : worst;
        for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
            const struct adjust_test *test = &moments[c].tests[i / SCENE_SIDES][i % SCENE_SIDES];
            double w = largest_film(test);
            if (w > worst.w && film_errs(test)) {
                worst = (struct worst){(enum checkpoint)c, (enum point)(i / SCENE_SIDES),
                                       (enum scene_side)(i % SCENE_SIDES), w, true};
            }
        }
    }
    return worst;
}

/* The worst mark, and those of its moment that its being off could as well be laid to. */
static void report_off(const struct scene *scene, const struct worst *worst, const struct adjust_moment *moment,
                       struct mark_findings *out)
{
    for (int p = 0; p < POINT_COUNT; p++) {
        for (int s = 0; s < SCENE_SIDES; s++) {
            const struct adjust_test *test = &moment->tests[p][s];
            const struct spot *spot = &scene->spots[worst->at][p][s];
            bool is = p == (int)worst->point && s == (int)worst->side;
            bool near = p == (int)worst->point && largest(test) > CRITICAL && largest(test) >= ALIKE * worst->w;
            if (spot->seen && !spot->settled && (is || near)) {
                scene_report(scene, (enum scene_side)s, worst->at, (enum point)p, MARK_OFF,
                             hypot(test->off[0], test->off[1]) * spot->px_per_m, out);
            }
        }
    }
}

/* Whether the worst mark is ordinary once it is exchanged with the one that a finger takes it for; then it stays so. */
static bool exchange_explains(struct scene *scene, const struct worst *worst, struct mark_findings *out)
{
    static const enum point ends[][2] = {
        {POINT_GRIP, POINT_CLUBHEAD}, {POINT_GRIP, POINT_BUTT}, {POINT_BUTT, POINT_CLUBHEAD}};
    enum point pairs[4][2] = {{worst->point, scene_other(worst->point)}};
    for (int i = 0; i < 3; i++) {
        bool has = worst->point == ends[i][0] || worst->point == ends[i][1];
        pairs[i + 1][0] = has ? ends[i][0] : POINT_GRIP;
        pairs[i + 1][1] = has ? ends[i][1] : POINT_GRIP;
    }
    for (int i = 0; i < 4; i++) {
        struct adjust_moment after;
        enum point point;
        enum scene_side side;
        if (!exchanges_try(scene, worst->side, worst->at, pairs[i][0], pairs[i][1])) {
            continue;
        }
        adjust_moment(scene, worst->at, &after);
        if (moment_worst(&after, &point, &side) < CRITICAL) {
            const struct spot *a = &scene->spots[worst->at][pairs[i][0]][worst->side];
            const struct spot *b = &scene->spots[worst->at][pairs[i][1]][worst->side];
            enum point named = i == 0 ? (enum point)fmin(pairs[0][0], pairs[0][1]) : i == 1 ? POINT_GRIP : POINT_BUTT;
            scene_report(scene, worst->side, worst->at, named, i == 0 ? MARK_SIDES_EXCHANGED : MARK_ENDS_EXCHANGED,
                         hypot(a->at[0] - b->at[0], a->at[1] - b->at[1]) * a->px_per_m, out);
            return true;
        }
        (void)exchanges_try(scene, worst->side, worst->at, pairs[i][0], pairs[i][1]);
    }
    return false;
}

static void adjust_near(const struct scene *scene, enum checkpoint at, struct adjust_moment *moments)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (c >= (int)at - 1 && c <= (int)at + 1) {
            adjust_moment(scene, (enum checkpoint)c, &moments[c]);
        }
    }
}

static void marks_off(struct scene *scene, struct mark_findings *out)
{
    struct adjust_moment moments[CHECKPOINT_COUNT];
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        adjust_moment(scene, (enum checkpoint)c, &moments[c]);
    }
    int films = 0;
    for (int i = 0; i < OFF_MAX + films; i++) {
        struct worst worst = find_worst(moments);
        if (!(worst.w > CRITICAL)) {
            return;
        }
        if (worst.film || film_errs(&moments[worst.at].tests[worst.point][worst.side])) {
            scene->film[worst.at][worst.point][worst.side].seen = false;
            films += films < FILM_MAX;
            adjust_moment(scene, worst.at, &moments[worst.at]); /* no other moment rests on it */
            continue;
        }
        if (!exchange_explains(scene, &worst, out)) {
            report_off(scene, &worst, &moments[worst.at], out);
            scene->spots[worst.at][worst.point][worst.side].seen = false;
        }
        adjust_near(scene, worst.at, moments);
    }
}

static void check_pair(const struct swing *swing, int line, int face, struct mark_findings *out)
{
    struct scene scene;
    if (!scene_set(&scene, swing, line, face)) {
        return;
    }
    hypotheses_views(&scene, out);
    if (scene.view[SIDE_LINE] < 0 && scene.view[SIDE_FACE] < 0) {
        return;
    }
    hypotheses_pictures(&scene, out);
    marks_off(&scene, out);
}

void check_marks(const struct swing *swing, struct mark_findings *out)
{
    int first[VIEW_KIND_COUNT] = {-1, -1};
    int count = swing->view_count < SWING_VIEWS_MAX ? swing->view_count : SWING_VIEWS_MAX;
    for (int v = count - 1; v >= 0; v--) {
        if ((unsigned)swing->views[v].kind < VIEW_KIND_COUNT) {
            first[swing->views[v].kind] = v;
        }
    }
    if (first[VIEW_DOWN_THE_LINE] >= 0 || first[VIEW_FACE_ON] >= 0) {
        check_pair(swing, first[VIEW_DOWN_THE_LINE], first[VIEW_FACE_ON], out);
    }
    for (int v = 0; v < count; v++) {
        if (v != first[VIEW_DOWN_THE_LINE] && v != first[VIEW_FACE_ON]) {
            bool line = swing->views[v].kind == VIEW_DOWN_THE_LINE;
            check_pair(swing, line ? v : -1, line ? -1 : v, out);
        }
    }
}

static int drop(struct swing_mark *mark)
{
    int seen = mark->seen;
    mark->seen = false;
    return seen;
}

static int drop_picture(struct frame *frame)
{
    int dropped = frame->time_s.given;
    frame->time_s.given = false;
    for (int p = 0; p < POINT_COUNT; p++) {
        dropped += drop(&frame->points[p]);
    }
    return dropped;
}

static int drop_in_frame(struct frame *frame, const struct mark_finding *finding)
{
    bool picture = finding->point >= POINT_COUNT;
    int dropped = 0;
    switch (finding->kind) {
    case MARK_OFF:
        return drop(&frame->points[finding->point]);
    case MARK_ENDS_EXCHANGED:
        return drop(&frame->points[POINT_GRIP]) + drop(&frame->points[POINT_CLUBHEAD]) +
               drop(&frame->points[POINT_BUTT]);
    case MARK_SIDES_EXCHANGED:
        for (int p = POINT_LEAD_SHOULDER; p <= POINT_TRAIL_TOE; p++) {
            bool of_joint = p == (int)finding->point || p == (int)finding->point + 1;
            dropped += picture || of_joint ? drop(&frame->points[p]) : 0;
        }
        return dropped;
    case MARK_ORDER_OF_TIME:
        dropped = frame->time_s.given;
        frame->time_s.given = false;
        return dropped;
    default:
        return drop_picture(frame);
    }
}

int check_drop_suspects(struct swing *swing, const struct mark_findings *findings, unsigned kinds)
{
    int dropped = 0;
    for (int i = 0; i < findings->count; i++) {
        const struct mark_finding *finding = &findings->items[i];
        if ((kinds >> finding->kind & 1U) == 0 || finding->view < 0 || finding->view >= swing->view_count) {
            continue;
        }
        struct swing_view *view = &swing->views[finding->view];
        for (int f = 0; f < view->frame_count; f++) {
            bool meant = finding->checkpoint == CHECKPOINT_NONE || finding->checkpoint == view->frames[f].checkpoint;
            dropped += meant ? drop_in_frame(&view->frames[f], finding) : 0;
        }
    }
    return dropped;
}

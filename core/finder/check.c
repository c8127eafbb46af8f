/* Finds a swing's suspect marks: views and hand first, then exchanges, moments and times, then the marks one by one,
 * the largest w first, each time without those taken out before. */
#include "core/finder/check.h"

#include <math.h>

#include "core/finder/check_adjust.h"
#include "core/finder/check_exchanges.h"
#include "core/finder/check_hypotheses.h"
#include "core/finder/check_scale.h"
#define FALSELY 0.001 /* of sound swings in which chance alone makes a mark suspect, by normal errors */
#define ALIKE 0.9     /* marks of a moment whose w is this near to the largest can't be told from it */
#define OFF_MAX 12    /* marks of one swing; what is left after so many is not one slip */
#define FILM_MAX 48   /* places in the film that may be wrong; a program errs in heaps */

/* How often a mark slips, and then by so many of its sds (assumed, as for measures: Box & Tiao 1968); how often the
 * film shows something else altogether, and then at any distance of a decade, m, or of the club's length (drawn
 * players). */
#define SLIPS 0.01
#define SLIPS_TIMES 11.0
#define JOINT_ERRS 0.01
#define JOINT_LEAST_M 0.08
#define CLUB_ERRS 0.06
#define CLUB_LEAST 0.10
#define ASKED_FROM 0.24 /* odds of the mark against the film from which a person is asked: a word settles it */

NAMES(mark_kind, enum mark_kind, MARK_KIND_NAMES);

struct worst {
    enum checkpoint at;
    enum point point;
    enum scene_side side;
    double w;
};

/* All that is judged of one swing: each moment's tests, how wide its residuals are, from which w a mark is suspect. */
struct judge {
    const struct scene *scene;
    struct adjust_moment moments[CHECKPOINT_COUNT];
    struct scale scale[POINT_COUNT][SCENE_SIDES];
    double critical;
};

static double w_of(const struct judge *judge, const struct adjust_moment *moment, const struct worst *at, bool film)
{
    const struct adjust_test *test = &moment->tests[at->point][at->side];
    const struct spot *spot = &judge->scene->spots[at->at][at->point][at->side];
    if (!spot->seen || (film && !(test->apart[0] > 0.0))) {
        return 0.0;
    }
    const struct scale scale = scale_of_mark(&judge->scale[at->point][at->side], test, spot->px / spot->px_per_m);
    return scale_w(judge->scene, &scale, test, at->point, at->side, film);
}

/* Whether it is rather the film that is off than the mark: how often each is, how far it then is, and which of the two
 * what is known besides speaks for. */
static bool film_errs(const struct judge *judge, const struct worst *at)
{
    const struct scene *scene = judge->scene;
    const struct spot *spot = &scene->spots[at->at][at->point][at->side];
    const bool club = at->point == POINT_CLUBHEAD;
    struct scene_gap gap[2];
    if (!scene_gap(scene, at->at, at->point, at->side, 0, &gap[0]) ||
        !scene_gap(scene, at->at, at->point, at->side, 1, &gap[1])) {
        return false;
    }
    const double least = club ? CLUB_LEAST * scene->length[LENGTH_CLUB] : JOINT_LEAST_M;
    const double square = fmax(gap[0].gap * gap[0].gap + gap[1].gap * gap[1].gap, fmax(least * least, 1e-6));
    const double slip = SLIPS_TIMES * spot->px / spot->px_per_m;
    const double mark = log(SLIPS / (slip * slip)) - 0.5 * square / (slip * slip);
    const double film = log((club ? CLUB_ERRS : JOINT_ERRS) / (square * log(10.0)));
    const struct adjust_moment *moment = &judge->moments[at->at];
    const double w = w_of(judge, moment, at, false);
    const double film_w = w_of(judge, moment, at, true);
    return mark - film + 0.5 * (w * w - film_w * film_w) < log(ASKED_FROM);
}

/* The largest w of a moment, marks' and film's; what receives whose. */
static double moment_worst(const struct judge *judge, const struct adjust_moment *moment, struct worst *what)
{
    what->w = 0.0;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        struct worst here = {what->at, (enum point)(i / SCENE_SIDES), (enum scene_side)(i % SCENE_SIDES), 0.0};
        here.w = fmax(w_of(judge, moment, &here, false), w_of(judge, moment, &here, true));
        if (here.w > what->w) {
            *what = here;
        }
    }
    return what->w;
}

static struct worst find_worst(const struct judge *judge)
{
    struct worst worst = {.w = 0.0};
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct worst here = {.at = (enum checkpoint)c};
        worst = moment_worst(judge, &judge->moments[c], &here) > worst.w ? here : worst;
    }
    return worst;
}

/* Of the same point in the other view, and of butt and grip, which the club's line holds together, one's being off
 * can't be told from the other's when both speak alike. */
static bool told_apart(const struct worst *worst, enum point point, enum scene_side side)
{
    const bool ends =
        (worst->point == POINT_BUTT && point == POINT_GRIP) || (worst->point == POINT_GRIP && point == POINT_BUTT);
    return point != worst->point && !(ends && side == worst->side);
}

/* The worst mark, and those of its moment that its being off could as well be laid to. */
static void report_off(const struct judge *judge, const struct worst *worst, struct mark_findings *out)
{
    const struct adjust_moment *moment = &judge->moments[worst->at];
    for (int p = 0; p < POINT_COUNT; p++) {
        for (int s = 0; s < SCENE_SIDES; s++) {
            const struct worst here = {worst->at, (enum point)p, (enum scene_side)s, 0.0};
            const struct spot *spot = &judge->scene->spots[worst->at][p][s];
            bool is = p == (int)worst->point && s == (int)worst->side;
            double w = told_apart(worst, here.point, here.side) ? 0.0 : w_of(judge, moment, &here, false);
            if (spot->seen && !spot->settled && (is || (w > judge->critical && w >= ALIKE * worst->w))) {
                double off[2];
                (void)adjust_w(&moment->tests[p][s], judge->scale[p][s].times, false, off);
                scene_report(judge->scene, here.side, worst->at, here.point, MARK_OFF,
                             scene_hypot(off[0], off[1]) * spot->px_per_m, out);
            }
        }
    }
}

/* Whether the worst mark is ordinary once it is exchanged with the one that a finger takes it for; then it stays so. */
static bool exchange_explains(struct scene *scene, const struct judge *judge, const struct worst *worst,
                              struct mark_findings *out)
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
        struct worst unused = {.at = worst->at};
        if (!exchanges_try(scene, worst->side, worst->at, pairs[i][0], pairs[i][1])) {
            continue;
        }
        adjust_moment(scene, worst->at, &after);
        if (moment_worst(judge, &after, &unused) < judge->critical) {
            const struct spot *a = &scene->spots[worst->at][pairs[i][0]][worst->side];
            const struct spot *b = &scene->spots[worst->at][pairs[i][1]][worst->side];
            enum point named = i == 0 ? (enum point)fmin(pairs[0][0], pairs[0][1]) : i == 1 ? POINT_GRIP : POINT_BUTT;
            scene_report(scene, worst->side, worst->at, named, i == 0 ? MARK_SIDES_EXCHANGED : MARK_ENDS_EXCHANGED,
                         scene_hypot(a->at[0] - b->at[0], a->at[1] - b->at[1]) * a->px_per_m, out);
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

/* All marks that something checks share the chance of a false word (Bonferroni). */
static double critical_of(const struct judge *judge)
{
    int count = 0;
    for (int i = 0; i < CHECKPOINT_COUNT * POINT_COUNT * SCENE_SIDES; i++) {
        const struct adjust_test *test =
            &judge->moments[i / (POINT_COUNT * SCENE_SIDES)].tests[i / SCENE_SIDES % POINT_COUNT][i % SCENE_SIDES];
        count += test->known[0] > 0.0 || test->known[1] > 0.0 || test->apart[0] > 0.0;
    }
    return sqrt(-2.0 * log(FALSELY / fmax(count, 1)));
}

static void marks_off(struct scene *scene, struct mark_findings *out)
{
    struct judge judge = {.scene = scene};
    scale_gaps(scene);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        adjust_moment(scene, (enum checkpoint)c, &judge.moments[c]);
    }
    scale_residuals(judge.moments, judge.scale);
    judge.critical = critical_of(&judge);
    int films = 0;
    for (int i = 0; i < OFF_MAX + films; i++) {
        struct worst worst = find_worst(&judge);
        if (!(worst.w > judge.critical)) {
            return;
        }
        if (film_errs(&judge, &worst)) {
            scene->film[worst.at][worst.point][worst.side].seen = false;
            films += films < FILM_MAX;
            adjust_moment(scene, worst.at, &judge.moments[worst.at]); /* no other moment rests on it */
            continue;
        }
        if (!exchange_explains(scene, &judge, &worst, out)) {
            report_off(&judge, &worst, out);
            scene->spots[worst.at][worst.point][worst.side].seen = false;
        }
        adjust_near(scene, worst.at, judge.moments);
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

/* Segment speeds over time, and the hands' turn against their lift. */
#include "wire/report/draw_motion.h"

#include <math.h>

#include "wire/report/draw_svg.h"
#include "wire/report/words_motion.h"

#define SMALL 13.0
#define LARGE 20.0

/* A drawing's plot: data ranges and where they lie on the paper. */
struct plot {
    double left, right, top, bottom;
    double x_low, x_high, y_low, y_high;
};

static double plot_x(const struct plot *plot, double x)
{
    return plot->left + (plot->right - plot->left) * (x - plot->x_low) / (plot->x_high - plot->x_low);
}

static double plot_y(const struct plot *plot, double y)
{
    return plot->bottom - (plot->bottom - plot->top) * (y - plot->y_low) / (plot->y_high - plot->y_low);
}

/* A round step that cuts a range into at most `most` parts. */
static double round_step(double range, int most)
{
    double step = pow(10, floor(log10(range / most)));
    while (range / step > most) {
        double tens = pow(10, floor(log10(step) + 1e-9));
        step = step < 1.5 * tens ? 2 * tens : step < 3 * tens ? 5 * tens : 10 * tens;
    }
    return step;
}

/* ---- speeds ---- */

#define SPEEDS_WIDTH 1000.0
#define SPEEDS_HEIGHT 600.0
#define BEYOND_S 0.6 /* a checkpoint this long after the curves is still shown */

static const enum svg_line segment_lines[MOTION_SEGMENT_COUNT] = {SVG_PURPLE, SVG_SKY, SVG_ORANGE, SVG_INK};

static double zero_time(const struct motion_summary *motion)
{
    return motion->events[CHECKPOINT_IMPACT].found ? motion->events[CHECKPOINT_IMPACT].time_s
           : motion->hands_low.found               ? motion->hands_low.time_s
                                                   : 0;
}

static const char *zero_words(const struct speaker *say, const struct motion_summary *motion)
{
    const char *from = motion->events[CHECKPOINT_IMPACT].found ? "motion.impact"
                       : motion->hands_low.found               ? "motion.hands_low"
                                                               : "motion.start";
    return words_say(say, "draw.time", "what", words_say(say, from, NULL), NULL);
}

static bool any_curve(const struct motion_summary *motion)
{
    bool any = false;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        any = any || motion->curve_known[s] || motion->peaks[s].found;
    }
    return any && motion->curve_count >= 2;
}

static struct plot speeds_plot(const struct motion_summary *motion)
{
    struct plot plot = {.left = 84, .right = 780, .top = 190, .bottom = 530};
    double zero = zero_time(motion);
    plot.x_low = motion->curve_start_s - zero;
    plot.x_high = plot.x_low + motion->curve_step_s * (motion->curve_count - 1);
    double curve_end = plot.x_high;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        double time = motion->events[c].time_s - zero;
        if (motion->events[c].found && time < curve_end + BEYOND_S) {
            plot.x_high = fmax(plot.x_high, time);
        }
    }
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        plot.y_high = motion->peaks[s].found ? fmax(plot.y_high, motion->peaks[s].speed_deg_s) : plot.y_high;
        for (int i = 0; motion->curve_known[s] && i < motion->curve_count; i++) {
            plot.y_low = fmin(plot.y_low, motion->curves[s][i]);
            plot.y_high = fmax(plot.y_high, motion->curves[s][i]);
        }
    }
    plot.y_high = fmax(plot.y_high, 100);
    double step = round_step(plot.y_high - plot.y_low, 7);
    plot.y_low = step * floor(plot.y_low / step);
    plot.y_high = step * ceil(plot.y_high / step);
    return plot;
}

static void speeds_axes(struct svg *svg, const struct speaker *say, const struct motion_summary *motion,
                        const struct plot *plot)
{
    double step = round_step(plot->y_high - plot->y_low, 7);
    for (int k = (int)round(plot->y_low / step); k <= (int)round(plot->y_high / step); k++) {
        double y = k * step;
        svg_segment(svg, SVG_GRID, plot->left, plot_y(plot, y), plot->right, plot_y(plot, y));
        svg_words(svg, plot->left - 8, plot_y(plot, y) + 4, SMALL, SVG_END, 0, words_number(say, y, 0));
    }
    step = round_step(plot->x_high - plot->x_low, 12);
    for (int k = (int)ceil(plot->x_low / step); k * step <= plot->x_high; k++) {
        double x = plot_x(plot, k * step);
        svg_segment(svg, SVG_GRID, x, plot->bottom, x, plot->bottom + 6);
        svg_words(svg, x, plot->bottom + 22, SMALL, SVG_MIDDLE, 0, words_number(say, k * step, step < 0.1 ? 2 : 1));
    }
    svg_segment(svg, SVG_LEADER, plot->left, plot_y(plot, 0), plot->right, plot_y(plot, 0));
    svg_words(svg, (plot->left + plot->right) / 2, plot->bottom + 48, SMALL, SVG_MIDDLE, 0, zero_words(say, motion));
    svg_words(svg, 26, (plot->top + plot->bottom) / 2, SMALL, SVG_MIDDLE, -90, words_say(say, "draw.speed", NULL));
}

struct upright {
    double time;
    const char *name;
};

/* Checkpoints within the plot, and the hands' low point when it stands for impact, in the order of their times. */
static int speeds_marks(const struct speaker *say, const struct motion_summary *motion, const struct plot *plot,
                        struct upright marks[CHECKPOINT_COUNT + 1])
{
    int count = 0;
    for (int c = 0; c <= CHECKPOINT_COUNT; c++) {
        const struct motion_time *event = c < CHECKPOINT_COUNT ? &motion->events[c] : &motion->hands_low;
        double time = event->time_s - zero_time(motion);
        bool spare = c == CHECKPOINT_COUNT && motion->events[CHECKPOINT_IMPACT].found;
        if (!event->found || spare || time < plot->x_low || time > plot->x_high) {
            continue;
        }
        int at = count++;
        while (at > 0 && marks[at - 1].time > time) {
            marks[at] = marks[at - 1];
            at--;
        }
        marks[at] = (struct upright){
            time, words_say_code(say, "draw.mark.",
                                 c < CHECKPOINT_COUNT ? checkpoint_name((enum checkpoint)c) : "hands_low")};
    }
    return count;
}

/* Upright lines, their names above, moved apart where the lines are close. */
static void speeds_checkpoints(struct svg *svg, const struct speaker *say, const struct motion_summary *motion,
                               const struct plot *plot)
{
    struct upright marks[CHECKPOINT_COUNT + 1];
    int count = speeds_marks(say, motion, plot, marks);
    double next = 0;
    for (int i = 0; i < count; i++) {
        double x = plot_x(plot, marks[i].time);
        double word = fmax(x, next);
        next = word + 19;
        svg_segment(svg, SVG_MARK, x, plot->bottom, x, plot->top);
        svg_segment(svg, SVG_LEADER, x, plot->top, word, plot->top - 16);
        svg_words(svg, word + 4, plot->top - 20, SMALL, SVG_START, -50, marks[i].name);
    }
}

static void speeds_curve(struct svg *svg, const struct motion_summary *motion, const struct plot *plot, int s)
{
    svg_curve_begin(svg, segment_lines[s]);
    for (int i = 0; i < motion->curve_count; i++) {
        svg_curve_to(svg, i == 0, plot_x(plot, plot->x_low + i * motion->curve_step_s),
                     plot_y(plot, motion->curves[s][i]));
    }
    svg_curve_end(svg);
}

/* A word beside the plot for every curve, tied to its peak, or to the curve's end where no peak was found. */
struct tag {
    int segment;
    double x, y, word_y;
};

static int speeds_tags(const struct motion_summary *motion, const struct plot *plot,
                       struct tag tags[MOTION_SEGMENT_COUNT])
{
    int count = 0;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        const struct motion_peak *peak = &motion->peaks[s];
        if (!motion->curve_known[s] && !peak->found) {
            continue;
        }
        double end = plot->x_low + motion->curve_step_s * (motion->curve_count - 1);
        double time = peak->found ? peak->time_s - zero_time(motion) : end;
        double speed = peak->found ? peak->speed_deg_s : motion->curves[s][motion->curve_count - 1];
        struct tag tag = {s, plot_x(plot, time), plot_y(plot, speed), 0};
        int at = count++;
        while (at > 0 && tags[at - 1].y > tag.y) {
            tags[at] = tags[at - 1];
            at--;
        }
        tags[at] = tag;
    }
    double room = plot->bottom - 44.0 * (count - 1);
    for (int i = 0; i < count; i++) {
        double least = i == 0 ? plot->top : tags[i - 1].word_y + 44;
        tags[i].word_y = fmin(fmax(tags[i].y, least), room + 44.0 * i);
    }
    return count;
}

static void speeds_name(struct svg *svg, const struct speaker *say, const struct motion_summary *motion,
                        const struct plot *plot, const struct tag *tag)
{
    const struct motion_peak *peak = &motion->peaks[tag->segment];
    enum svg_line line = segment_lines[tag->segment];
    double x = plot->right + 14;
    svg_segment(svg, SVG_LEADER, tag->x, tag->y, x - 2, tag->word_y);
    svg_segment(svg, line, x, tag->word_y, x + 40, tag->word_y);
    svg_words(svg, x + 48, tag->word_y + 4, SMALL + 2, SVG_START, 0,
              words_segment(say, (enum motion_segment)tag->segment));
    if (!peak->found) {
        svg_words(svg, x + 48, tag->word_y + 20, SMALL - 1, SVG_START, 0,
                  words_say(say, peak->late ? "draw.late" : "draw.flat", NULL));
        return;
    }
    double ms = 1000 * (peak->time_s - zero_time(motion));
    svg_dot(svg, line, tag->x, tag->y);
    const char *key = fabs(ms) < 0.5 ? "draw.peak.same" : ms > 0 ? "draw.peak.after" : "draw.peak.before";
    svg_words(svg, x + 48, tag->word_y + 20, SMALL - 1, SVG_START, 0,
              words_say(say, key, "speed", words_number(say, peak->speed_deg_s, 0), "lag",
                        words_number(say, fabs(ms), 0), NULL));
}

static void speeds_body(struct svg *svg, const struct speaker *say, const struct motion_summary *motion)
{
    struct plot plot = speeds_plot(motion);
    struct tag tags[MOTION_SEGMENT_COUNT];
    speeds_axes(svg, say, motion, &plot);
    speeds_checkpoints(svg, say, motion, &plot);
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        if (motion->curve_known[s]) {
            speeds_curve(svg, motion, &plot, s);
        }
    }
    int count = speeds_tags(motion, &plot, tags);
    for (int i = 0; i < count; i++) {
        speeds_name(svg, say, motion, &plot, &tags[i]);
    }
}

char *draw_speeds(const struct motion_summary *motion, const char *name, const struct speaker *say, size_t *length)
{
    struct svg svg;
    const char *title = words_say(say, "draw.speeds", "name", name, NULL);
    const char *story = words_say(say, "draw.speeds.story", "order", words_sequence(say, motion), NULL);
    svg_start(&svg, say->arena, SPEEDS_WIDTH, SPEEDS_HEIGHT, title, story);
    svg_words(&svg, 26, 36, LARGE, SVG_START, 0, title);
    if (any_curve(motion)) {
        svg_words(&svg, 26, 58, SMALL, SVG_START, 0, words_say(say, "draw.speeds.key", NULL));
        speeds_body(&svg, say, motion);
    } else {
        svg_words(&svg, 26, 80, SMALL + 2, SVG_START, 0, words_say(say, "draw.speeds.none", NULL));
    }
    return svg_finish(&svg, length);
}

/* ---- hands ---- */

#define HANDS_WIDTH 720.0
#define HANDS_HEIGHT 720.0
#define OVERSHOOT 0.35 /* of the way, drawn beyond its ends at most */

/* Progress of turn and lift from address (0) to the top (1), forward in time. */
struct progress {
    int count;
    double turn[MOTION_PATH_MAX], lift[MOTION_PATH_MAX];
};

static void progress_find(const struct motion_path *path, bool back, struct progress *out)
{
    double turn[MOTION_PATH_MAX];
    out->count = 0;
    for (int i = 0; i < path->count && i < MOTION_PATH_MAX; i++) {
        turn[i] = atan2(-path->hands[i].x, path->hands[i].z);
        if (i > 0) {
            turn[i] = turn[i - 1] + remainder(turn[i] - turn[i - 1], 2 * VEC_PI);
        }
    }
    int last = path->count - 1;
    if (path->count < 3 || fabs(turn[last] - turn[0]) < 0.02 || fabs(path->hands[last].y - path->hands[0].y) < 0.02) {
        return;
    }
    out->count = path->count;
    for (int i = 0; i < path->count; i++) {
        double a = (turn[i] - turn[0]) / (turn[last] - turn[0]);
        double e = (path->hands[i].y - path->hands[0].y) / (path->hands[last].y - path->hands[0].y);
        out->turn[i] = fmin(1 + OVERSHOOT, fmax(-OVERSHOOT, back ? a : 1 - a));
        out->lift[i] = fmin(1 + OVERSHOOT, fmax(-OVERSHOOT, back ? e : 1 - e));
    }
}

static void plot_widen(struct plot *plot, const struct progress *path)
{
    for (int i = 0; i < path->count; i++) {
        double low = fmin(path->turn[i], path->lift[i]) - 0.05;
        double high = fmax(path->turn[i], path->lift[i]) + 0.05;
        plot->x_low = plot->y_low = fmin(plot->x_low, low);
        plot->x_high = plot->y_high = fmax(plot->x_high, high);
    }
}

static void hands_axes(struct svg *svg, const struct speaker *say, const struct plot *plot)
{
    for (int k = 0; k <= 4; k++) {
        double x = plot_x(plot, k / 4.0);
        double y = plot_y(plot, k / 4.0);
        const char *text = arena_printf(say->arena, "%d %%", 25 * k);
        svg_segment(svg, SVG_GRID, x, plot->bottom, x, plot->top);
        svg_segment(svg, SVG_GRID, plot->left, y, plot->right, y);
        svg_words(svg, x, plot->bottom + 20, SMALL, SVG_MIDDLE, 0, text);
        svg_words(svg, plot->left - 8, y + 4, SMALL, SVG_END, 0, text);
    }
    svg_segment(svg, SVG_MARK, plot_x(plot, 0), plot_y(plot, 0), plot_x(plot, 1), plot_y(plot, 1));
    svg_words(svg, plot_x(plot, 0.80) - 6, plot_y(plot, 0.80) - 6, SMALL, SVG_MIDDLE, -45,
              words_say(say, "draw.together", NULL));
    svg_words(svg, (plot->left + plot->right) / 2, plot->bottom + 46, SMALL, SVG_MIDDLE, 0,
              words_say(say, "draw.turn", NULL));
    svg_words(svg, 26, (plot->top + plot->bottom) / 2, SMALL, SVG_MIDDLE, -90, words_say(say, "draw.height", NULL));
}

/* How far a path lies below the diagonal, on average; + = below. */
static double path_side(const struct progress *path)
{
    double side = 0;
    for (int i = 0; i < path->count; i++) {
        side += path->turn[i] - path->lift[i];
    }
    return path->count == 0 ? 0 : side / path->count;
}

/* A line along the path with an arrow's head in the middle of it, and its name with a leader in the corner below or
 * above the diagonal. */
static void hands_path(struct svg *svg, const struct plot *plot, const struct progress *path, enum svg_line line,
                       const char *name, bool below)
{
    if (path->count == 0) {
        return;
    }
    svg_curve_begin(svg, line);
    for (int i = 0; i < path->count; i++) {
        svg_curve_to(svg, i == 0, plot_x(plot, path->turn[i]), plot_y(plot, path->lift[i]));
    }
    svg_curve_end(svg);
    int middle = path->count / 2;
    double x = plot_x(plot, path->turn[middle]);
    double y = plot_y(plot, path->lift[middle]);
    double dx = plot_x(plot, path->turn[middle + 1]) - plot_x(plot, path->turn[middle - 1]);
    double dy = plot_y(plot, path->lift[middle + 1]) - plot_y(plot, path->lift[middle - 1]);
    double size = fmax(1e-6, hypot(dx, dy));
    dx *= 12 / size;
    dy *= 12 / size;
    svg_segment(svg, line, x, y, x - dx - dy * 0.6, y - dy + dx * 0.6);
    svg_segment(svg, line, x, y, x - dx + dy * 0.6, y - dy - dx * 0.6);
    double word_x = below ? plot->right - 160 : plot->left + 60;
    double word_y = below ? plot->bottom - 14 : plot->top + 22;
    svg_segment(svg, SVG_LEADER, x, y, word_x + 20, below ? word_y - 10 : word_y + 2);
    svg_segment(svg, line, word_x, word_y - 4, word_x + 40, word_y - 4);
    svg_words(svg, word_x + 48, word_y, SMALL + 2, SVG_START, 0, name);
}

/* "Going back: order index +0.59 ± 0.14. Turn came before lift."; first and other: keys of what a sign means. */
static const char *order_words(const struct speaker *say, const char *phase, const struct measure *order,
                               const char *first, const char *other)
{
    const char *way = words_say(say, phase, NULL);
    if (!order->observed) {
        return words_say(say, "draw.order.none", "way", way, NULL);
    }
    double error = CODES_SURE * measure_sd(order);
    const char *verdict = order->value > error ? first : order->value < -error ? other : "draw.order.close";
    const char *index = words_number(say, order->value, 2);
    return words_say(say, "draw.order", "way", way, "value",
                     index == NULL ? NULL : arena_printf(say->arena, "%s%s", order->value >= 0 ? "+" : "", index),
                     "error", words_number(say, fmax(0.01, error), 2), "verdict", words_say(say, verdict, NULL), NULL);
}

static void hands_body(struct svg *svg, const struct speaker *say, const struct motion_summary *motion)
{
    struct plot plot = {.left = 90,
                        .right = 680,
                        .top = 124,
                        .bottom = 650,
                        .x_low = -0.08,
                        .x_high = 1.08,
                        .y_low = -0.08,
                        .y_high = 1.08};
    struct progress back;
    struct progress down;
    progress_find(&motion->paths[MOTION_BACK], true, &back);
    progress_find(&motion->paths[MOTION_DOWN], false, &down);
    if (back.count + down.count == 0) {
        svg_words(svg, 26, 140, SMALL + 2, SVG_START, 0, words_say(say, "draw.hands.none", NULL));
        return;
    }
    plot_widen(&plot, &back);
    plot_widen(&plot, &down);
    hands_axes(svg, say, &plot);
    /* the outer path is named on its own side, the inner one on the other, so that no leader crosses a path */
    bool back_outside = down.count == 0 || fabs(path_side(&back)) >= fabs(path_side(&down));
    bool below = (back_outside ? path_side(&back) : path_side(&down)) >= 0;
    hands_path(svg, &plot, &back, SVG_INK, words_say(say, "draw.path.back", NULL),
               below == back_outside || back.count == 0);
    hands_path(svg, &plot, &down, SVG_ORANGE, words_say(say, "draw.path.down", NULL), below != back_outside);
}

char *draw_hands(const struct motion_summary *motion, const struct measure *back, const struct measure *down,
                 const char *name, const struct speaker *say, size_t *length)
{
    struct svg svg;
    const char *title = words_say(say, "draw.hands", "name", name, NULL);
    const char *going = order_words(say, "draw.back", back, "draw.order.back.turn", "draw.order.back.lift");
    const char *coming = order_words(say, "draw.down", down, "draw.order.down.turn", "draw.order.down.lift");
    const char *story = words_say(say, "draw.hands.story", "back", going, "down", coming, NULL);
    svg_start(&svg, say->arena, HANDS_WIDTH, HANDS_HEIGHT, title, story);
    svg_words(&svg, 26, 36, LARGE, SVG_START, 0, title);
    svg_words(&svg, 26, 62, SMALL + 1, SVG_START, 0, going);
    svg_words(&svg, 26, 84, SMALL + 1, SVG_START, 0, coming);
    svg_words(&svg, 26, 104, SMALL - 1, SVG_START, 0, words_say(say, "draw.hands.key", NULL));
    hands_body(&svg, say, motion);
    return svg_finish(&svg, length);
}

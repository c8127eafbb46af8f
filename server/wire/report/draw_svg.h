/* An SVG text being written into an arena: lines, curves and escaped words in the house's style. A light ground with
 * dark ink, the other way round for readers who ask for dark; no script, nothing from elsewhere. Once memory is short
 * everything is ignored and svg_finish gives NULL. Lengths in the units of the view box, y down. */
#ifndef LEADSIDE_WIRE_REPORT_DRAW_SVG_H
#define LEADSIDE_WIRE_REPORT_DRAW_SVG_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

struct svg {
    struct text text;
};

/* How a line looks: the palette of Okabe & Ito 2008 (Color Universal Design), each with dashes of its own. */
enum svg_line {
    SVG_INK,    /* black, whole (light in the dark) */
    SVG_ORANGE, /* long dashes */
    SVG_SKY,    /* dots */
    SVG_PURPLE, /* dash and dot */
    SVG_GRID,   /* thin and faint */
    SVG_MARK,   /* thin, of checkpoints */
    SVG_LEADER, /* thin, from a word to what it names */
    SVG_LINE_COUNT
};

enum svg_anchor { SVG_START, SVG_MIDDLE, SVG_END };

/* title and description are read out by screen readers; they are escaped. */
void svg_start(struct svg *svg, struct arena *arena, double width, double height, const char *title,
               const char *description);
void svg_segment(struct svg *svg, enum svg_line line, double x1, double y1, double x2, double y2);

/* A curve, point by point: begin, any number of points, end. */
void svg_curve_begin(struct svg *svg, enum svg_line line);
void svg_curve_to(struct svg *svg, bool first, double x, double y);
void svg_curve_end(struct svg *svg);

/* A ring in the line's colour, filled with the ground. */
void svg_dot(struct svg *svg, enum svg_line line, double x, double y);

/* Words at a size, turned by degrees (clockwise) about their own place; NULL fails the drawing. */
void svg_words(struct svg *svg, double x, double y, double size, enum svg_anchor anchor, double turned_deg,
               const char *text);

/* The finished text, ended by a NUL that *length does not count; NULL when memory was short. */
char *svg_finish(struct svg *svg, size_t *length) __attribute__((warn_unused_result));

#endif

/* SVG text in the house's style. */
#include "wire/report/draw_svg.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define PIECE 256 /* bytes, of one formatted piece; words are not formatted */

static const char style[] =
    "<style>"
    "text{font-family:system-ui,'Liberation Sans',sans-serif;fill:#1a1a1a}"
    ".ground{fill:#fcfcf8}"
    ".line{fill:none;stroke-width:3;stroke-linejoin:round}"
    ".ink{stroke:#000000}.orange{stroke:#e69f00}.sky{stroke:#56b4e9}.purple{stroke:#cc79a7}"
    ".grid{fill:none;stroke:#d4d4cc;stroke-width:1}"
    ".mark{fill:none;stroke:#6b6b66;stroke-width:1.2}"
    ".leader{fill:none;stroke:#6b6b66;stroke-width:1}"
    ".dot{fill:#fcfcf8;stroke-width:3}"
    "@media (prefers-color-scheme:dark){text{fill:#f2f2ec}.ground,.dot{fill:#16181c}.ink{stroke:#f2f2ec}"
    ".grid{stroke:#3a3d44}.mark,.leader{stroke:#a8a8a0}}"
    "</style>\n";

static const char *const classes[SVG_LINE_COUNT] = {"line ink", "line orange", "line sky", "line purple",
                                                    "grid",     "mark",        "leader"};
static const char *const dots[SVG_LINE_COUNT] = {"dot ink", "dot orange", "dot sky", "dot purple",
                                                 "dot ink", "dot ink",    "dot ink"};
static const char *const dashes[SVG_LINE_COUNT] = {"none", "14 6", "3 5", "16 5 3 5", "none", "5 4", "none"};

static void put(struct svg *svg, const char *bytes, size_t length)
{
    if (svg->failed) {
        return;
    }
    if (svg->capacity - svg->length < length + 1) {
        size_t capacity = (svg->capacity + length + 1) * 2;
        char *data = arena_alloc(svg->arena, capacity);
        if (data == NULL) {
            svg->failed = true;
            return;
        }
        if (svg->length > 0) {
            memcpy(data, svg->data, svg->length);
        }
        svg->data = data;
        svg->capacity = capacity;
    }
    memcpy(svg->data + svg->length, bytes, length);
    svg->length += length;
    svg->data[svg->length] = '\0';
}

__attribute__((format(printf, 2, 3))) static void say(struct svg *svg, const char *format, ...)
{
    char piece[PIECE];
    va_list arguments;
    va_start(arguments, format);
    int wrote = vsnprintf(piece, sizeof piece, format, arguments);
    va_end(arguments);
    if (wrote < 0 || (size_t)wrote >= sizeof piece) {
        svg->failed = true;
        return;
    }
    put(svg, piece, (size_t)wrote);
}

/* Bytes of the UTF-8 character at text that XML may hold; 0 for none. */
static size_t character(const unsigned char *text)
{
    static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000};
    size_t length = text[0] < 0x80 ? 1 : text[0] < 0xc2 ? 0 : text[0] < 0xe0 ? 2 : text[0] < 0xf0 ? 3 : 4;
    if (length <= 1) {
        return text[0] < 0x20 ? 0 : length;
    }
    uint32_t code = text[0] & (0xffU >> (length + 1));
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80) {
            return 0;
        }
        code = code << 6 | (text[i] & 0x3fU);
    }
    bool good = code >= least[length] && code <= 0x10ffff && (code < 0xd800 || code > 0xdfff) &&
                (code & 0xfffeU) != 0xfffe && text[0] < 0xf5;
    return good ? length : 0;
}

static void escape(struct svg *svg, const char *text)
{
    if (text == NULL) {
        svg->failed = true;
        return;
    }
    const unsigned char *at = (const unsigned char *)text;
    while (*at != '\0') {
        size_t length = character(at);
        const char *instead = *at == '&'    ? "&amp;"
                              : *at == '<'  ? "&lt;"
                              : *at == '>'  ? "&gt;"
                              : *at == '"'  ? "&quot;"
                              : *at == '\'' ? "&#39;"
                              : length == 0 ? "?"
                                            : NULL;
        if (instead != NULL) {
            put(svg, instead, strlen(instead));
            length = 1;
        } else {
            put(svg, (const char *)at, length);
        }
        at += length;
    }
}

void svg_start(struct svg *svg, struct arena *arena, double width, double height, const char *title,
               const char *description)
{
    *svg = (struct svg){.arena = arena};
    say(svg, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %.0f\" width=\"%.0f\" height=\"%.0f\" ",
        width, height, width, height);
    say(svg, "role=\"img\" aria-labelledby=\"title description\">\n<title id=\"title\">");
    escape(svg, title);
    say(svg, "</title>\n<desc id=\"description\">");
    escape(svg, description);
    say(svg, "</desc>\n");
    put(svg, style, sizeof style - 1);
    say(svg, "<rect class=\"ground\" width=\"%.0f\" height=\"%.0f\"/>\n", width, height);
}

void svg_segment(struct svg *svg, enum svg_line line, double x1, double y1, double x2, double y2)
{
    say(svg, "<path class=\"%s\" stroke-dasharray=\"%s\" d=\"M%.1f %.1fL%.1f %.1f\"/>\n", classes[line], dashes[line],
        x1, y1, x2, y2);
}

void svg_curve_begin(struct svg *svg, enum svg_line line)
{
    say(svg, "<path class=\"%s\" stroke-dasharray=\"%s\" d=\"", classes[line], dashes[line]);
}

void svg_curve_to(struct svg *svg, bool first, double x, double y)
{
    say(svg, "%s%.1f %.1f", first ? "M" : "L", x, y);
}

void svg_curve_end(struct svg *svg)
{
    say(svg, "\"/>\n");
}

void svg_dot(struct svg *svg, enum svg_line line, double x, double y)
{
    say(svg, "<circle class=\"%s\" cx=\"%.1f\" cy=\"%.1f\" r=\"6\"/>\n", dots[line], x, y);
}

void svg_words(struct svg *svg, double x, double y, double size, enum svg_anchor anchor, double turned_deg,
               const char *text)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    say(svg, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.0f\" text-anchor=\"%s\"", x, y, size, anchors[anchor]);
    if (turned_deg != 0) {
        say(svg, " transform=\"rotate(%.0f %.1f %.1f)\"", turned_deg, x, y);
    }
    say(svg, ">");
    escape(svg, text);
    say(svg, "</text>\n");
}

char *svg_finish(struct svg *svg, size_t *length)
{
    say(svg, "</svg>\n");
    *length = svg->failed ? 0 : svg->length;
    return svg->failed ? NULL : svg->data;
}

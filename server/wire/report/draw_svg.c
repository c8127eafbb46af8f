/* SVG text in the house's style. */
#include "wire/report/draw_svg.h"

#include <stdint.h>
#include <string.h>

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

/* Bytes of the character at text that XML may hold; 0 for none. */
static size_t character(const char *text)
{
    uint32_t code = 0;
    const size_t length = utf8_step(text, SIZE_MAX, &code);
    return code < 0x20 || (code & 0xfffeU) == 0xfffe ? 0 : length;
}

static void escape(struct svg *svg, const char *text)
{
    if (text == NULL) {
        text_put(&svg->text, NULL);
        return;
    }
    for (const char *at = text; *at != '\0';) {
        size_t length = character(at);
        const char *instead = *at == '&'    ? "&amp;"
                              : *at == '<'  ? "&lt;"
                              : *at == '>'  ? "&gt;"
                              : *at == '"'  ? "&quot;"
                              : *at == '\'' ? "&#39;"
                              : length == 0 ? "?"
                                            : NULL;
        if (instead != NULL) {
            text_put(&svg->text, instead);
            length = 1;
        } else {
            text_put_n(&svg->text, at, length);
        }
        at += length;
    }
}

void svg_start(struct svg *svg, struct arena *arena, double width, double height, const char *title,
               const char *description)
{
    text_start(&svg->text, arena, TEXT_NO_LIMIT);
    text_printf(&svg->text,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %.0f\" width=\"%.0f\" height=\"%.0f\" ",
                width, height, width, height);
    text_printf(&svg->text, "role=\"img\" aria-labelledby=\"title description\">\n<title id=\"title\">");
    escape(svg, title);
    text_printf(&svg->text, "</title>\n<desc id=\"description\">");
    escape(svg, description);
    text_printf(&svg->text, "</desc>\n");
    text_put_n(&svg->text, style, sizeof style - 1);
    text_printf(&svg->text, "<rect class=\"ground\" width=\"%.0f\" height=\"%.0f\"/>\n", width, height);
}

void svg_segment(struct svg *svg, enum svg_line line, double x1, double y1, double x2, double y2)
{
    text_printf(&svg->text, "<path class=\"%s\" stroke-dasharray=\"%s\" d=\"M%.1f %.1fL%.1f %.1f\"/>\n", classes[line],
                dashes[line], x1, y1, x2, y2);
}

void svg_curve_begin(struct svg *svg, enum svg_line line)
{
    text_printf(&svg->text, "<path class=\"%s\" stroke-dasharray=\"%s\" d=\"", classes[line], dashes[line]);
}

void svg_curve_to(struct svg *svg, bool first, double x, double y)
{
    text_printf(&svg->text, "%s%.1f %.1f", first ? "M" : "L", x, y);
}

void svg_curve_end(struct svg *svg)
{
    text_printf(&svg->text, "\"/>\n");
}

void svg_dot(struct svg *svg, enum svg_line line, double x, double y)
{
    text_printf(&svg->text, "<circle class=\"%s\" cx=\"%.1f\" cy=\"%.1f\" r=\"6\"/>\n", dots[line], x, y);
}

void svg_words(struct svg *svg, double x, double y, double size, enum svg_anchor anchor, double turned_deg,
               const char *text)
{
    static const char *const anchors[] = {"start", "middle", "end"};
    text_printf(&svg->text, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%.0f\" text-anchor=\"%s\"", x, y, size,
                anchors[anchor]);
    if (turned_deg != 0) {
        text_printf(&svg->text, " transform=\"rotate(%.0f %.1f %.1f)\"", turned_deg, x, y);
    }
    text_printf(&svg->text, ">");
    escape(svg, text);
    text_printf(&svg->text, "</text>\n");
}

char *svg_finish(struct svg *svg, size_t *length)
{
    text_printf(&svg->text, "</svg>\n");
    return text_take(&svg->text, length);
}

/* See qr.h. */
#include "auth/qr.h"

#include <qrencode.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define MARGIN 4
#define RUN_TEXT 40 /* bytes of one run of dark modules at most: "M177 177h177v1h-177z" */

static bool is_dark(const QRcode *code, int x, int y)
{
    return (code->data[y * code->width + x] & 1) != 0;
}

/* One rectangle for each run of dark modules in a row. */
static void draw(const QRcode *code, char *out, size_t size)
{
    int whole = code->width + 2 * MARGIN;
    size_t used = (size_t)snprintf(out, size,
                                   "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" "
                                   "shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h%dv%dH0z\"/><path d=\"",
                                   whole, whole, whole, whole);
    for (int y = 0; y < code->width; y++) {
        for (int x = 0; x < code->width; x++) {
            int from = x;
            while (x < code->width && is_dark(code, x, y)) {
                x++;
            }
            if (x > from) {
                used += (size_t)snprintf(out + used, size - used, "M%d %dh%dv1h-%dz", from + MARGIN, y + MARGIN,
                                         x - from, x - from);
            }
        }
    }
    (void)snprintf(out + used, size - used, "\"/></svg>");
}

const char *qr_svg(struct arena *arena, const char *text)
{
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (code == NULL) {
        return NULL;
    }
    /* at most every second module of a row begins a run */
    size_t size = 400 + (size_t)code->width * (((size_t)code->width + 1) / 2) * RUN_TEXT;
    char *out = arena_alloc(arena, size);
    if (out != NULL) {
        draw(code, out, size);
    }
    QRcode_free(code);
    return out;
}

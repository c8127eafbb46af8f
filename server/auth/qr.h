/* A text as a QR picture (ISO/IEC 18004, by libqrencode), drawn as SVG. */
#ifndef LEADSIDE_AUTH_QR_H
#define LEADSIDE_AUTH_QR_H

#include "base/arena.h"

/* Dark on white whatever the page looks like, with the quiet margin of four modules; medium error correction. In the
 * arena. NULL when memory is short or the text is too long. */
const char *qr_svg(struct arena *arena, const char *text);

#endif

/* Bytes in JSON: base64 in pieces, so that a large picture never stands twice in memory. */
#include <sodium.h>
#include <string.h>

#include "wire/json/out.h"

#define PIECE ((size_t)3 << 10) /* bytes; whole groups of three, so that the pieces join */

void json_out_base64(struct json_out *out, const char *key, const void *bytes, size_t size)
{
    char text[PIECE / 3 * 4 + 1];
    const unsigned char *at = bytes;
    json_out_raw(out, key, "\"", 1);
    while (size > 0) {
        const size_t piece = size < PIECE ? size : PIECE;
        (void)sodium_bin2base64(text, sizeof text, at, piece, sodium_base64_VARIANT_ORIGINAL);
        json_out_more(out, text, strlen(text));
        at += piece;
        size -= piece;
    }
    json_out_more(out, "\"", 1);
}

/* The request target as it came over the wire: what may be in it, cutting it up, decoding it. Routing on the decoded
 * form would let %2f and %00 move the borders between segments, so those are refused before anything is decoded. */
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "http/connection.h"

static int hex_value(char c)
{
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    if (c >= 'a' && c <= 'f') {
        return c - 'a' + 10;
    }
    if (c >= 'A' && c <= 'F') {
        return c - 'A' + 10;
    }
    return -1;
}

/* RFC 3986: unreserved, sub-delims, ":" and "@". */
static bool is_pchar(char c)
{
    if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9')) {
        return true;
    }
    return c != '\0' && strchr("-._~!$&'()*+,;=:@", c) != NULL;
}

/* Value of a %XX, or -1 when it is malformed or stands for something that must not be hidden. */
static int escaped_value(const char *at)
{
    int high = hex_value(at[1]);
    int low = high < 0 ? -1 : hex_value(at[2]);
    if (low < 0) {
        return -1;
    }
    int value = high * 16 + low;
    return value < 0x20 || value == 0x7f ? -1 : value;
}

/* "." or "..", however spelt. */
static bool dots_only(int length, int dots)
{
    return length == dots && (dots == 1 || dots == 2);
}

static bool path_sound(const char *path)
{
    int length = 0;
    int dots = 0;
    for (const char *at = path; *at != '\0'; at++) {
        if (*at == '/') {
            if (dots_only(length, dots)) {
                return false;
            }
            length = dots = 0;
            continue;
        }
        int value = (unsigned char)*at;
        if (*at == '%') {
            value = escaped_value(at);
            if (value < 0 || value == '/' || value == '\\') {
                return false;
            }
            at += 2;
        } else if (!is_pchar(*at)) {
            return false;
        }
        length++;
        dots += value == '.';
    }
    return !dots_only(length, dots);
}

static bool query_sound(const char *query)
{
    for (const char *at = query; *at != '\0'; at++) {
        if (*at == '%') {
            if (escaped_value(at) < 0) {
                return false;
            }
            at += 2;
        } else if (!is_pchar(*at) && *at != '/' && *at != '?') {
            return false;
        }
    }
    return true;
}

/* RFC 9112, 3.2.2: a server takes a target that names its host as well. The host is moved two places to the front, for
 * its end and for the path that may be missing. */
static char *cut_authority(char *uri, char **authority)
{
    const size_t scheme = strncasecmp(uri, "http://", 7) == 0 ? 7 : strncasecmp(uri, "https://", 8) == 0 ? 8 : 0;
    if (scheme == 0) {
        return uri;
    }
    const size_t length = strcspn(uri + scheme, "/?");
    char *path = uri + scheme + length;
    *authority = uri + scheme - 2;
    memmove(*authority, uri + scheme, length);
    (*authority)[length] = '\0';
    if (*path != '/') {
        *--path = '/';
    }
    return path;
}

enum uri_fault uri_split(char *uri, char **authority, char **path, char **query)
{
    *authority = NULL;
    *path = uri;
    *query = NULL;
    if (strlen(uri) > HTTP_URI_MAX) {
        return URI_TOO_LONG;
    }
    uri = *path = cut_authority(uri, authority);
    if (uri[0] != '/') {
        return URI_MALFORMED;
    }
    char *mark = strchr(uri, '?');
    if (mark != NULL) {
        *mark = '\0';
        *query = mark + 1;
        if (!query_sound(*query)) {
            return URI_MALFORMED;
        }
    }
    return path_sound(uri) ? URI_FINE : URI_MALFORMED;
}

char *uri_decode(struct arena *arena, const char *text, size_t length, bool plus_is_space)
{
    char *out = arena_alloc(arena, length + 1);
    if (out == NULL) {
        return NULL;
    }
    size_t written = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (c == '%' && i + 2 < length) {
            c = (char)(hex_value(text[i + 1]) * 16 + hex_value(text[i + 2]));
            i += 2;
        } else if (c == '+' && plus_is_space) {
            c = ' ';
        }
        out[written++] = c;
    }
    out[written] = '\0';
    return utf8_valid(out, written) ? out : NULL;
}

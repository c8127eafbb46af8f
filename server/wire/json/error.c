/* Writes a path out as text: keys joined by dots, indices in brackets. */
#include "wire/json/error.h"

#include <stdarg.h>
#include <stdio.h>

#define DEPTH_MAX 16

static void path_write(const struct wire_at *at, char *out, size_t size)
{
    const struct wire_at *steps[DEPTH_MAX];
    int depth = 0;
    for (; at != NULL && depth < DEPTH_MAX; at = at->up) {
        steps[depth++] = at;
    }
    size_t used = 0;
    out[0] = '\0';
    while (depth > 0 && used < size) {
        const struct wire_at *step = steps[--depth];
        int wrote = step->key == NULL ? snprintf(out + used, size - used, "[%d]", step->index)
                                      : snprintf(out + used, size - used, "%s%s", used > 0 ? "." : "", step->key);
        if (wrote < 0) {
            return;
        }
        used += (size_t)wrote;
    }
}

bool wire_fail(struct wire_error *error, const struct wire_at *at, const char *format, ...)
{
    if (error == NULL) {
        return false;
    }
    path_write(at, error->path, sizeof error->path);
    va_list args;
    va_start(args, format);
    int wrote = vsnprintf(error->what, sizeof error->what, format, args);
    va_end(args);
    if (wrote < 0) {
        error->what[0] = '\0';
    }
    return false;
}

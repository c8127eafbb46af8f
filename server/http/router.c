/* From a raw path to a row of the route table. Built once at start: one pattern for each path, with its methods and the
 * Allow header they make. A path that is there with another method is a 405, not a 404. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "http/connection.h"

static const char *const method_names[HTTP_METHOD_COUNT] = {"", "GET", "POST", "PUT", "PATCH", "DELETE"};

/* Cuts "/a/b" into "a", "b"; -1 when there are too many. "/" is one empty segment. */
static int cut(const char *path, struct segment segments[HTTP_SEGMENTS])
{
    int count = 0;
    const char *at = path;
    while (*at == '/') {
        if (count == HTTP_SEGMENTS) {
            return -1;
        }
        at++;
        const char *end = strchr(at, '/');
        size_t length = end == NULL ? strlen(at) : (size_t)(end - at);
        segments[count++] = (struct segment){at, length};
        at += length;
    }
    return count;
}

static bool same_shape(const struct path_pattern *a, const struct path_pattern *b)
{
    if (a->count != b->count) {
        return false;
    }
    for (int i = 0; i < a->count; i++) {
        if (a->captures[i] != b->captures[i]) {
            return false;
        }
        bool same = a->segments[i].length == b->segments[i].length &&
                    memcmp(a->segments[i].text, b->segments[i].text, a->segments[i].length) == 0;
        if (!a->captures[i] && !same) {
            return false;
        }
    }
    return true;
}

static bool read_pattern(const char *path, struct path_pattern *pattern)
{
    memset(pattern, 0, sizeof *pattern);
    pattern->count = path[0] == '/' ? cut(path, pattern->segments) : -1;
    int captured = 0;
    for (int i = 0; i < pattern->count; i++) {
        const struct segment *segment = &pattern->segments[i];
        pattern->captures[i] =
            segment->length > 2 && segment->text[0] == '{' && segment->text[segment->length - 1] == '}';
        captured += pattern->captures[i];
    }
    for (int i = 0; i < HTTP_METHOD_COUNT; i++) {
        pattern->routes[i] = -1;
    }
    return pattern->count > 0 && captured <= HTTP_CAPTURES;
}

/* Fewer segments first; then, at the first difference, a literal before a placeholder. */
static int compare(const void *left, const void *right)
{
    const struct path_pattern *a = left;
    const struct path_pattern *b = right;
    if (a->count != b->count) {
        return a->count - b->count;
    }
    for (int i = 0; i < a->count; i++) {
        if (a->captures[i] != b->captures[i]) {
            return a->captures[i] ? 1 : -1;
        }
    }
    return 0;
}

static void write_allow(struct path_pattern *pattern)
{
    size_t used = 0;
    for (int method = HTTP_GET; method < HTTP_METHOD_COUNT; method++) {
        if (pattern->routes[method] < 0) {
            continue;
        }
        int wrote = snprintf(pattern->allow + used, sizeof pattern->allow - used, "%s%s", used > 0 ? ", " : "",
                             method == HTTP_GET ? "GET, HEAD" : method_names[method]);
        used += (size_t)wrote;
    }
    snprintf(pattern->allow + used, sizeof pattern->allow - used, ", OPTIONS");
}

/* The pattern of this path, added when it is new. */
static struct path_pattern *pattern_of(struct router *router, const struct path_pattern *wanted)
{
    for (size_t i = 0; i < router->pattern_count; i++) {
        if (same_shape(&router->patterns[i], wanted)) {
            return &router->patterns[i];
        }
    }
    router->patterns[router->pattern_count] = *wanted;
    return &router->patterns[router->pattern_count++];
}

bool router_build(struct router *router, const struct http_route *routes, size_t count, char *error, size_t error_size)
{
    *router = (struct router){.routes = routes, .route_count = count};
    router->patterns = calloc(count > 0 ? count : 1, sizeof *router->patterns);
    if (router->patterns == NULL) {
        snprintf(error, error_size, "memory is short");
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        const struct http_route *route = &routes[i];
        struct path_pattern wanted;
        if (route->path == NULL || route->handler == NULL || route->method < HTTP_GET ||
            route->method >= HTTP_METHOD_COUNT || !read_pattern(route->path, &wanted)) {
            snprintf(error, error_size, "route %zu (%s) is incomplete", i, route->path == NULL ? "?" : route->path);
            router_free(router);
            return false;
        }
        struct path_pattern *pattern = pattern_of(router, &wanted);
        if (pattern->routes[route->method] >= 0) {
            snprintf(error, error_size, "route %s %s is there twice", method_names[route->method], route->path);
            router_free(router);
            return false;
        }
        pattern->routes[route->method] = (int)i;
    }
    qsort(router->patterns, router->pattern_count, sizeof *router->patterns, compare);
    for (size_t i = 0; i < router->pattern_count; i++) {
        write_allow(&router->patterns[i]);
    }
    return true;
}

void router_free(struct router *router)
{
    free(router->patterns);
    router->patterns = NULL;
}

static bool fits(const struct path_pattern *pattern, const struct segment *segments)
{
    for (int i = 0; i < pattern->count; i++) {
        const struct segment *wanted = &pattern->segments[i];
        if (pattern->captures[i]
                ? segments[i].length == 0
                : segments[i].length != wanted->length || memcmp(segments[i].text, wanted->text, wanted->length) != 0) {
            return false;
        }
    }
    return true;
}

const struct path_pattern *router_find(const struct router *router, const char *path,
                                       struct segment captures[HTTP_CAPTURES], int *capture_count)
{
    struct segment segments[HTTP_SEGMENTS];
    int count = cut(path, segments);
    *capture_count = 0;
    for (size_t i = 0; i < router->pattern_count; i++) {
        const struct path_pattern *pattern = &router->patterns[i];
        if (pattern->count != count || !fits(pattern, segments)) {
            continue;
        }
        for (int s = 0; s < count; s++) {
            if (pattern->captures[s]) {
                captures[(*capture_count)++] = segments[s];
            }
        }
        return pattern;
    }
    return NULL;
}

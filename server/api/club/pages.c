/* The pages that are built into the program. */
#include <string.h>

#include "api/frame/call.h"
#include "api/frame/handlers.h"
#include "base/embed.h"

static const char *type_of(const char *name)
{
    static const struct {
        const char *ending, *type;
    } types[] = {{".html", "text/html; charset=utf-8"},
                 {".css", "text/css; charset=utf-8"},
                 {".js", "text/javascript; charset=utf-8"},
                 {".mjs", "text/javascript; charset=utf-8"},
                 {".svg", "image/svg+xml"},
                 {".json", "application/json"},
                 {".webmanifest", "application/manifest+json"}};
    const char *dot = strrchr(name, '.');
    for (size_t i = 0; dot != NULL && i < sizeof types / sizeof *types; i++) {
        if (strcmp(dot, types[i].ending) == 0) {
            return types[i].type;
        }
    }
    return "application/octet-stream";
}

static void reply_page(struct call *call, const char *name)
{
    for (size_t i = 0; i < embedded_pages_count; i++) {
        if (strcmp(embedded_pages[i].name, name) == 0) {
            exchange_reply(call->exchange, 200, type_of(name), embedded_pages[i].data, embedded_pages[i].size);
            return;
        }
    }
    exchange_problem(call->exchange, 404, "not-found", NULL, "There is nothing at this address.");
}

void pages_home(struct call *call)
{
    reply_page(call, "index.html");
}

void pages_file(struct call *call)
{
    reply_page(call, call->row->path + 1);
}

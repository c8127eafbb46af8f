/* The description of the interface, as it is in docs/openapi.json. */
#include "api/frame/call.h"
#include "api/frame/handlers.h"
#include "base/embed.h"

void openapi_get(struct call *call)
{
    if (embedded_openapi_count == 0) {
        exchange_problem(call->exchange, 404, "not-found", NULL, "This build has no description.");
        return;
    }
    exchange_reply(call->exchange, 200, "application/json", embedded_openapi[0].data, embedded_openapi[0].size);
}

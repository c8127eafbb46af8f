/* The whole API behind one handle: the table of routes for the listener, and what the handlers share. */
#ifndef LEADSIDE_API_FRAME_API_H
#define LEADSIDE_API_FRAME_API_H

#include "auth/password.h"
#include "auth/secret.h"
#include "auth/throttle.h"
#include "http/server.h"
#include "store/engine/store.h"

struct api_config {
    struct store *store; /* borrowed, like the next two; they outlive the api */
    struct password_pool *passwords;
    struct throttle *throttle;
    const char *directory; /* the club's folder, for what is too large for memory; borrowed as well */
    const uint8_t *secret; /* SECRET_BYTES, copied */
    bool secure;           /* behind TLS: cookies are Secure with the __Host- prefix */
    unsigned listeners;    /* most at once on /v1/events; 0 = 512 */
    const char *pose;      /* folder of the pose library; NULL = the bay page does without */
};

struct api;

/* Reads what handlers need from the store (the house standard). NULL with a sentence in error. */
struct api *api_new(const struct api_config *config, char *error, size_t error_size)
    __attribute__((warn_unused_result));
/* The routes, to be given to http_server_start together with the api as its app. Lives as long as the api. */
const struct http_route *api_routes(const struct api *api, size_t *count);
/* For http_config: before a body that may be longer than API_SMALL_BODY is read, who asks, may they, how often, and is
 * there room for it? Whoever passed is not asked again when the body is there. */
#define API_SMALL_BODY ((size_t)64 << 10)
bool api_gate(struct exchange *exchange, void *app);
/* Tells /metrics where the listener's own figures are. Once, right after http_server_start. */
void api_set_server(struct api *api, struct http_server *server);
/* Is work under way that nobody waits for (a trial of a standard, scoring anew)? */
bool api_working(struct api *api);
/* From now on new writes and sign-ins are answered 503 with Retry-After; /readyz says no. */
void api_refuse_writes(struct api *api);
/* Whoever listens for events is told that the server stops, and their answers end. */
void api_end_listening(struct api *api);
/* The listener must have stopped. NULL is fine. */
void api_free(struct api *api);

#endif

/* Waiting for the hash thread: the call is parked, and goes on where it was told to. */
#include <string.h>

#include "api/internal.h"

struct hashing {
    struct call call;
    hashing_then then;
    void *data;
    bool right;
    char new_hash[PASSWORD_HASH_TEXT];
};

static void done(const struct password_outcome *outcome, void *argument)
{
    struct hashing *hashing = argument;
    hashing->right = outcome->right;
    memcpy(hashing->new_hash, outcome->new_hash, sizeof hashing->new_hash);
    exchange_wake(hashing->call.exchange);
}

static void resume(struct exchange *exchange, void *argument)
{
    (void)exchange;
    struct hashing *hashing = argument;
    hashing->call.db = store_reader(hashing->call.api->store);
    hashing->then(&hashing->call, hashing->right, hashing->new_hash, hashing->data);
}

static struct hashing *prepare(struct call *call, hashing_then then, void *data)
{
    struct hashing *hashing = arena_alloc(call->arena, sizeof *hashing);
    if (hashing == NULL) {
        exchange_problem(call->exchange, 500, "memory", NULL, "Memory is short.");
        return NULL;
    }
    hashing->call = *call;
    hashing->then = then;
    hashing->data = data;
    exchange_park(call->exchange, resume, hashing);
    return hashing;
}

static void refuse(struct call *call)
{
    exchange_add_header(call->exchange, "Retry-After", "2");
    exchange_problem(call->exchange, 429, "busy", NULL, "Too many passwords are being looked at; try again shortly.");
}

void call_verify(struct call *call, const char *text_hash, const char *password, hashing_then then, void *data)
{
    struct hashing *hashing = prepare(call, then, data);
    if (hashing != NULL && !password_verify_async(call->api->passwords, text_hash, password, done, hashing)) {
        refuse(call);
    }
}

void call_hash(struct call *call, const char *password, hashing_then then, void *data)
{
    struct hashing *hashing = prepare(call, then, data);
    if (hashing != NULL && !password_hash_async(call->api->passwords, password, done, hashing)) {
        refuse(call);
    }
}

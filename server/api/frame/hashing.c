/* Waiting for the hash thread: the call is parked, and goes on where it was told to. Tries of a password are counted.
 */
#include <string.h>

#include "api/frame/call.h"

struct hashing {
    struct call call;
    hashing_then then;
    void *data;
    bool right, no_memory;
    char new_hash[PASSWORD_HASH_TEXT];
};

static int64_t steady_ms(void)
{
    return clock_monotonic_ns() / 1000000;
}

bool call_try_begin(struct call *call, const struct throttle_who *who)
{
    call->tried = arena_alloc(call->arena, sizeof *call->tried);
    if (call->tried == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return false;
    }
    const unsigned wait = throttle_begin(call->api->throttle, who, steady_ms(), call->tried);
    if (wait == 0) {
        return true;
    }
    char *text = arena_printf(call->arena, "%u", wait);
    exchange_add_header(call->exchange, "Retry-After", text == NULL ? "1" : text);
    exchange_problem(call->exchange, 429, "too-often", NULL, "Wrong passwords: wait %u s before the next try.", wait);
    return false;
}

bool call_try_own(struct call *call)
{
    const struct throttle_who who = {.name = call->principal->account_id, .device = "own password"};
    return call_try_begin(call, &who);
}

void call_try_end(struct call *call, enum throttle_result result)
{
    if (call->tried != NULL) {
        throttle_end(call->api->throttle, call->tried, result, steady_ms());
    }
}

static void done(const struct password_outcome *outcome, void *argument)
{
    struct hashing *hashing = argument;
    hashing->right = outcome->right;
    hashing->no_memory = outcome->no_memory;
    memcpy(hashing->new_hash, outcome->new_hash, sizeof hashing->new_hash);
    exchange_wake(hashing->call.exchange);
}

static void resume(struct exchange *exchange, void *argument)
{
    struct hashing *hashing = argument;
    if (hashing->no_memory) {
        call_try_end(&hashing->call, THROTTLE_UNSEEN);
        exchange_add_header(exchange, "Retry-After", "5");
        exchange_problem(exchange, 503, "busy", NULL, "Memory is too short to look at passwords just now; try again.");
        return;
    }
    hashing->call.db = store_reader(hashing->call.api->store);
    hashing->then(&hashing->call, hashing->right, hashing->new_hash, hashing->data);
}

static struct hashing *prepare(struct call *call, hashing_then then, void *data)
{
    struct hashing *hashing = arena_alloc(call->arena, sizeof *hashing);
    if (hashing == NULL) {
        call_try_end(call, THROTTLE_UNSEEN);
        call_problem_store(call, STORE_NO_MEMORY);
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
    call_try_end(call, THROTTLE_UNSEEN);
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

/* Every change goes this way: parked, queued, the kept answer looked up, the job, its audit row and the kept answer in
 * one savepoint, and answered only after the commit is on disk. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "api/frame/call.h"
#include "store/engine/idempotency.h"

struct write *write_new(struct call *call, enum store_status (*job)(struct store_db *, struct write *), void *data)
{
    struct write *write = arena_alloc(call->arena, sizeof *write);
    if (write == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return NULL;
    }
    write->call = *call;
    write->job = job;
    write->data = data;
    write->status = 200;
    return write;
}

enum store_status write_refuse(struct write *write, int status, const char *type, const char *path, const char *detail)
{
    write->refused = status;
    write->refused_type = type;
    write->refused_path = path;
    write->refused_detail = detail;
    return STORE_INVALID;
}

#define KEY_ID 8 /* the first bytes of a kept hash tell with which key it was made */

/* A body may hold a password, and a plain hash of it could be found by guessing at the hash's speed: so it is made with
 * the server's own key, which no copy of the database has. */
static void body_seal(const struct api *api, struct exchange *exchange, const uint8_t body_hash[STORE_HASH],
                      uint8_t out[STORE_HASH])
{
    crypto_generichash_state state;
    uint8_t id[crypto_generichash_BYTES_MIN];
    (void)crypto_generichash(id, sizeof id, (const unsigned char *)"id", 2, api->body_key, sizeof api->body_key);
    memcpy(out, id, KEY_ID);
    crypto_generichash_init(&state, api->body_key, sizeof api->body_key, STORE_HASH - KEY_ID);
    for (int i = 0; exchange_capture(exchange, i) != NULL; i++) {
        const char *capture = exchange_capture(exchange, i);
        crypto_generichash_update(&state, (const unsigned char *)capture, strlen(capture) + 1);
    }
    crypto_generichash_update(&state, body_hash, STORE_HASH);
    crypto_generichash_final(&state, out + KEY_ID, STORE_HASH - KEY_ID);
}

/* What a key stands for: this route, these placeholders, this body. Made by the HTTP thread: the writer has enough to
 * do. False when memory is short. */
static bool key_make(struct write *write)
{
    static const char *const methods[] = {"", "GET", "POST", "PUT", "PATCH", "DELETE"};
    const struct call *call = &write->call;
    struct store_idempotency *row = arena_alloc(call->arena, sizeof *row);
    uint8_t body_hash[STORE_HASH];
    if (row == NULL) {
        return false;
    }
    if (write->body_hash != NULL) {
        memcpy(body_hash, write->body_hash, sizeof body_hash);
    } else {
        size_t length;
        const char *body = exchange_body(call->exchange, &length);
        (void)crypto_hash_sha256(body_hash, (const unsigned char *)body, length);
    }
    *row = (struct store_idempotency){.created = call->now, .key = exchange_header(call->exchange, "Idempotency-Key")};
    body_seal(call->api, call->exchange, body_hash, row->body_hash);
    memcpy(row->principal, call->principal->account_id, UUID_TEXT);
    row->route = arena_printf(call->arena, "%s %s", methods[call->row->method], call->row->path);
    write->key = row;
    return row->route != NULL;
}

/* Does what was kept under this key answer this request? Where the hash was made with a key since lost, or before there
 * was one, the bodies can't be compared: the sender's word that it is the same thing is taken, for refusing it would
 * have a tablet give up a swing that is safely here. It must be the same student's all the same. */
static bool key_same(const struct write *write, const struct store_idempotency *kept,
                     const struct store_idempotency *row)
{
    if (strcmp(kept->route, row->route) != 0) {
        return false;
    }
    if (memcmp(kept->body_hash, row->body_hash, KEY_ID) == 0) {
        return sodium_memcmp(kept->body_hash, row->body_hash, STORE_HASH) == 0;
    }
    const char *about = write->call.student_id;
    return kept->student_id[0] == '\0' || about[0] == '\0' || strcmp(kept->student_id, about) == 0;
}

/* STORE_OK with write->replayed: answered before. STORE_NOT_FOUND: not seen. */
static enum store_status key_look(struct store_db *db, struct write *write, const struct store_idempotency *row)
{
    struct store_idempotency kept;
    enum store_status status = store_idempotency_find(db, row->principal, row->key, write->call.arena, &kept);
    if (status != STORE_OK) {
        return status;
    }
    if (!key_same(write, &kept, row)) {
        return write_refuse(write, 422, "key-reused", NULL,
                            "This Idempotency-Key was used for something else: make a new one.");
    }
    write->replayed = true;
    write->status = kept.status;
    write->json = kept.response;
    write->json_length = kept.response == NULL ? 0 : strlen(kept.response);
    write->etag = 0;
    write->location = NULL;
    return write->restore == NULL ? STORE_OK : write->restore(db, write);
}

static enum store_status key_keep(struct store_db *db, struct write *write, struct store_idempotency *row)
{
    const char *response = write->kept_json != NULL ? write->kept_json : write->json;
    row->status = write->status;
    row->response = response == NULL ? "" : response;
    row->object_kind = write->audit.object_id[0] == '\0' ? NULL : write->audit.object_kind;
    if (row->object_kind != NULL) {
        memcpy(row->object_id, write->audit.object_id, sizeof row->object_id);
    }
    memcpy(row->student_id, write->audit.student_id, UUID_TEXT);
    return store_idempotency_insert(db, row);
}

static void audit_complete(struct write *write)
{
    struct store_audit *audit = &write->audit;
    audit->at = audit->at == 0 ? write->call.now : audit->at;
    if (audit->account_id[0] == '\0' && write->call.principal != NULL) {
        memcpy(audit->account_id, write->call.principal->account_id, UUID_TEXT);
    }
    if (audit->student_id[0] == '\0') {
        memcpy(audit->student_id, write->call.student_id, UUID_TEXT);
    }
}

static enum store_status run(struct store_db *db, void *argument)
{
    struct write *write = argument;
    write->call.db = db;
    if (write->key != NULL) {
        enum store_status seen = key_look(db, write, write->key);
        if (seen != STORE_NOT_FOUND) {
            return seen;
        }
    }
    enum store_status status = write->job(db, write);
    if (status != STORE_OK) {
        return status;
    }
    audit_complete(write);
    if (write->audit.action != NULL) {
        status = store_audit_add(db, &write->audit);
    }
    return status == STORE_OK && write->key != NULL ? key_keep(db, write, write->key) : status;
}

static void done(enum store_status status, void *argument)
{
    struct write *write = argument;
    write->outcome = status;
    const char *kind = write->audit.object_kind;
    if (status == STORE_OK && kind != NULL && (strcmp(kind, "drill") == 0 || strcmp(kind, "standard") == 0)) {
        atomic_fetch_add(&write->call.api->rules_edits, 1);
    }
    exchange_wake(write->call.exchange);
}

static void answer(struct exchange *exchange, void *argument)
{
    struct write *write = argument;
    struct call *call = &write->call;
    call->db = store_reader(call->api->store);
    const bool refused = write->refused != 0 && write->outcome != STORE_OK && write->outcome != STORE_NO_MEMORY;
    call_try_end(call, refused ? THROTTLE_WRONG : write->outcome == STORE_OK ? THROTTLE_RIGHT : THROTTLE_UNSEEN);
    if (refused) {
        exchange_problem_more(exchange, write->refused, write->refused_type, write->refused_path, write->refused_more,
                              write->refused_detail);
        return;
    }
    if (write->outcome != STORE_OK) {
        call_problem_store(call, write->outcome);
        return;
    }
    exchange_done(exchange);
    if (write->replayed) {
        exchange_add_header(exchange, "Idempotency-Replayed", "true");
    } else if (write->after != NULL) {
        write->after(write);
    }
    if (write->reply != NULL) {
        write->reply(write);
        return;
    }
    call_reply_json(call, write->status, write->json, write->json_length, write->etag, write->location);
}

void call_write(struct write *write)
{
    struct call *call = &write->call;
    if (write->json != NULL && write->json_length == 0) {
        write->json_length = strlen(write->json);
    }
    if (atomic_load(&call->api->refusing)) {
        call_problem_store(call, STORE_CLOSED);
        return;
    }
    if ((call->row->keyed && !key_make(write)) || exchange_memory_short(call->exchange)) {
        call_problem_store(call, STORE_NO_MEMORY);
        return;
    }
    exchange_park(call->exchange, answer, write);
    enum store_status status = store_submit(call->api->store, run, done, write);
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
}

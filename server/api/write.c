/* Every change goes this way: parked, queued, the kept answer looked up, the job, its audit row and the kept answer in
 * one savepoint, and answered only after the commit is on disk. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "api/internal.h"
#include "store/idempotency.h"

struct write *write_new(struct call *call, enum store_status (*job)(struct store_db *, struct write *), void *data)
{
    struct write *write = arena_alloc(call->arena, sizeof *write);
    if (write == NULL) {
        exchange_problem(call->exchange, 500, "memory", NULL, "Memory is short.");
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

/* What a key stands for: this route, these placeholders, this body. Made by the HTTP thread: the writer has enough to
 * do. False when memory is short. */
static bool key_make(struct write *write)
{
    static const char *const methods[] = {"", "GET", "POST", "PUT", "PATCH", "DELETE"};
    const struct call *call = &write->call;
    struct store_idempotency *row = arena_alloc(call->arena, sizeof *row);
    uint8_t body_hash[STORE_HASH];
    crypto_hash_sha256_state state;
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
    crypto_hash_sha256_init(&state);
    for (int i = 0; exchange_capture(call->exchange, i) != NULL; i++) {
        const char *capture = exchange_capture(call->exchange, i);
        crypto_hash_sha256_update(&state, (const unsigned char *)capture, strlen(capture) + 1);
    }
    crypto_hash_sha256_update(&state, body_hash, sizeof body_hash);
    *row = (struct store_idempotency){.created = call->now, .key = exchange_header(call->exchange, "Idempotency-Key")};
    crypto_hash_sha256_final(&state, row->body_hash);
    memcpy(row->principal, call->principal->account_id, UUID_TEXT);
    row->route = arena_printf(call->arena, "%s %s", methods[call->row->method], call->row->path);
    write->key = row;
    return row->route != NULL;
}

/* STORE_OK with write->replayed: answered before. STORE_NOT_FOUND: not seen. */
static enum store_status key_look(struct store_db *db, struct write *write, const struct store_idempotency *row)
{
    struct store_idempotency kept;
    enum store_status status = store_idempotency_find(db, row->principal, row->key, write->call.arena, &kept);
    if (status != STORE_OK) {
        return status;
    }
    if (strcmp(kept.route, row->route) != 0 || memcmp(kept.body_hash, row->body_hash, STORE_HASH) != 0) {
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
        atomic_fetch_add(&write->call.api->book_edits, 1);
    }
    exchange_wake(write->call.exchange);
}

static void answer(struct exchange *exchange, void *argument)
{
    struct write *write = argument;
    struct call *call = &write->call;
    call->db = store_reader(call->api->store);
    if (write->refused != 0 && write->outcome != STORE_OK) {
        exchange_problem(exchange, write->refused, write->refused_type, write->refused_path, "%s",
                         write->refused_detail);
        return;
    }
    if (write->outcome != STORE_OK) {
        call_problem_store(call, write->outcome);
        return;
    }
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
    if (call->row->keyed && !key_make(write)) {
        call_problem_store(call, STORE_NO_MEMORY);
        return;
    }
    exchange_park(call->exchange, answer, write);
    enum store_status status = store_submit(call->api->store, run, done, write);
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
}

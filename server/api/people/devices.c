/* The club's range tablets. A tablet's token is shown once, when it is enrolled. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/people/handlers.h"
#include "auth/token.h"
#include "store/people/device.h"

struct enrolment {
    struct store_device device;
    char token[TOKEN_TEXT];
    uint8_t hash[TOKEN_HASH];
};

static void device_json(struct json_out *out, const struct store_device *device)
{
    json_out_text(out, "id", device->id);
    json_out_text(out, "name", device->name);
    json_out_text(out, "enrolled_by", device->enrolled_by);
    answer_time(out, "created", device->created);
    answer_time(out, "last_seen", device->last_seen);
    answer_time(out, "revoked", device->revoked);
    answer_integer(out, "version", device->version);
}

void devices_list(struct call *call)
{
    struct store_page page;
    struct store_device_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    enum store_status status = store_device_list(call->db, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "devices")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        device_json(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void devices_get(struct call *call)
{
    const char *id = exchange_capture(call->exchange, 0);
    struct store_device device;
    struct json_out out;
    const enum store_status status =
        uuid_valid(id) ? store_device_get(call->db, id, call->arena, &device) : STORE_NOT_FOUND;
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    device_json(&out, &device);
    json_out_end_object(&out);
    answer_json_moving(call, &out, device.version);
}

static bool device_answer(struct write *write, const struct store_device *device, const char *token, bool show_token,
                          int status)
{
    struct json_out out;
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    device_json(&out, device);
    if (show_token) {
        json_out_text(&out, "token", token);
    }
    json_out_end_object(&out);
    write->etag = device->version;
    return answer_write(write, &out, status);
}

static enum store_status create_job(struct store_db *db, struct write *write)
{
    const struct enrolment *enrolment = write->data;
    answer_audit(write, "device.create", "device", enrolment->device.id, "");
    return store_device_insert(db, &enrolment->device, enrolment->hash);
}

void devices_create(struct call *call)
{
    static const char *const keys[] = {"name", NULL};
    struct enrolment *enrolment = arena_alloc(call->arena, sizeof *enrolment);
    struct body body;
    if (enrolment == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_device *device = &enrolment->device;
    if (!body_begin(&body, call, keys, false)) {
        return;
    }
    tree_name(&body.in, "name", true, 200, &device->name);
    if (!body_end(&body)) {
        return;
    }
    uuid7_new(device->id);
    token_new(enrolment->token, enrolment->hash);
    memcpy(device->enrolled_by, call->principal->account_id, UUID_TEXT);
    device->created = device->last_seen = call->now;
    device->version = 1;
    struct write *write = write_new(call, create_job, enrolment);
    if (write == NULL) {
        return;
    }
    write->location = arena_printf(call->arena, "/v1/devices/%s", device->id);
    /* kept for repeated requests without the token */
    bool made = device_answer(write, device, NULL, true, 201);
    write->kept_json = write->json;
    if (!made || !device_answer(write, device, enrolment->token, true, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

static enum store_status update_job(struct store_db *db, struct write *write)
{
    struct store_device *device = write->data;
    enum store_status status = store_device_update(db, device);
    answer_audit(write, "device.update", "device", device->id, "");
    if (status == STORE_OK && !device_answer(write, device, NULL, false, 200)) {
        return STORE_NO_MEMORY;
    }
    return status;
}

void devices_update(struct call *call)
{
    static const char *const keys[] = {"name", "revoked", NULL};
    const char *id = exchange_capture(call->exchange, 0);
    struct store_device *device = arena_alloc(call->arena, sizeof *device);
    struct body body;
    if (device == NULL) {
        answer_no_memory(call);
        return;
    }
    enum store_status status = uuid_valid(id) ? store_device_get(call->db, id, call->arena, device) : STORE_NOT_FOUND;
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    bool revoked = device->revoked != 0;
    if (!precondition_edit(call, device->version) || !body_begin(&body, call, keys, false)) {
        return;
    }
    tree_name(&body.in, "name", false, 200, &device->name);
    tree_boolean(&body.in, "revoked", false, &revoked);
    if (!body_end(&body)) {
        return;
    }
    if (device->revoked != 0 && !revoked) {
        exchange_problem(call->exchange, 409, "device-revoked", "revoked",
                         "A revoked tablet stays revoked: enrol it anew.");
        return;
    }
    if (revoked && device->revoked == 0) {
        device->revoked = call->now;
    }
    struct write *write = write_new(call, update_job, device);
    if (write != NULL) {
        call_write(write);
    }
}

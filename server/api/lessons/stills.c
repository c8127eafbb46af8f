/* Stills of a swing: put by coaches, stripped on the way in, seen by whoever may see the swing. */
#include "store/lessons/still.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/stream.h"
#include "api/lessons/handlers.h"
#include "core/swing.h"
#include "still/read.h"
#include "store/people/consent.h"

/* "face_on-top" of the path, taken apart. False: answered 404, as for anything that can't be there. */
static bool name_read(struct call *call, enum view_kind *view, enum checkpoint *checkpoint)
{
    const char *name = exchange_capture(call->exchange, 1);
    const char *dash = name == NULL ? NULL : strchr(name, '-');
    const char *word = dash == NULL ? NULL : arena_strndup(call->arena, name, (size_t)(dash - name));
    if (word != NULL && view_kind_parse(word, view) && checkpoint_parse(dash + 1, checkpoint)) {
        return true;
    }
    exchange_problem(call->exchange, 404, "not-found", NULL,
                     "A still is named by its view and checkpoint, like down_the_line-top.");
    return false;
}

static void still_json(struct json_out *out, const struct store_still *still)
{
    json_out_text(out, "id", still->id);
    json_out_text(out, "view", still->view);
    json_out_text(out, "checkpoint", still->checkpoint);
    json_out_text(out, "media_type", still->media_type);
    answer_integer(out, "width", still->width);
    answer_integer(out, "height", still->height);
    answer_integer(out, "size", (int64_t)still->picture_size);
    json_out_text(out, "put_by", still->put_by);
    answer_time(out, "created", still->created);
}

/* Nobody sees a picture that nobody agreed to, or that was taken back. False: answered. */
static bool may_be_seen(struct call *call)
{
    bool shown;
    const enum store_status status = store_consent_pictures(call->db, call->student_id, &shown);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    if (!shown) {
        exchange_problem(call->exchange, 403, "consent-missing", NULL,
                         "Nobody has agreed to pictures of this student, or it was taken back: they are not shown.");
    }
    return shown;
}

void stills_list(struct call *call)
{
    struct store_still_list list;
    struct json_out out;
    bool shown;
    enum store_status status = store_consent_pictures(call->db, call->student_id, &shown);
    if (status == STORE_OK) {
        status = store_still_list(call->db, exchange_capture(call->exchange, 0), call->arena, &list);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_bool(&out, "hidden", !shown);
    json_out_array(&out, "stills");
    for (size_t i = 0; i < list.count && shown; i++) {
        json_out_object(&out, NULL);
        still_json(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

void stills_get(struct call *call)
{
    enum view_kind view;
    enum checkpoint checkpoint;
    struct store_still still;
    if (!name_read(call, &view, &checkpoint) || !may_be_seen(call)) {
        return;
    }
    const enum store_status status =
        store_still_get(call->db, exchange_capture(call->exchange, 0), view_kind_name(view),
                        checkpoint_name(checkpoint), call->arena, &still);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    const struct store_blob blob = store_still_blob(&still);
    exchange_add_header(call->exchange, "Cache-Control", "no-store, private");
    exchange_add_header(call->exchange, "Content-Disposition", "inline");
    exchange_add_header(call->exchange, "Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'");
    exchange_add_header(call->exchange, "Cross-Origin-Resource-Policy", "same-origin");
    stream_reply(call, arena_strdup(call->arena, still.media_type), NULL, &blob, NULL);
}

/* ---- putting ---- */

/* No picture is kept before somebody has agreed: for a junior a guardian, and whoever was a junior speaks for
 * themselves. Asked by the writer: an answer is of this very moment. */
static enum store_status put_job(struct store_db *db, struct write *write)
{
    bool pictures;
    const enum store_status status = store_consent_pictures(db, write->call.student_id, &pictures);
    if (status != STORE_OK) {
        return status;
    }
    if (!pictures) {
        return write_refuse(write, 409, "consent-missing", NULL,
                            "Consent must be recorded before any picture is stored: a guardian's for a junior, and the "
                            "student's own once grown up.");
    }
    return store_still_put(db, write->data);
}

/* The checked and stripped picture of the body. False: answered. */
static bool picture_read(struct call *call, struct store_still *still)
{
    struct still picture;
    size_t length;
    const char *why;
    const char *body = exchange_body(call->exchange, &length);
    if (!still_read(body, length, call->arena, &picture, &why)) {
        exchange_problem(call->exchange, 422, "invalid-picture", NULL, "The picture %s.", why);
        return false;
    }
    const char *told = exchange_header(call->exchange, "Content-Type");
    const char *type = still_type_name(picture.type);
    if (told == NULL || strncmp(told, type, strlen(type)) != 0) {
        exchange_problem(call->exchange, 422, "invalid-picture", NULL,
                         "The picture is %s, and was sent as another kind.", type);
        return false;
    }
    (void)snprintf(still->media_type, sizeof still->media_type, "%s", type);
    still->width = picture.width;
    still->height = picture.height;
    still->picture = (const char *)picture.data;
    still->picture_size = picture.size;
    (void)crypto_hash_sha256(still->picture_hash, picture.data, picture.size);
    return true;
}

void stills_put(struct call *call)
{
    enum view_kind view;
    enum checkpoint checkpoint;
    struct json_out out;
    struct store_still *still = arena_alloc(call->arena, sizeof *still);
    if (still == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!name_read(call, &view, &checkpoint) || !picture_read(call, still)) {
        return;
    }
    uuid7_new(still->id);
    (void)snprintf(still->swing_id, sizeof still->swing_id, "%s", exchange_capture(call->exchange, 0));
    (void)snprintf(still->view, sizeof still->view, "%s", view_kind_name(view));
    (void)snprintf(still->checkpoint, sizeof still->checkpoint, "%s", checkpoint_name(checkpoint));
    memcpy(still->put_by, call->principal->account_id, sizeof still->put_by);
    still->created = call->now;
    struct write *write = write_new(call, put_job, still);
    if (write == NULL) {
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    still_json(&out, still);
    json_out_end_object(&out);
    if (!answer_write(write, &out, 200)) {
        answer_no_memory(call);
        return;
    }
    answer_audit(write, "still.put", "still", still->id, call->student_id);
    call_write(write);
}

/* ---- removing ---- */

struct removal {
    enum view_kind view;
    enum checkpoint checkpoint;
};

static enum store_status remove_job(struct store_db *db, struct write *write)
{
    const struct removal *removal = write->data;
    char id[UUID_TEXT] = "";
    const enum store_status status =
        store_still_remove(db, exchange_capture(write->call.exchange, 0), view_kind_name(removal->view),
                           checkpoint_name(removal->checkpoint), id);
    answer_audit(write, "still.remove", "still", id, write->call.student_id);
    return status;
}

void stills_remove(struct call *call)
{
    struct removal *removal = arena_alloc(call->arena, sizeof *removal);
    if (removal == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!name_read(call, &removal->view, &removal->checkpoint)) {
        return;
    }
    struct write *write = write_new(call, remove_job, removal);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}

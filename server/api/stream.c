/* See stream.h. */
#include "api/stream.h"

#include <string.h>

struct stream {
    struct store *store;
    struct store_blob blob;
    const char *head, *tail;
    size_t head_size, tail_size;
};

/* As much of text as fits, from `at` on. */
static size_t text_read(const char *text, size_t length, uint64_t at, char *out, size_t size)
{
    const size_t left = length - (size_t)at;
    const size_t piece = left < size ? left : size;
    memcpy(out, text + at, piece);
    return piece;
}

/* On an HTTP thread, with that thread's reader. */
static size_t stream_read(void *context, uint64_t at, char *out, size_t size)
{
    const struct stream *stream = context;
    if (at < stream->head_size) {
        return text_read(stream->head, stream->head_size, at, out, size);
    }
    at -= stream->head_size;
    if (at >= stream->blob.size) {
        return text_read(stream->tail, stream->tail_size, at - stream->blob.size, out, size);
    }
    const uint64_t left = stream->blob.size - at;
    const size_t piece = left < size ? (size_t)left : size;
    struct store_db *db = store_reader(stream->store);
    const enum store_status status = db == NULL ? STORE_ERROR : store_blob_read(db, &stream->blob, at, out, piece);
    return status == STORE_OK ? piece : 0;
}

void stream_reply(struct call *call, const char *content_type, const char *head, const struct store_blob *blob,
                  const char *tail)
{
    struct stream *stream = arena_alloc(call->arena, sizeof *stream);
    if (stream == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return;
    }
    *stream = (struct stream){.store = call->api->store,
                              .blob = *blob,
                              .head = head,
                              .tail = tail,
                              .head_size = head == NULL ? 0 : strlen(head),
                              .tail_size = tail == NULL ? 0 : strlen(tail)};
    exchange_reply_stream(call->exchange, 200, content_type, stream->head_size + blob->size + stream->tail_size,
                          stream_read, NULL, stream);
}

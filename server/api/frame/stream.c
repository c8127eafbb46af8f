/* See stream.h. */
#include "api/frame/stream.h"

#include <string.h>

/* Each reading finds its place along the whole column before it, so it takes much; the line takes little at a time,
 * lest one long answer hold up the others of its thread. */
#define AHEAD ((size_t)256 << 10)

struct stream {
    struct store *store;
    struct store_blob blob;
    char *ahead; /* the blob's bytes from ahead_at on */
    uint64_t ahead_at;
    size_t ahead_size, ahead_room;
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

/* With this HTTP thread's reader. */
static bool read_ahead(struct stream *stream, uint64_t at)
{
    const uint64_t left = stream->blob.size - at;
    const size_t size = left < stream->ahead_room ? (size_t)left : stream->ahead_room;
    struct store_db *db = store_reader(stream->store);
    stream->ahead_at = at;
    stream->ahead_size = 0;
    if (db == NULL || store_blob_read(db, &stream->blob, at, stream->ahead, size) != STORE_OK) {
        return false;
    }
    stream->ahead_size = size;
    return true;
}

static size_t stream_read(void *context, uint64_t at, char *out, size_t size)
{
    struct stream *stream = context;
    if (at < stream->head_size) {
        return text_read(stream->head, stream->head_size, at, out, size);
    }
    at -= stream->head_size;
    if (at >= stream->blob.size) {
        return text_read(stream->tail, stream->tail_size, at - stream->blob.size, out, size);
    }
    if ((at < stream->ahead_at || at >= stream->ahead_at + stream->ahead_size) && !read_ahead(stream, at)) {
        return 0;
    }
    return text_read(stream->ahead, stream->ahead_size, at - stream->ahead_at, out, size);
}

void stream_reply(struct call *call, const char *content_type, const char *head, const struct store_blob *blob,
                  const char *tail)
{
    struct stream *stream = arena_alloc(call->arena, sizeof *stream);
    const size_t room = blob->size < AHEAD ? blob->size : AHEAD;
    char *ahead = arena_alloc(call->arena, room == 0 ? 1 : room);
    if (stream == NULL || ahead == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return;
    }
    *stream = (struct stream){.store = call->api->store,
                              .blob = *blob,
                              .ahead = ahead,
                              .ahead_room = room,
                              .head = head,
                              .tail = tail,
                              .head_size = head == NULL ? 0 : strlen(head),
                              .tail_size = tail == NULL ? 0 : strlen(tail)};
    exchange_reply_stream(call->exchange, 200, content_type, stream->head_size + blob->size + stream->tail_size,
                          stream_read, NULL, stream);
}

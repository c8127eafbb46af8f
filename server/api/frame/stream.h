/* Answers out of the store's large columns, sent in pieces as they are fetched: no copy is held. */
#ifndef LEADSIDE_API_FRAME_STREAM_H
#define LEADSIDE_API_FRAME_STREAM_H

#include "api/frame/call.h"
#include "store/engine/blob.h"

/* 200 with head, the blob's bytes, tail; the two texts may be NULL, and live in the arena or are static. */
void stream_reply(struct call *call, const char *content_type, const char *head, const struct store_blob *blob,
                  const char *tail);

#endif

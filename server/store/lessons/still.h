/* Stills of swings: one picture for each view and checkpoint, already stripped and checked. */
#ifndef LEADSIDE_STORE_LESSONS_STILL_H
#define LEADSIDE_STORE_LESSONS_STILL_H

#include "store/engine/blob.h"
#include "store/engine/store.h"

#define STORE_STILL_WORD 32 /* "down_the_line", "shaft_through", "image/jpeg", with the final NUL */

struct store_still {
    char id[UUID_TEXT];
    char swing_id[UUID_TEXT];
    char view[STORE_STILL_WORD], checkpoint[STORE_STILL_WORD], media_type[STORE_STILL_WORD];
    int width, height;
    char put_by[UUID_TEXT];
    int64_t created;
    uint8_t picture_hash[STORE_HASH];
    const char *picture; /* to be put; read it by store_still_blob */
    size_t picture_size;
};

struct store_still_list {
    struct store_still *items;
    size_t count;
    bool more;
};

/* The picture of such a row, to be read in pieces. */
struct store_blob store_still_blob(const struct store_still *still);
/* Takes the place of one that is there for the same view and checkpoint. STORE_NOT_FOUND: no such swing. */
enum store_status store_still_put(struct store_db *db, const struct store_still *still) STORE_CHECKED;
/* Without its picture. */
enum store_status store_still_get(struct store_db *db, const char *swing_id, const char *view, const char *checkpoint,
                                  struct arena *arena, struct store_still *out) STORE_CHECKED;
/* All of a swing's, by view and checkpoint, without pictures. */
enum store_status store_still_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                   struct store_still_list *out) STORE_CHECKED;
/* id: of the removed one. */
enum store_status store_still_remove(struct store_db *db, const char *swing_id, const char *view,
                                     const char *checkpoint, char id[UUID_TEXT]) STORE_CHECKED;

#endif

/* A student handed over from one coach to another: offered, then accepted or declined. */
#ifndef LEADSIDE_STORE_PEOPLE_HANDOVER_H
#define LEADSIDE_STORE_PEOPLE_HANDOVER_H

#include "core/names.h"
#include "store/engine/store.h"

#define STORE_HANDOVER_STATUS_NAMES(X)                                                                                 \
    X(STORE_HANDOVER_OFFERED, "offered")                                                                               \
    X(STORE_HANDOVER_ACCEPTED, "accepted")                                                                             \
    X(STORE_HANDOVER_DECLINED, "declined")

enum store_handover_status { STORE_HANDOVER_STATUS_NAMES(NAMES_ENUM) STORE_HANDOVER_STATUS_COUNT };

const char *store_handover_status_name(enum store_handover_status value);
bool store_handover_status_parse(const char *name, enum store_handover_status *out);

struct store_handover {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    char from_id[UUID_TEXT], to_id[UUID_TEXT]; /* whose student it was, and whose it is to be */
    char offered_by[UUID_TEXT];                /* on the way in "" = from_id */
    const char *note;
    bool stays; /* the former coach, on the team */
    int64_t created;
    enum store_handover_status status;
    char answered_by[UUID_TEXT]; /* "" while offered */
    int64_t answered_at;         /* 0 while offered */
    const char *reason;          /* why declined; may be NULL */
    int64_t version;
    /* Filled on reading alone: */
    const char *student_name;
    const char *from_name, *to_name; /* NULL: the account is gone */
};

struct store_handover_list {
    struct store_handover *items;
    size_t count;
    bool more;
};

/* As it is given, offered or answered. STORE_CONFLICT: this student is offered to that coach already. */
enum store_status store_handover_insert(struct store_db *db, const struct store_handover *handover) STORE_CHECKED;
enum store_status store_handover_get(struct store_db *db, const char *id, struct arena *arena,
                                     struct store_handover *out) STORE_CHECKED;
/* Newest first. */
enum store_status store_handover_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                      struct arena *arena, struct store_handover_list *out) STORE_CHECKED;
/* What is offered to this coach, at most STORE_PAGE_MAX. */
enum store_status store_handover_offered(struct store_db *db, const char *to_id, struct arena *arena,
                                         struct store_handover_list *out) STORE_CHECKED;
/* Status, who answered, when and why; of one that is offered still. */
enum store_status store_handover_answer(struct store_db *db, const struct store_handover *handover) STORE_CHECKED;

#endif

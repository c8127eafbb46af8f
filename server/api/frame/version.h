/* What the club replaces whole, over HTTP: the version in force to read, and a new one put in its place under If-Match.
 * Those that came before are kept. */
#ifndef LEADSIDE_API_FRAME_VERSION_H
#define LEADSIDE_API_FRAME_VERSION_H

#include "api/frame/call.h"
#include "store/club/version.h"
#include "wire/json/error.h"
#include "wire/json/out.h"

/* One kind of it. */
struct versioned {
    enum store_version_kind kind;
    const char *name;    /* in the audit and in front of the document: "standard" */
    const char *action;  /* "standard.replace" */
    const char *problem; /* the type of a refusal: "invalid-standard" */
    /* What comes with the program while the club has none of its own; may be NULL. */
    const char *(*shipped)(size_t *size);
    /* Is version->json good? May fill in the label. */
    bool (*check)(struct arena *arena, struct store_version *version, struct wire_error *error);
    /* Members of the answer beside those that all have; may be NULL. */
    void (*more)(struct json_out *out);
};

/* The version in force, as kept or as shipped. */
enum store_status version_current(struct call *call, const struct versioned *what,
                                  struct store_version *out) STORE_CHECKED;

/* Answers with a version; etag false: it is not the one in force, and can't be edited. */
void version_answer(struct call *call, const struct versioned *what, const struct store_version *version, bool etag);
void version_get(struct call *call, const struct versioned *what);
void version_put(struct call *call, const struct versioned *what);
/* The same with a document that was made here; it lives until the answer. detail: of the audit, JSON or NULL. */
void version_replace(struct call *call, const struct versioned *what, const char *json, size_t size,
                     const char *detail);

#endif

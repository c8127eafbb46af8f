/* See precondition.h. */
#include "api/frame/precondition.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

#define HASH_BYTES 16 /* the least that is made; half of them are shown */

/* One entity-tag at *at (RFC 9110, 8.8.3), which moves behind it; false when there is none. */
static bool tag_read(const char **at, bool *is_weak, const char **start, size_t *length)
{
    const char *c = *at;
    *is_weak = strncmp(c, "W/", 2) == 0;
    c += *is_weak ? 2 : 0;
    *start = c;
    if (*c++ != '"') {
        return false;
    }
    while (*c == 0x21 || (unsigned char)*c >= 0x80 || (*c >= 0x23 && *c <= 0x7e)) {
        c++;
    }
    *length = (size_t)(c - *start) + 1;
    *at = c + 1;
    return *c == '"';
}

static bool same(const char *start, size_t length, const char *tag, bool by_version)
{
    if (length == strlen(tag) && memcmp(start, tag, length) == 0) {
        return true;
    }
    const size_t own = strcspn(tag + 1, "-\"") + 1;
    size_t sent = 1;
    while (sent < length - 1 && start[sent] != '-') {
        sent++;
    }
    return by_version && own == sent && memcmp(start, tag, own) == 0;
}

enum precondition precondition_judge(const char *field, const char *tag, bool weak, bool by_version)
{
    bool found = false;
    int count = 0;
    if (field == NULL) {
        return PRECONDITION_ABSENT;
    }
    if (strcmp(field, "*") == 0) {
        return PRECONDITION_MATCHES;
    }
    for (const char *at = field + strspn(field, ", \t"); *at != '\0'; count++) {
        const char *start;
        size_t length;
        bool is_weak;
        if (!tag_read(&at, &is_weak, &start, &length)) {
            return PRECONDITION_MALFORMED;
        }
        found = found || ((weak || !is_weak) && same(start, length, tag, by_version));
        at += strspn(at, " \t");
        if (*at != '\0' && *at != ',') {
            return PRECONDITION_MALFORMED;
        }
        at += strspn(at, ", \t"); /* a list may have empty places */
    }
    return count == 0 ? PRECONDITION_MALFORMED : found ? PRECONDITION_MATCHES : PRECONDITION_DIFFERS;
}

void precondition_tag(int64_t version, const char *text, size_t length, char out[PRECONDITION_TAG])
{
    unsigned char hash[HASH_BYTES];
    char hex[2 * HASH_BYTES + 1];
    if (text == NULL) {
        (void)snprintf(out, PRECONDITION_TAG, "\"%lld\"", (long long)version);
        return;
    }
    (void)crypto_generichash(hash, sizeof hash, (const unsigned char *)text, length, NULL, 0);
    sodium_bin2hex(hex, sizeof hex, hash, 8);
    (void)snprintf(out, PRECONDITION_TAG, "\"%lld-%s\"", (long long)version, hex);
}

static void malformed(struct call *call, const char *name)
{
    exchange_problem(call->exchange, 400, "malformed-tag", NULL,
                     "%s must be * or ETags of this server, with commas between, like \"3\".", name);
}

bool precondition_edit(struct call *call, int64_t version)
{
    char tag[PRECONDITION_TAG];
    precondition_tag(version, NULL, 0, tag);
    switch (precondition_judge(exchange_header(call->exchange, "If-Match"), tag, false, true)) {
    case PRECONDITION_MATCHES:
        return true;
    case PRECONDITION_ABSENT:
        exchange_problem(call->exchange, 428, "precondition-required", NULL,
                         "If-Match is missing: send the ETag of what you read.");
        break;
    case PRECONDITION_DIFFERS:
        call_problem_store(call, STORE_STALE);
        break;
    case PRECONDITION_MALFORMED:
        malformed(call, "If-Match");
        break;
    }
    return false;
}

bool precondition_unchanged(struct call *call, const char *tag)
{
    switch (precondition_judge(exchange_header(call->exchange, "If-None-Match"), tag, true, false)) {
    case PRECONDITION_MATCHES:
        exchange_reply_empty(call->exchange, 304);
        return true;
    case PRECONDITION_MALFORMED:
        malformed(call, "If-None-Match");
        return true;
    case PRECONDITION_ABSENT:
    case PRECONDITION_DIFFERS:
        break;
    }
    return false;
}

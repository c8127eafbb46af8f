/* From what a request carries to who is asking. */
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "auth/principal.h"
#include "auth/token.h"

_Static_assert(TOKEN_HASH == STORE_HASH, "a token's hash is what the store keeps");

bool auth_is_fresh(const struct principal *principal, int64_t now)
{
    int64_t age = now - principal->confirmed_at;
    return principal->confirmed_at != 0 && age >= -60000 && age < PRINCIPAL_FRESH_MS;
}

const char *auth_bearer(const char *authorization)
{
    static const char scheme[] = "Bearer ";
    if (authorization == NULL || strncasecmp(authorization, scheme, sizeof scheme - 1) != 0) {
        return NULL;
    }
    const char *token = authorization + sizeof scheme - 1;
    return token + strspn(token, " ");
}

enum store_status auth_authenticate(struct store_db *db, const char *token, bool by_cookie, int64_t now,
                                    struct principal *out)
{
    uint8_t hash[TOKEN_HASH];
    struct store_session_identity identity;
    if (!token_hash(token, hash)) {
        return STORE_NOT_FOUND;
    }
    enum store_status status = store_session_find(db, hash, now, &identity);
    if (status != STORE_OK) {
        return status;
    }
    if ((identity.kind == STORE_COOKIE) != by_cookie) {
        return STORE_NOT_FOUND;
    }
    *out = (struct principal){.role = identity.role,
                              .by_cookie = by_cookie,
                              .password_temporary = identity.password_temporary,
                              .touch = now - identity.last_seen >= PRINCIPAL_TOUCH_MS,
                              .expires = identity.expires,
                              .confirmed_at = identity.confirmed_at};
    memcpy(out->account_id, identity.account_id, sizeof out->account_id);
    memcpy(out->student_id, identity.student_id, sizeof out->student_id);
    memcpy(out->session_id, identity.session_id, sizeof out->session_id);
    memcpy(out->device_id, identity.device_id, sizeof out->device_id);
    return STORE_OK;
}

bool auth_origin_ok(const char *origin, const char *sec_fetch_site, const char *host, bool secure)
{
    const char *scheme = secure ? "https://" : "http://";
    if (sec_fetch_site != NULL && strcmp(sec_fetch_site, "same-origin") != 0) {
        return false;
    }
    /* also not "null", of a sandboxed page for one */
    if (origin == NULL || strncasecmp(origin, scheme, strlen(scheme)) != 0) {
        return false;
    }
    return host != NULL && *host != '\0' && strcasecmp(origin + strlen(scheme), host) == 0;
}

void auth_cookie_format(const char *token, int64_t max_age_seconds, bool secure, char out[AUTH_COOKIE_TEXT])
{
    snprintf(out, AUTH_COOKIE_TEXT, "%s=%s; Path=/; Max-Age=%lld; HttpOnly; SameSite=Strict%s",
             secure ? PRINCIPAL_COOKIE_SECURE : PRINCIPAL_COOKIE, token == NULL ? "" : token,
             (long long)(token == NULL ? 0 : max_age_seconds), secure ? "; Secure" : "");
}

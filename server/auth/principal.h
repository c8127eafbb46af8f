/* Who is asking: from a token's text to the account behind it, in one look-up. Nothing is cached, so a revoked session
 * ends with its next request. */
#ifndef LEADSIDE_AUTH_PRINCIPAL_H
#define LEADSIDE_AUTH_PRINCIPAL_H

#include <stdbool.h>
#include <stdint.h>

#include "store/people/session.h"

#define PRINCIPAL_COOKIE "leadside_session"
#define PRINCIPAL_COOKIE_SECURE "__Host-leadside_session" /* behind TLS */
#define PRINCIPAL_DEVICE_HEADER "X-Leadside-Device"
#define PRINCIPAL_ACCOUNT_HEADER "X-Leadside-Account" /* optional: the id of the account a page speaks for */
#define PRINCIPAL_TOUCH_MS 60000
#define PRINCIPAL_FRESH_MS 600000 /* a proof of who is asking counts for ten minutes */

struct principal {
    char account_id[UUID_TEXT];
    char student_id[UUID_TEXT]; /* role student: self; otherwise "" */
    char session_id[UUID_TEXT];
    char device_id[UUID_TEXT]; /* "" = not on a club's tablet */
    enum store_role role;
    bool by_cookie;          /* came by a browser's cookie: unsafe methods need auth_origin_ok */
    bool password_temporary; /* may only change the password, sign out and read /v1/me */
    bool touch;              /* last seen a minute ago or more: worth a store_session_touch */
    int64_t expires;
    int64_t confirmed_at; /* when the caller last proved who that is; 0 = never */
};

/* Has the caller proved within the last PRINCIPAL_FRESH_MS who that is? A proof of the future (the clock was set back)
 * is none, a minute apart. */
bool auth_is_fresh(const struct principal *principal, int64_t now);

/* The token in an Authorization header: what follows "Bearer " (any case). NULL when header is NULL or of another kind.
 */
const char *auth_bearer(const char *authorization);

/* Fills out. STORE_NOT_FOUND: no such token, expired, revoked, or sent by the other way than it was issued for
 * (a cookie's token is no bearer token and the reverse). Other results are faults of the store. */
enum store_status auth_authenticate(struct store_db *db, const char *token, bool by_cookie, int64_t now,
                                    struct principal *out) STORE_CHECKED;

/* May a request carried by a cookie change something? Asks Sec-Fetch-Site, which must be "same-origin" when sent, and
 * the Origin, which must be sent and name the same host and port as the Host header, and the scheme: https behind TLS
 * (secure), http otherwise. "none" (typed by a person) and
 * "same-site" are refused: nothing of ours sends an unsafe request that way. */
bool auth_origin_ok(const char *origin, const char *sec_fetch_site, const char *host, bool secure);

/* Set-Cookie value of a new session, or with token NULL one that removes it. secure: __Host- name, Secure. */
#define AUTH_COOKIE_TEXT 192
void auth_cookie_format(const char *token, int64_t max_age_seconds, bool secure, char out[AUTH_COOKIE_TEXT]);

#endif

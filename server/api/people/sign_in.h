/* A session in the making, shared by signing in and joining by a link. */
#ifndef LEADSIDE_API_PEOPLE_SIGN_IN_H
#define LEADSIDE_API_PEOPLE_SIGN_IN_H

#include "api/frame/call.h"
#include "auth/password.h"
#include "auth/sign_in_name.h"
#include "auth/token.h"
#include "store/people/session.h"

struct sign_in {
    char key[SIGN_IN_KEY_TEXT];
    bool cookie;
    const char *code; /* of the second factor; NULL = none was given */
    struct store_account account;
    struct store_session session;
    char token[TOKEN_TEXT];
    uint8_t token_hash[TOKEN_HASH];
    char new_hash[PASSWORD_HASH_TEXT];
    uint8_t invitation_hash[TOKEN_HASH]; /* of joining */
    bool replaces;                       /* this browser carries a session already: it ends */
    uint8_t replaced_hash[TOKEN_HASH];
};

/* May this page ask for a cookie? False: answered. */
bool sign_in_origin(struct call *call, const struct sign_in *sign_in);
/* Makes the session of sign_in->account and answers as a sign-in does. job gets the sign_in as its data; it must call
 * sign_in_insert after its own work. */
void sign_in_session(struct call *call, struct sign_in *sign_in,
                     enum store_status (*job)(struct store_db *, struct write *));
/* Inside the job: the session's row, with its row in the audit under this action. */
enum store_status sign_in_insert(struct store_db *db, struct write *write, const char *action) STORE_CHECKED;

#endif

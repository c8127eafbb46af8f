/* Accounts made from the host's command line: by init (the head) and by account. */
#ifndef LEADSIDE_PEOPLE_H
#define LEADSIDE_PEOPLE_H

#include <stdbool.h>

#include "auth/password.h"
#include "store/account.h"

#define PEOPLE_PASSWORD_TEXT (PASSWORD_LENGTH_MAX + 2)

/* Asks for a password: twice without echo on a terminal, otherwise the first line of standard input. False with a
 * sentence on standard error when it can't be one. sign_in: whose. */
bool people_ask_password(const char *sign_in, char out[PEOPLE_PASSWORD_TEXT]) __attribute__((warn_unused_result));

/* In a write job: adds the account (role, name, sign_in and password_hash given) with its audit row. */
enum store_status people_add(struct store_db *db, struct store_account *account, int64_t now) STORE_CHECKED;

#endif

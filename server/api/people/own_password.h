/* A password somebody wants to have from now on. */
#ifndef LEADSIDE_API_PEOPLE_OWN_PASSWORD_H
#define LEADSIDE_API_PEOPLE_OWN_PASSWORD_H

#include "api/frame/call.h"
#include "auth/password.h"
#include "store/people/account.h"

/* password_check against the account's names and the club's. */
enum password_fault own_password_check(struct call *call, const char *password, const struct store_account *account);

#endif

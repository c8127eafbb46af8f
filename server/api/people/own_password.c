/* See own_password.h. */
#include "api/people/own_password.h"

#include "store/club/club.h"

enum password_fault own_password_check(struct call *call, const char *password, const struct store_account *account)
{
    struct store_club club;
    struct password_about about = {.sign_in = account->sign_in, .name = account->name};
    if (call->db != NULL && store_club_get(call->db, call->arena, &club) == STORE_OK) {
        about.club = club.name;
    }
    return password_check(password, &about);
}

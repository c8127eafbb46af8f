/* See sign_in_name.h. */
#include "auth/sign_in_name.h"

#include <sodium.h>
#include <string.h>

bool sign_in_name_key(const char *typed, char out[SIGN_IN_KEY_TEXT])
{
    size_t length = strlen(typed);
    if (length == 0 || length > SIGN_IN_NAME_MAX || typed[0] == ' ' || typed[length - 1] == ' ') {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)typed[i];
        if (c < 0x20 || c == 0x7f) {
            return false;
        }
        out[i] = (char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
    }
    out[length] = '\0';
    return true;
}

void password_invent_text(char out[PASSWORD_INVENTED_TEXT])
{
    static const char letters[] = "abcdefghjkmnpqrstuvwxyz23456789";
    for (int i = 0; i < PASSWORD_INVENTED_TEXT - 1; i++) {
        out[i] = i % 5 == 4 ? '-' : letters[randombytes_uniform(sizeof letters - 1)];
    }
    out[PASSWORD_INVENTED_TEXT - 1] = '\0';
}

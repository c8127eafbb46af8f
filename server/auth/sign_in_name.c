/* Sign-in names are plain ASCII, so that two that look alike are the same. */
#include "auth/sign_in_name.h"

#include <stddef.h>
#include <string.h>

bool sign_in_name_fold(const char *typed, char out[SIGN_IN_NAME_TEXT])
{
    size_t length = typed == NULL ? 0 : strlen(typed);
    if (length < 2 || length > SIGN_IN_NAME_MAX) {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        char c = typed[i];
        if (c >= 'A' && c <= 'Z') {
            c = (char)(c - 'A' + 'a');
        }
        bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        if (!plain && strchr("._-+@", c) == NULL) {
            return false;
        }
        out[i] = c;
    }
    out[length] = '\0';
    return true;
}

/* Sign-in names as they are compared, and passwords made up by the server. */
#ifndef LEADSIDE_AUTH_SIGN_IN_NAME_H
#define LEADSIDE_AUTH_SIGN_IN_NAME_H

#include <stdbool.h>

#define SIGN_IN_NAME_MAX 200 /* bytes */
#define SIGN_IN_KEY_TEXT (SIGN_IN_NAME_MAX + 1)
#define PASSWORD_INVENTED_TEXT 20

/* ASCII letters made small; everything else must be the same. False: empty, too long, control characters, or a space at
 * an end. */
bool sign_in_name_key(const char *typed, char out[SIGN_IN_KEY_TEXT]) __attribute__((warn_unused_result));

/* Four groups of four letters and digits that are not mistaken for each other: 79 random bits. */
void password_invent_text(char out[PASSWORD_INVENTED_TEXT]);

#endif

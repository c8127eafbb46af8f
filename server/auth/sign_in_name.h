/* Sign-in names: what may be one, and the form in which two are compared. */
#ifndef LEADSIDE_AUTH_SIGN_IN_NAME_H
#define LEADSIDE_AUTH_SIGN_IN_NAME_H

#include <stdbool.h>

#define SIGN_IN_NAME_MAX 64 /* characters */
#define SIGN_IN_NAME_TEXT (SIGN_IN_NAME_MAX + 1)
#define SIGN_IN_NAME_RULE "a sign-in name has 2 to 64 letters (a to z), digits or . _ - + @"

/* Folds a typed name to the form that is compared: ASCII letters in lower case. False when it may not be one. */
bool sign_in_name_fold(const char *typed, char out[SIGN_IN_NAME_TEXT]) __attribute__((warn_unused_result));

#endif

/* What a text may hold that people read: nothing that can't be seen and changes what is seen. */
#ifndef LEADSIDE_BASE_PLAIN_TEXT_H
#define LEADSIDE_BASE_PLAIN_TEXT_H

#include <stdbool.h>

enum plain_text_kind {
    /* Names of people, accounts, devices, drills; one line. No control characters, line and paragraph separators, marks
     * and overrides of writing direction, byte-order marks, fillers, tags and other characters without a shape of their
     * own (Unicode: Default_Ignorable_Code_Point, Bidi_Control), and not blanks alone. Zero-width joiners and
     * non-joiners only behind a letter of a script that may need them (not Latin, Greek or Cyrillic); variation
     * selectors stay. */
    PLAIN_NAME,
    /* Notes, comments, reasons: newlines and tabs, but no other control characters. */
    PLAIN_PROSE,
};

#define PLAIN_WHY 80

/* Is this UTF-8 text such a one? False with what is wrong in why: "must not hold the invisible character U+202E". */
bool plain_text_check(const char *text, enum plain_text_kind kind, char why[PLAIN_WHY])
    __attribute__((warn_unused_result));

#endif

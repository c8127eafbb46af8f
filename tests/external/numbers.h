/* What the drivers of the external checks share. */
#ifndef LEADSIDE_TESTS_EXTERNAL_NUMBERS_H
#define LEADSIDE_TESTS_EXTERNAL_NUMBERS_H

#include <stdlib.h>

/* Reads numbers with blanks between them until something else comes, at most `most`; gives how many. */
static inline int read_numbers(const char *text, double *numbers, int most)
{
    int n = 0;
    char *end;
    while (n < most) {
        numbers[n] = strtod(text, &end);
        if (end == text) {
            break;
        }
        n++;
        text = end;
    }
    return n;
}

#endif

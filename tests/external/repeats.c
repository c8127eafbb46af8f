/* Driver of check_repeats.py. A line: "pool N" then value and se of each, or "repeat N K" then N*K values. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/pooling.h"
#include "core/reliability.h"

#define MOST 4096

static void pool(char *at)
{
    static struct pooling_trial trials[MOST];
    const int n = (int)strtol(at, &at, 10);
    for (int i = 0; i < n && i < MOST; i++) {
        trials[i].value = strtod(at, &at);
        trials[i].se = strtod(at, &at);
    }
    const struct pooling of = pooling_of(trials, n);
    printf("%.15g %.15g %.15g %.15g", of.mean, of.low, of.high, of.tau);
    for (int i = 0; i < n; i++) {
        printf(" %.15g", trials[i].pooled);
    }
    puts("");
}

static void repeat(char *at)
{
    static double values[MOST];
    struct reliability of;
    const int n = (int)strtol(at, &at, 10);
    const int k = (int)strtol(at, &at, 10);
    for (int i = 0; i < n * k && i < MOST; i++) {
        values[i] = strtod(at, &at);
    }
    if (reliability_of(values, n, k, &of)) {
        printf("%.15g %.15g %.15g %.15g %.15g %.15g %.15g\n", of.mean, of.icc_agreement, of.icc_consistency, of.between,
               of.within, of.sem, of.mdc);
    } else {
        puts("none");
    }
}

int main(void)
{
    static char line[1 << 18];
    while (fgets(line, sizeof line, stdin) != NULL) {
        if (strncmp(line, "pool ", 5) == 0) {
            pool(line + 5);
        } else {
            repeat(line + 7);
        }
    }
    return 0;
}

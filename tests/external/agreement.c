/* Driver of check_agreement.py. A line: "pair K WEIGHTED SWINGS" then K*K counts for each, or "many K SWINGS" then K.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/agreement.h"

#define SWINGS_MAX 4096

static int next(char **at)
{
    return (int)strtol(*at, at, 10);
}

static struct agreement read_pair(char *at)
{
    static struct agreement_pair swings[SWINGS_MAX];
    const int k = next(&at);
    const int weighted = next(&at);
    const int count = next(&at);
    memset(swings, 0, sizeof swings);
    for (int s = 0; s < count && s < SWINGS_MAX; s++) {
        for (int i = 0; i < k; i++) {
            for (int j = 0; j < k; j++) {
                swings[s].said[i][j] = next(&at);
            }
        }
    }
    return agreement_of_pair(swings, count, k, weighted != 0);
}

static struct agreement read_many(char *at)
{
    static struct agreement_many swings[SWINGS_MAX];
    const int k = next(&at);
    const int count = next(&at);
    memset(swings, 0, sizeof swings);
    for (int s = 0; s < count && s < SWINGS_MAX; s++) {
        for (int i = 0; i < k; i++) {
            swings[s].said[i] = next(&at);
        }
    }
    return agreement_of_many(swings, count, k);
}

int main(void)
{
    static char line[1 << 20];
    while (fgets(line, sizeof line, stdin) != NULL) {
        const struct agreement of = strncmp(line, "pair ", 5) == 0 ? read_pair(line + 5) : read_many(line + 5);
        printf("%d %d %.15g %.15g %.15g %.15g\n", of.defined, of.bounded, of.agreed, of.kappa, of.low, of.high);
    }
    return 0;
}

/* Driver of check_weight.py. Each line: x y of every point in catalogue order, "-" for one not seen -> com x y share.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/weight.h"

int main(void)
{
    static char line[8192];
    while (fgets(line, sizeof line, stdin) != NULL) {
        struct weight_point points[POINT_COUNT] = {0};
        double x, y, share;
        char *word = strtok(line, " \n");
        for (int p = 0; p < POINT_COUNT && word != NULL; p++) {
            if (strcmp(word, "-") != 0) {
                points[p].seen = true;
                points[p].x = strtod(word, NULL);
                word = strtok(NULL, " \n");
                points[p].y = word ? strtod(word, NULL) : 0;
            }
            word = strtok(NULL, " \n");
        }
        if (weight_com(points, &x, &y) && weight_share(points, 1e-6, &share)) {
            printf("%.15g %.15g %.15g\n", x, y, share);
        } else {
            puts("none");
        }
    }
    return 0;
}

/* Driver: each line "threshold n, then n times: side ok strong weight mean sd slip sd_slip blind, then the correlations
 * [i][j] of i > j" -> "p expected..." of the core. */
#include <stdio.h>

#include "core/fault.h"

int main(void)
{
    double threshold;
    int n;
    while (scanf("%lf %d", &threshold, &n) == 2 && n >= 1 && n <= SIGNS_MAX) {
        struct uncertain_sign signs[SIGNS_MAX];
        for (int i = 0; i < n; i++) {
            int side;
            double ok;
            double strong;
            struct uncertain_sign *sign = &signs[i];
            *sign = (struct uncertain_sign){.weight = 0};
            if (scanf("%d %lf %lf %lf %lf %lf %lf %lf %lf", &side, &ok, &strong, &sign->weight, &sign->mean, &sign->sd,
                      &sign->slip, &sign->sd_slip, &sign->blind) != 9) {
                return 1;
            }
            sign->side = side == 0 ? SIDE_LOW : SIDE_HIGH;
            if (side == 0) {
                sign->range.ok_low = (struct maybe){true, ok};
                sign->range.strong_low = (struct maybe){true, strong};
            } else {
                sign->range.ok_high = (struct maybe){true, ok};
                sign->range.strong_high = (struct maybe){true, strong};
            }
        }
        struct sign_shares shared;
        for (int i = 1; i < n; i++) {
            for (int k = 0; k < i; k++) {
                if (scanf("%lf", &shared.of[i][k]) != 1) {
                    return 1;
                }
            }
        }
        printf("%.12g", fault_probability(signs, n, threshold, &shared));
        for (int i = 0; i < n; i++) {
            printf(" %.12g", fault_expected_severity(&signs[i]));
        }
        printf("\n");
    }
    return 0;
}

/* Driver of check_transfer.py. Requests: "exact A0..A3 B0..B3", "spread A0..A3 B0..B3 EFFECT EFFECT FREEDOM",
 * "difference N OF N OF EFFECT EFFECT", and "compare DAYS" with PLACE and the three kinds of count of each day. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/transfer.h"
#include "external/numbers.h"

#define NUMBERS_MAX (TRANSFER_DAYS_MAX * 13 + 1)

static struct counts_row row_of(const double *numbers)
{
    struct counts_row row;
    for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
        row.of[i] = (int)numbers[i];
    }
    return row;
}

/* Of each aspect: verdict, what stands out, p. */
static void compare(const double *numbers, int days)
{
    static struct transfer_day list[TRANSFER_DAYS_MAX];
    static struct transfer out;
    for (int d = 0; d < days; d++) {
        const double *of = numbers + 13 * (size_t)d;
        list[d].place = (enum transfer_place)of[0];
        for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
            list[d].counts[a] = row_of(of + 1 + 4 * (size_t)a);
        }
    }
    transfer_compare(list, days, &out);
    printf("%s %.9g", transfer_verdict_name(out.verdict), out.same_day);
    for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
        const struct transfer_finding *finding = &out.findings[a];
        printf(" %s %d %.9g %.9g %.9g", transfer_verdict_name(finding->verdict), finding->stands_out, finding->p,
               finding->difference.low, finding->difference.high);
    }
    putchar('\n');
}

int main(void)
{
    static char line[1 << 17];
    static double numbers[NUMBERS_MAX];
    while (fgets(line, sizeof line, stdin) != NULL) {
        const char *rest = strchr(line, ' ');
        const int count = rest != NULL ? read_numbers(rest, numbers, NUMBERS_MAX) : 0;
        const struct counts_row first = row_of(numbers);
        const struct counts_row second = row_of(numbers + 4);
        if (strncmp(line, "exact ", 6) == 0 && count == 8) {
            printf("%.15g\n", counts_exact_p(&first, &second));
        } else if (strncmp(line, "spread ", 7) == 0 && count == 11) {
            printf("%.15g\n", counts_spread_p(&first, &second, numbers + 8, numbers[10]));
        } else if (strncmp(line, "difference ", 11) == 0 && count == 6) {
            const int n[2] = {(int)numbers[0], (int)numbers[2]};
            const int of[2] = {(int)numbers[1], (int)numbers[3]};
            const struct counts_difference out = counts_difference(n, of, numbers + 4);
            printf("%.15g %.15g %.15g\n", out.value, out.low, out.high);
        } else if (strncmp(line, "compare ", 8) == 0 && count > 0 && count == 1 + 13 * (int)numbers[0]) {
            compare(numbers + 1, (int)numbers[0]);
        } else {
            puts("bad");
        }
    }
    return 0;
}

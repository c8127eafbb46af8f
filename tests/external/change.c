/* Driver of check_change.py. Requests: "judge BEFORE SE SYS AFTER SE SYS SAME LOW HIGH", "drawn COUNT (VALUE ERROR^2)..
 * BEFORE SE SYS AFTER SE SYS SAME LOW HIGH". */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/change.h"
#include "external/numbers.h"

#define NUMBERS_MAX 1024

static void judge(const double *numbers)
{
    const struct change_set before = {true, false, numbers[0], numbers[1], numbers[2]};
    const struct change_set after = {true, false, numbers[3], numbers[4], numbers[5]};
    const struct measure_range range = {.ok_low = {true, numbers[7]}, .ok_high = {true, numbers[8]}};
    const struct change_result out = change_judge(&before, &after, numbers[6] != 0, &range);
    printf("%s %.15g %.15g\n", change_name(out.verdict), out.difference, out.needed);
}

/* COUNT, then value and squared error of each: a prior; then baseline and later reading as in "judge". */
static void drawn(const double *numbers)
{
    double values[NUMBERS_MAX];
    double errors[NUMBERS_MAX];
    const int count = (int)numbers[0];
    struct change_prior prior = {0, 0};
    for (int i = 0; i < count; i++) {
        values[i] = numbers[1 + 2 * i];
        errors[i] = numbers[2 + 2 * i];
    }
    const double *rest = numbers + 1 + 2 * count;
    const struct change_set before = {true, false, rest[0], rest[1], rest[2]};
    const struct change_set after = {true, false, rest[3], rest[4], rest[5]};
    const struct measure_range range = {.ok_low = {true, rest[7]}, .ok_high = {true, rest[8]}};
    double kept = 1;
    if (!change_prior_of(values, errors, count, &prior)) {
        puts("few");
        return;
    }
    const struct change_set from = change_drawn(&before, &prior, rest[6] != 0, &kept);
    const struct change_result out = change_judge(&from, &after, rest[6] != 0, &range);
    printf("%s %.15g %.15g %.15g %.15g %.15g\n", change_name(out.verdict), out.difference, out.needed, kept, prior.mean,
           prior.sd);
}

int main(void)
{
    static char line[65536];
    static double numbers[NUMBERS_MAX];
    while (fgets(line, sizeof line, stdin) != NULL) {
        const char *rest = strchr(line, ' ');
        const int count = rest != NULL ? read_numbers(rest, numbers, NUMBERS_MAX) : 0;
        if (strncmp(line, "judge ", 6) == 0 && count == 9) {
            judge(numbers);
        } else if (strncmp(line, "drawn ", 6) == 0 && count > 9 && count == 1 + 2 * (int)numbers[0] + 9) {
            drawn(numbers);
        } else {
            puts("bad");
        }
    }
    return 0;
}

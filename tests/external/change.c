/* Driver of check_change.py. Requests: "repeat PLAYERS TRIALS x ..", "sem SD ICC", "mdc SEM",
 * "judge BEFORE SE SYS AFTER SE SYS SAME LOW HIGH". */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/change.h"

#define NUMBERS_MAX 1024

static int read_numbers(const char *text, double *numbers)
{
    int n = 0;
    char *end;
    while (n < NUMBERS_MAX) {
        numbers[n] = strtod(text, &end);
        if (end == text) {
            break;
        }
        n++;
        text = end;
    }
    return n;
}

static void judge(const double *numbers)
{
    const struct change_set before = {true, false, numbers[0], numbers[1], numbers[2]};
    const struct change_set after = {true, false, numbers[3], numbers[4], numbers[5]};
    const struct measure_range range = {.ok_low = {true, numbers[7]}, .ok_high = {true, numbers[8]}};
    const struct change_result out = change_judge(&before, &after, numbers[6] != 0, &range);
    printf("%s %.15g %.15g\n", change_name(out.verdict), out.difference, out.needed);
}

int main(void)
{
    static char line[65536];
    static double numbers[NUMBERS_MAX];
    while (fgets(line, sizeof line, stdin) != NULL) {
        const char *rest = strchr(line, ' ');
        const int count = rest != NULL ? read_numbers(rest, numbers) : 0;
        if (strncmp(line, "judge ", 6) == 0 && count == 9) {
            judge(numbers);
        } else {
            puts("bad");
        }
    }
    return 0;
}

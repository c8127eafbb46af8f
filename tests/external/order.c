/* Driver of check_order.py. Requests: "index N a.. e..", "oneview N l.. h..", "hands PHASE N hx hy hz x y z ..". */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/order.h"

static double numbers[4 * ORDER_HANDS_MAX];

static int read_numbers(const char *text)
{
    int n = 0;
    char *end;
    while (n < 4 * ORDER_HANDS_MAX) {
        double x = strtod(text, &end);
        if (end == text) {
            break;
        }
        numbers[n++] = x;
        text = end;
    }
    return n;
}

static void answer(bool ok, double value)
{
    if (ok) {
        printf("%.15g\n", value);
    } else {
        puts("none");
    }
}

int main(void)
{
    static char line[65536];
    static struct vec3 hands[ORDER_HANDS_MAX];
    while (fgets(line, sizeof line, stdin) != NULL) {
        const char *rest = strchr(line, ' ');
        double value = 0;
        int count = rest ? read_numbers(rest) : 0;
        int n = count > 0 ? (int)numbers[0] : 0;
        if (strncmp(line, "index ", 6) == 0 && count == 1 + 2 * n) {
            bool ok = order_index(numbers + 1, numbers + 1 + n, n, &value);
            answer(ok, value);
        } else if (strncmp(line, "oneview ", 8) == 0 && count == 1 + 2 * n) {
            bool ok = order_index_one_view(numbers + 1, numbers + 1 + n, n, &value);
            answer(ok, value);
        } else if (strncmp(line, "hands ", 6) == 0 && count >= 5) {
            int k = (int)numbers[1];
            if (k < 0 || k > ORDER_HANDS_MAX || count != 5 + 3 * k) {
                puts("bad");
                continue;
            }
            for (int i = 0; i < k; i++) {
                hands[i] = vec_make(numbers[5 + 3 * i], numbers[6 + 3 * i], numbers[7 + 3 * i]);
            }
            bool ok =
                order_of_hands(hands, k, vec_make(numbers[2], numbers[3], numbers[4]), (enum order_phase)n, &value);
            answer(ok, value);
        } else {
            puts("bad");
        }
    }
    return 0;
}

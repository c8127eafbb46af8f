/* See exact.h. */
#include "module/exact.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wire/json/out.h"

static int exact;

void __wrap_json_out_number(struct json_out *out, const char *key, double value, int decimals);
void __real_json_out_number(struct json_out *out, const char *key, double value, int decimals);

void exact_set(int on)
{
    exact = on;
}

void __wrap_json_out_number(struct json_out *out, const char *key, double value, int decimals)
{
    char text[40];
    if (!exact || !isfinite(value)) {
        __real_json_out_number(out, key, value, decimals);
        return;
    }
    (void)snprintf(text, sizeof text, "%.17g", value);
    json_out_raw(out, key, text, strlen(text));
}

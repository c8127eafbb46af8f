/* A JSON number. The pull reader beside the grammar of RFC 8259 and strtod; and what is written of it with any number
 * of decimals: JSON again, half a unit of the last decimal away at most, and read as the writer foretells. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wire/json/in.h"
#include "wire/json/out.h"

#define TEXT_MAX 200

static size_t digits_of(const char *text)
{
    return strspn(text, "0123456789");
}

/* Bytes of the number that stands first; 0 when it ends too soon or begins with a zero that says nothing. */
static size_t number_of(const char *text)
{
    const char *at = text + (*text == '-');
    const size_t whole = digits_of(at);
    if (whole == 0 || (whole > 1 && *at == '0')) {
        return 0;
    }
    at += whole;
    if (*at == '.') {
        const size_t more = digits_of(at + 1);
        at += more + 1;
        if (more == 0) {
            return 0;
        }
    }
    if (*at == 'e' || *at == 'E') {
        at += at[1] == '+' || at[1] == '-' ? 2 : 1;
        const size_t more = digits_of(at);
        at += more;
        if (more == 0) {
            return 0;
        }
    }
    return (size_t)(at - text);
}

static bool same(double a, double b)
{
    return a == b && signbit(a) == signbit(b);
}

/* A list of up to two of them at once is what they are one by one. */
static void check_list(const char *data, size_t size, double value, struct arena *arena)
{
    struct json_in in;
    double both[2] = {0, 0};
    char *list = arena_printf(arena, "[%.*s,%.*s]", (int)size, data, (int)size, data);
    fuzz_require(list != NULL, "memory");
    json_in_start(&in, list, strlen(list));
    fuzz_require(json_in_numbers(&in, 2, both) == 2 && same(both[0], value) && same(both[1], value), "a list of it");
    json_in_start(&in, list, strlen(list));
    fuzz_require(json_in_numbers(&in, 1, both) == 0, "a list that is too long");
}

static void check_written(double value, int decimals, struct arena *arena)
{
    struct json_out out;
    struct json_in in;
    size_t length;
    double foretold = 0;
    double read = 0;
    json_out_start(&out, arena);
    json_out_number(&out, NULL, value, decimals);
    const char *text = json_out_finish(&out, &length);
    const bool kept = json_out_as_read(value, decimals, &foretold);
    fuzz_require(text != NULL, "a number is written");
    fuzz_require(kept == (strcmp(text, "null") != 0), "null is foretold");
    fuzz_require(kept || fabs(value) * pow(10, decimals) > 8.9e15, "only what is too large is null");
    if (!kept) {
        return;
    }
    json_in_start(&in, text, length);
    fuzz_require(number_of(text) == length, "what is written is a number");
    fuzz_require(json_in_number(&in, &read) && json_in_finish(&in), "what is written is read");
    fuzz_require(read == foretold, "as it was foretold");
    fuzz_require(fabs(read - value) <= 0.5000001 * pow(10, -decimals) + fabs(value) * 4e-16,
                 "a half unit away at most");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char text[TEXT_MAX + 1];
    struct json_in in;
    double value = 0;
    if (size == 0 || size > TEXT_MAX) {
        return 0;
    }
    const int decimals = *data % 10;
    memcpy(text, data + 1, --size);
    text[size] = '\0';
    json_in_start(&in, (const char *)data + 1, size);
    const bool was_read = json_in_number(&in, &value);
    const size_t blank = strspn(text, " \t\r\n");
    const size_t length = number_of(text + blank);
    fuzz_count("fuzz_number", was_read);
    if (!was_read) {
        fuzz_require(in.error != NULL, "a refusal says why");
        fuzz_require(length == 0 || length > JSON_IN_NUMBER_MAX || !isfinite(strtod(text + blank, NULL)),
                     "a number that is refused is none, too long or too large");
        return 0;
    }
    fuzz_require(length > 0 && in.at == blank + length, "what is read is a number, and all of it");
    text[in.at] = '\0';
    fuzz_require(same(value, strtod(text + blank, NULL)), "it is the nearest double");
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    check_list(text + blank, length, value, arena);
    check_written(value, decimals, arena);
    arena_free(arena);
    return 0;
}

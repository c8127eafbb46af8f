/* Text. UTF-8 beside the table of RFC 3629, section 4; names and prose; and text as JSON: what is written is read as it
 * was, and fits exactly the room it needs. */
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "base/plain_text.h"
#include "fuzz.h"
#include "wire/json/in.h"
#include "wire/json/out.h"

/* A row of the table: the first byte, the second, and how many there are. */
static const struct {
    uint8_t first, last, second, second_last, length;
} rows[] = {{0x00, 0x7f, 0, 0, 1},       {0xc2, 0xdf, 0x80, 0xbf, 2}, {0xe0, 0xe0, 0xa0, 0xbf, 3},
            {0xe1, 0xec, 0x80, 0xbf, 3}, {0xed, 0xed, 0x80, 0x9f, 3}, {0xee, 0xef, 0x80, 0xbf, 3},
            {0xf0, 0xf0, 0x90, 0xbf, 4}, {0xf1, 0xf3, 0x80, 0xbf, 4}, {0xf4, 0xf4, 0x80, 0x8f, 4}};

static size_t by_table(const uint8_t *bytes, size_t left)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (bytes[0] < rows[i].first || bytes[0] > rows[i].last) {
            continue;
        }
        bool good = left >= rows[i].length;
        for (size_t k = 1; good && k < rows[i].length; k++) {
            good = bytes[k] >= (k == 1 ? rows[i].second : 0x80) && bytes[k] <= (k == 1 ? rows[i].second_last : 0xbf);
        }
        return good ? rows[i].length : 0;
    }
    return 0;
}

/* What the walk over a text saw. */
struct seen {
    bool valid, control, turning, more_than_blank;
};

static struct seen walk(const uint8_t *data, size_t size)
{
    struct seen seen = {.valid = true};
    for (size_t at = 0, step; at < size && seen.valid; at += step) {
        uint32_t code = 0;
        char again[4];
        step = utf8_step((const char *)data + at, size - at, &code);
        fuzz_require(step == by_table(data + at, size - at), "a character is what the table says");
        seen.valid = step > 0;
        if (step == 0) {
            break;
        }
        fuzz_require(utf8_write(code, again) == step && memcmp(again, data + at, step) == 0,
                     "and is written as it was");
        seen.control = seen.control || (code < 0x20 && code != '\n' && code != '\t' && code != '\r') || code == 0x7f;
        seen.turning = seen.turning || (code >= 0x202a && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069);
        seen.more_than_blank = seen.more_than_blank || (code > 0x20 && code < 0x7f);
    }
    fuzz_require(utf8_valid((const char *)data, size) == seen.valid, "a text is valid when all of it is");
    return seen;
}

static void check_plain(const char *text, const struct seen *seen, bool ascii)
{
    char why[PLAIN_WHY] = "";
    const bool name = plain_text_check(text, PLAIN_NAME, why);
    fuzz_require(name || why[0] != '\0', "a refusal says why");
    const bool prose = plain_text_check(text, PLAIN_PROSE, why);
    fuzz_require(!name || prose, "a name may stand in prose");
    fuzz_require(!name || (seen->valid && !seen->control && !seen->turning && strpbrk(text, "\r\n\t") == NULL),
                 "a name is one line that hides nothing");
    fuzz_require(!prose || (seen->valid && !seen->control), "prose has no control characters");
    fuzz_require(!ascii || !seen->more_than_blank || name, "plain letters are a name");
}

static void check_json(const char *text, size_t length, struct arena *arena)
{
    struct json_out out;
    struct json_in in;
    size_t written;
    json_out_start(&out, arena);
    json_out_text(&out, NULL, text);
    const char *json = json_out_finish(&out, &written);
    fuzz_require(json != NULL, "a text is written");
    for (size_t room = length; room <= length + 1; room++) {
        char *back = malloc(room + (room == 0));
        fuzz_require(back != NULL, "memory");
        json_in_start(&in, json, written);
        const bool fits = room > 0 && json_in_text(&in, back, room);
        fuzz_require(fits == (room == length + 1), "a text takes the room it needs");
        fuzz_require(!fits || (strcmp(back, text) == 0 && json_in_finish(&in)), "and is read as it was");
        free(back);
    }
}

static void check_base64(const uint8_t *data, size_t size, struct arena *arena)
{
    struct json_out out;
    size_t written;
    size_t decoded = 0;
    json_out_start(&out, arena);
    json_out_base64(&out, NULL, data, size);
    const char *json = json_out_finish(&out, &written);
    uint8_t *back = malloc(size + 1);
    fuzz_require(json != NULL && back != NULL && written >= 2, "bytes are written");
    fuzz_require(sodium_base642bin(back, size, json + 1, written - 2, NULL, &decoded, NULL,
                                   sodium_base64_VARIANT_ORIGINAL) == 0 &&
                     decoded == size && memcmp(back, data, size) == 0,
                 "and come back");
    free(back);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const struct seen seen = walk(data, size);
    fuzz_count("fuzz_utf8", seen.valid && size > 0);
    char *text = fuzz_text(data, size);
    const bool whole = strlen(text) == size;
    bool ascii = true;
    for (size_t i = 0; i < size; i++) {
        ascii = ascii && data[i] >= 0x20 && data[i] < 0x7f;
    }
    if (whole) {
        check_plain(text, &seen, ascii);
    }
    if (whole && seen.valid) {
        struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
        fuzz_require(arena != NULL, "memory");
        check_json(text, size, arena);
        check_base64(data, size, arena);
        arena_free(arena);
    }
    free(text);
    return 0;
}

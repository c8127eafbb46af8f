/* Pictures built byte by byte: what is kept, what is left out, and everything that is refused. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "still/read.h"

static struct arena *arena;

static void set_up(void)
{
    arena = arena_new(0);
}

static void tear_down(void)
{
    arena_free(arena);
}

TestSuite(still, .init = set_up, .fini = tear_down);

struct made {
    uint8_t bytes[4096];
    size_t size;
};

static void put(struct made *made, const void *bytes, size_t size)
{
    cr_assert_leq(made->size + size, sizeof made->bytes);
    memcpy(made->bytes + made->size, bytes, size);
    made->size += size;
}
#define PUT(made, text) put(made, text, sizeof(text) - 1)

/* Reads an exact copy, so that a step too far is caught. */
static const char *judge(const struct made *made, struct still *out)
{
    const char *why = NULL;
    uint8_t *exact = malloc(made->size + (made->size == 0));
    memcpy(exact, made->bytes, made->size);
    const bool good = still_read(exact, made->size, arena, out, &why);
    free(exact);
    cr_assert(good || why != NULL);
    return good ? NULL : why;
}

static void refused(const struct made *made, const char *word)
{
    struct still still;
    const char *why = judge(made, &still);
    cr_assert_not_null(why, "must be refused: %s", word);
    cr_assert_not_null(strstr(why, word), "%s: %s", word, why);
}

static struct still good(const struct made *made)
{
    struct still still;
    const char *why = judge(made, &still);
    cr_assert_null(why, "%s", why);
    return still;
}

static void same(const struct still *still, const struct made *expected)
{
    cr_assert_eq(still->size, expected->size, "%zu, expected %zu", still->size, expected->size);
    cr_assert_arr_eq(still->data, expected->bytes, expected->size);
}

/* ---- JPEG ---- */

#define JFIF "\xff\xe0\x00\x10JFIF\0\x01\x02\x00\x00\x01\x00\x01\x00\x00"
#define ADOBE                                                                                                          \
    "\xff\xee\x00\x0e"                                                                                                 \
    "Adobe\x00\x64\x00\x00\x00\x00\x01"
#define COMMENT "\xff\xfe\x00\x08secret"
#define EXIF_TURN(n)                                                                                                   \
    "\xff\xe1\x00\x22"                                                                                                 \
    "Exif\0\0MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00" n "\x00\x00\x00\x00\x00\x00"
#define TABLES "\xff\xdb\x00\x04\x00\x01\xff\xc4\x00\x04\x00\x01"
#define FRAME "\xff\xc0\x00\x0b\x08\x00\x30\x00\x40\x01\x01\x11\x00"
#define SCAN                                                                                                           \
    "\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00"                                                                         \
    "ab\xff\x00\x63\xff\xd0"                                                                                           \
    "d"
#define END "\xff\xd9"

static struct made jpeg_of(const char *before, size_t size)
{
    struct made made = {.size = 0};
    PUT(&made, "\xff\xd8");
    put(&made, before, size);
    PUT(&made, TABLES FRAME SCAN END);
    return made;
}
#define JPEG(text) jpeg_of(text, sizeof(text) - 1)

Test(still, a_jpeg_loses_what_is_said_about_it)
{
    struct made made =
        JPEG(JFIF EXIF_TURN("\x01") COMMENT "\xff\xe2\x00\x0eICC_PROFILE\0" ADOBE "\xff\xff\xe1\x00\x05xmp");
    struct made expected = JPEG(JFIF ADOBE);
    PUT(&made, "what stands behind its end");
    struct still still = good(&made);
    cr_assert_eq(still.type, STILL_JPEG);
    cr_assert_eq(still.width, 64);
    cr_assert_eq(still.height, 48);
    same(&still, &expected);
    cr_assert_str_eq(still_type_name(still.type), "image/jpeg");
}

Test(still, a_thumbnail_in_the_jfif_header_goes)
{
    struct made made = JPEG("\xff\xe0\x00\x13JFIF\0\x01\x02\x00\x00\x01\x00\x01\x01\x01"
                            "rgb");
    struct made expected = JPEG(JFIF);
    struct still still = good(&made);
    same(&still, &expected);
}

Test(still, a_turned_jpeg_is_refused)
{
    struct made made = JPEG(EXIF_TURN("\x06"));
    refused(&made, "turned");
    made = JPEG(EXIF_TURN("\x00"));
    refused(&made, "turned");
    struct made little = JPEG(
        "\xff\xe1\x00\x22"
        "Exif\0\0II\x2a\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x03\x00\x00\x00\x00\x00\x00\x00");
    refused(&little, "turned");
}

Test(still, damaged_jpegs)
{
    struct made made = {.size = 0};
    PUT(&made, "\xff\xd8" TABLES SCAN END);
    refused(&made, "scan header");
    made.size = 0;
    PUT(&made, "\xff\xd8" TABLES FRAME END);
    refused(&made, "no picture");
    made.size = 0;
    PUT(&made, "\xff\xd8" FRAME FRAME SCAN END);
    refused(&made, "two frames");
    made.size = 0;
    PUT(&made, "\xff\xd8\xff\xc9\x00\x0b\x08\x00\x30\x00\x40\x01\x01\x11\x00" SCAN END);
    refused(&made, "browsers");
    made.size = 0;
    PUT(&made, "\xff\xd8\xff\xc0\x00\x0b\x0c\x00\x30\x00\x40\x01\x01\x11\x00" SCAN END);
    refused(&made, "browsers");
    made.size = 0;
    PUT(&made, "\xff\xd8\xff\xc0\x00\x0b\x08\x10\x01\x00\x40\x01\x01\x11\x00" SCAN END);
    refused(&made, "4096");
    made.size = 0;
    PUT(&made, "\xff\xd8\xff\xc0\x00\x0b\x08\x00\x00\x00\x40\x01\x01\x11\x00" SCAN END);
    refused(&made, "no width");
    made.size = 0;
    PUT(&made, "\xff\xd8" FRAME "x" SCAN END);
    refused(&made, "marker");
    made.size = 0;
    PUT(&made, "\xff\xd8" FRAME "\xff\xdb\x00\x01" SCAN END);
    refused(&made, "cut off");
}

/* ---- PNG ---- */

static uint32_t crc(const uint8_t *data, size_t size)
{
    uint32_t c = ~0U;
    for (size_t i = 0; i < size; i++) {
        c ^= data[i];
        for (int k = 0; k < 8; k++) {
            c = (c & 1) ? c >> 1 ^ 0xedb88320U : c >> 1;
        }
    }
    return ~c;
}

static void chunk(struct made *made, const char *type, const void *body, size_t size)
{
    const uint8_t head[4] = {0, 0, (uint8_t)(size >> 8), (uint8_t)size};
    put(made, head, 4);
    const size_t from = made->size;
    put(made, type, 4);
    put(made, body, size);
    const uint32_t sum = crc(made->bytes + from, size + 4);
    const uint8_t tail[4] = {(uint8_t)(sum >> 24), (uint8_t)(sum >> 16), (uint8_t)(sum >> 8), (uint8_t)sum};
    put(made, tail, 4);
}

static void png_start(struct made *made, int colour, int depth)
{
    const uint8_t header[13] = {0, 0, 0, 40, 0, 0, 0, 30, (uint8_t)depth, (uint8_t)colour, 0, 0, 0};
    made->size = 0;
    PUT(made, "\x89PNG\r\n\x1a\n");
    chunk(made, "IHDR", header, sizeof header);
}

static void png_end(struct made *made)
{
    chunk(made, "IDAT", "pixels", 6);
    chunk(made, "IDAT", "more", 4);
    chunk(made, "IEND", "", 0);
}

Test(still, a_png_keeps_what_makes_its_pixels)
{
    struct made made;
    struct made expected;
    static const char turn[] = "II\x2a\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x01\x00\x00\x00";
    png_start(&made, 3, 8);
    chunk(&made, "gAMA", "\x00\x00\xb1\x8f", 4);
    chunk(&made, "tEXt", "Comment\0secret", 14);
    chunk(&made, "iCCP", "p\0\0x", 4);
    chunk(&made, "eXIf", turn, sizeof turn - 1);
    chunk(&made, "PLTE", "rgbRGB", 6);
    chunk(&made, "tRNS", "\x80", 1);
    chunk(&made, "acTL", "12345678", 8);
    png_end(&made);
    PUT(&made, "behind the end");
    png_start(&expected, 3, 8);
    chunk(&expected, "gAMA", "\x00\x00\xb1\x8f", 4);
    chunk(&expected, "PLTE", "rgbRGB", 6);
    chunk(&expected, "tRNS", "\x80", 1);
    png_end(&expected);
    struct still still = good(&made);
    cr_assert_eq(still.type, STILL_PNG);
    cr_assert_eq(still.width, 40);
    cr_assert_eq(still.height, 30);
    same(&still, &expected);
}

Test(still, damaged_pngs)
{
    struct made made;
    png_start(&made, 0, 8);
    png_end(&made);
    (void)good(&made);
    made.bytes[made.size - 12 - 16 + 8] ^= 1; /* inside the second IDAT */
    refused(&made, "checksum");
    png_start(&made, 5, 8);
    refused(&made, "does not exist");
    png_start(&made, 2, 4);
    refused(&made, "does not exist");
    png_start(&made, 3, 8);
    png_end(&made);
    refused(&made, "order");
    png_start(&made, 0, 8);
    chunk(&made, "PLTE", "rgb", 3);
    refused(&made, "palette");
    png_start(&made, 3, 1);
    chunk(&made, "PLTE", "rgbrgbrgb", 9);
    refused(&made, "palette");
    png_start(&made, 6, 8);
    chunk(&made, "tRNS", "xx", 2);
    refused(&made, "tRNS");
    png_start(&made, 0, 8);
    chunk(&made, "IEND", "", 0);
    refused(&made, "no picture");
    png_start(&made, 0, 8);
    chunk(&made, "IDAT", "a", 1);
    chunk(&made, "tIME", "1234567", 7);
    chunk(&made, "IDAT", "b", 1);
    refused(&made, "order");
    png_start(&made, 0, 8);
    chunk(&made, "ABCD", "", 0);
    refused(&made, "must know");
    png_start(&made, 0, 8);
    chunk(&made, "eXIf", "MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x08\x00\x00", 22);
    refused(&made, "turned");
    made.size = 0;
    PUT(&made, "\x89PNG\r\n\x1a\n");
    chunk(&made, "IDAT", "a", 1);
    refused(&made, "header");
}

/* ---- WebP ---- */

static void riff_chunk(struct made *made, const char *type, const void *body, size_t size)
{
    const uint8_t head[4] = {(uint8_t)size, (uint8_t)(size >> 8), 0, 0};
    put(made, type, 4);
    put(made, head, 4);
    put(made, body, size);
    put(made, "", size & 1);
}

static void riff_start(struct made *made)
{
    made->size = 0;
    PUT(made, "RIFF\0\0\0\0WEBP");
}

static void riff_end(struct made *made)
{
    made->bytes[4] = (uint8_t)(made->size - 8);
    made->bytes[5] = (uint8_t)((made->size - 8) >> 8);
}

static const char lossy[] = "\x10\x00\x00\x9d\x01\x2a\x28\x00\x1e\x00"
                            "data!"; /* 40 x 30 */
static const char lossless[] = "\x2f\x27\x40\x07\x00"
                               "data!"; /* 40 x 30 */
#define EXTENDED(flags) flags "\x00\x00\x00\x27\x00\x00\x1d\x00\x00"

Test(still, webps_of_both_kinds)
{
    struct made made;
    riff_start(&made);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_end(&made);
    struct still still = good(&made);
    cr_assert_eq(still.type, STILL_WEBP);
    cr_assert_eq(still.width, 40);
    cr_assert_eq(still.height, 30);
    same(&still, &made);
    riff_start(&made);
    riff_chunk(&made, "VP8L", lossless, sizeof lossless - 1);
    riff_end(&made);
    still = good(&made);
    cr_assert_eq(still.width, 40);
    cr_assert_eq(still.height, 30);
}

Test(still, a_webp_loses_what_is_said_about_it)
{
    struct made made;
    struct made expected;
    riff_start(&made);
    riff_chunk(&made, "VP8X", EXTENDED("\x3c"), 10);
    riff_chunk(&made, "ICCP", "profile", 7);
    riff_chunk(&made, "ALPH", "a", 1);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_chunk(&made, "EXIF", "II\x2a\x00\x08\x00\x00\x00\x00\x00", 10);
    riff_chunk(&made, "XMP ", "<x/>", 4);
    riff_chunk(&made, "what", "ever", 4);
    riff_end(&made);
    PUT(&made, "behind");
    riff_start(&expected);
    riff_chunk(&expected, "VP8X", EXTENDED("\x10"), 10);
    riff_chunk(&expected, "ALPH", "a", 1);
    riff_chunk(&expected, "VP8 ", lossy, sizeof lossy - 1);
    riff_end(&expected);
    struct still still = good(&made);
    same(&still, &expected);
}

Test(still, damaged_webps)
{
    struct made made;
    riff_start(&made);
    riff_chunk(&made, "VP8X", EXTENDED("\x02"), 10);
    riff_end(&made);
    refused(&made, "animation");
    riff_start(&made);
    riff_chunk(&made, "VP8X", EXTENDED("\x00"), 10);
    riff_end(&made);
    refused(&made, "no picture");
    riff_start(&made);
    riff_chunk(&made, "VP8X", "\x00\x00\x00\x00\x28\x00\x00\x1d\x00\x00", 10);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_end(&made);
    refused(&made, "contradicts");
    riff_start(&made);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_end(&made);
    refused(&made, "two pictures");
    riff_start(&made);
    riff_chunk(&made, "VP8 ", "\x11\x00\x00\x9d\x01\x2a\x28\x00\x1e\x00", 10);
    riff_end(&made);
    refused(&made, "damaged");
    riff_start(&made);
    riff_chunk(&made, "VP8L", "\x2f\x27\x40\x07\x20", 5);
    riff_end(&made);
    refused(&made, "damaged");
    riff_start(&made);
    riff_chunk(&made, "EXIF",
               "Exif\0\0MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x08\x00\x00", 28);
    riff_end(&made);
    refused(&made, "turned");
    riff_start(&made);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_end(&made);
    made.bytes[4]++;
    refused(&made, "cut off");
}

Test(still, what_is_no_picture_and_what_is_too_large)
{
    struct made made = {.size = 0};
    refused(&made, "no JPEG");
    PUT(&made, "GIF89a and so on");
    refused(&made, "no JPEG");
    struct still still;
    const char *why;
    uint8_t *large = calloc(1, STILL_SIZE_MAX + 1);
    cr_assert_not(still_read(large, STILL_SIZE_MAX + 1, arena, &still, &why));
    cr_assert_not_null(strstr(why, "512 KiB"));
    free(large);
}

/* Cut anywhere, or with any bit turned over, a picture is refused or comes out as one that is read the same again. */
static void spoil(const struct made *made)
{
    struct still still;
    struct still again;
    const char *why;
    for (size_t cut = 0; cut < made->size; cut++) {
        struct made part = *made;
        part.size = cut;
        cr_assert_not_null(judge(&part, &still), "cut at %zu", cut);
    }
    for (size_t bit = 0; bit < made->size * 8; bit++) {
        struct made other = *made;
        other.bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
        if (judge(&other, &still) == NULL) {
            cr_assert_leq(still.size, other.size);
            cr_assert(still_read(still.data, still.size, arena, &again, &why), "bit %zu: %s", bit, why);
            cr_assert_eq(again.size, still.size);
            cr_assert_arr_eq(again.data, still.data, still.size);
        }
    }
}

Test(still, spoiled_in_every_place)
{
    struct made made = JPEG(JFIF EXIF_TURN("\x01") ADOBE COMMENT);
    spoil(&made);
    png_start(&made, 3, 8);
    chunk(&made, "PLTE", "rgbRGB", 6);
    chunk(&made, "tEXt", "a\0b", 3);
    png_end(&made);
    spoil(&made);
    riff_start(&made);
    riff_chunk(&made, "VP8X", EXTENDED("\x18"), 10);
    riff_chunk(&made, "ALPH", "a", 1);
    riff_chunk(&made, "VP8 ", lossy, sizeof lossy - 1);
    riff_chunk(&made, "EXIF", "II\x2a\x00\x08\x00\x00\x00\x00\x00", 10);
    riff_end(&made);
    spoil(&made);
}

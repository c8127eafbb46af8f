/* Codes against the two standards' own vectors, what is accepted and what is not, the sealed secret, recovery codes,
 * the key file, and the picture. */
#define _GNU_SOURCE /* memmem */
#include <criterion/criterion.h>
#include <liboath/oath.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "auth/qr.h"
#include "auth/second_factor.h"

static const uint8_t secret[SECOND_FACTOR_SECRET] = "12345678901234567890"; /* of both RFCs */
#define ACCOUNT "01890000-0000-7000-8000-000000000001"

/* RFC 6238, Appendix B, SHA-1: eight digits, of which six are the last six. */
static const struct {
    int64_t seconds;
    const char *code;
} totp[] = {{59, "94287082"},         {1111111109, "07081804"}, {1111111111, "14050471"},
            {1234567890, "89005924"}, {2000000000, "69279037"}, {20000000000, "65353130"}};

Test(second_factor, rfc_6238_appendix_b)
{
    for (size_t i = 0; i < sizeof totp / sizeof *totp; i++) {
        char right[9];
        const char *six = totp[i].code + 2;
        int64_t step = totp[i].seconds / 30;
        cr_expect_eq(second_factor_step(secret, six, totp[i].seconds * 1000, -1), step, "%s", six);
        cr_assert_eq(oath_totp_generate((const char *)secret, 20, (time_t)totp[i].seconds, 30, 0, 8, right), OATH_OK);
        cr_expect_str_eq(right, totp[i].code);
    }
}

/* RFC 4226, Appendix D: the counter is the step. */
Test(second_factor, rfc_4226_appendix_d)
{
    static const char *const hotp[] = {"755224", "287082", "359152", "969429", "338314",
                                       "254676", "287922", "162583", "399871", "520489"};
    for (int64_t step = 0; step < 10; step++) {
        cr_expect_eq(second_factor_step(secret, hotp[step], step * 30000 + 17000, -1), step, "%s", hotp[step]);
    }
}

Test(second_factor, one_step_either_way_and_once)
{
    const char *code = "005924"; /* of step 41152263 */
    const int64_t step = 1234567890 / 30;
    const int64_t begins = step * 30000;
    cr_expect_eq(second_factor_step(secret, code, begins - 30000, -1), step, "a clock half a minute behind");
    cr_expect_eq(second_factor_step(secret, code, begins + 59999, -1), step, "half a minute ahead");
    cr_expect_eq(second_factor_step(secret, code, begins - 30001, -1), -1, "not earlier");
    cr_expect_eq(second_factor_step(secret, code, begins + 60000, -1), -1, "nor later");
    cr_expect_eq(second_factor_step(secret, code, begins, step - 1), step);
    cr_expect_eq(second_factor_step(secret, code, begins, step), -1, "taken before");
    cr_expect_eq(second_factor_step(secret, code, begins, step + 1), -1, "a later one was taken");
    cr_expect_eq(second_factor_step(secret, "005 924", begins, -1), step, "spaces don't count");
    static const char *const wrong[] = {"005925", "05924", "0059240", "00592a", "", "      ", "89005924"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        cr_expect_eq(second_factor_step(secret, wrong[i], begins, -1), -1, "%s", wrong[i]);
    }
}

Test(second_factor, sealed_for_one_account_with_one_key)
{
    uint8_t key[SECRET_BYTES] = {1};
    uint8_t other[SECRET_BYTES] = {2};
    uint8_t sealed[SECOND_FACTOR_SEALED];
    uint8_t again[SECOND_FACTOR_SEALED];
    uint8_t opened[SECOND_FACTOR_SECRET];
    second_factor_seal(key, ACCOUNT, secret, sealed);
    second_factor_seal(key, ACCOUNT, secret, again);
    cr_assert_neq(memcmp(sealed, again, sizeof sealed), 0, "never twice the same");
    cr_assert_null(memmem(sealed, sizeof sealed, secret, 8));
    cr_assert(second_factor_open(key, ACCOUNT, sealed, opened));
    cr_assert_eq(memcmp(opened, secret, sizeof opened), 0);
    cr_assert_not(second_factor_open(other, ACCOUNT, sealed, opened));
    cr_assert_not(second_factor_open(key, "01890000-0000-7000-8000-000000000002", sealed, opened));
    for (size_t i = 0; i < sizeof sealed; i++) {
        sealed[i] ^= 1;
        cr_expect_not(second_factor_open(key, ACCOUNT, sealed, opened), "byte %zu", i);
        sealed[i] ^= 1;
    }
}

Test(second_factor, address_of_the_secret)
{
    char text[SECOND_FACTOR_TEXT];
    char uri[300];
    cr_assert(second_factor_text(secret, text));
    cr_assert_str_eq(text, "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"); /* RFC 4648 of the RFCs' secret */
    cr_assert(second_factor_uri("Larkfield & Heath", "j\xc3\xb6rg:1", text, uri, sizeof uri));
    cr_assert_str_eq(uri, "otpauth://totp/Larkfield%20%26%20Heath:j%C3%B6rg%3A1?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
                          "&issuer=Larkfield%20%26%20Heath&algorithm=SHA1&digits=6&period=30");
    cr_assert_not(second_factor_uri("Larkfield", "jo", text, uri, 80), "what does not fit is not cut");
}

Test(second_factor, recovery_codes)
{
    uint8_t hash[RECOVERY_HASH];
    uint8_t same[RECOVERY_HASH];
    char code[RECOVERY_CODE_TEXT];
    recovery_code_new(code);
    cr_assert(recovery_code_hash(ACCOUNT, code, hash));
    cr_assert_not(second_factor_is_digits(code));
    cr_assert(recovery_code_hash(ACCOUNT, "abcd-efgh-jkmn-pq23", hash));
    cr_assert(recovery_code_hash(ACCOUNT, " ABCDEFGH jkmnpq23 ", same));
    cr_assert_eq(memcmp(hash, same, sizeof hash), 0, "however it is typed");
    cr_assert(recovery_code_hash("01890000-0000-7000-8000-000000000002", "abcd-efgh-jkmn-pq23", same));
    cr_assert_neq(memcmp(hash, same, sizeof hash), 0, "each account's own");
    static const char *const wrong[] = {"", "abcd-efgh-jkmn-pq2", "abcd-efgh-jkmn-pq234", "abcd_efgh_jkmn_pq23"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        cr_expect_not(recovery_code_hash(ACCOUNT, wrong[i], hash), "%s", wrong[i]);
    }
}

/* Every module is drawn where it belongs: the three finders' corners, and the margin is left free. */
Test(qr, is_drawn_with_its_margin)
{
    struct arena *arena = arena_new(0);
    const char *svg = qr_svg(arena, "otpauth://totp/Larkfield:head?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ");
    cr_assert_not_null(svg);
    cr_assert_eq(strncmp(svg, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 ", 53), 0, "%.80s", svg);
    cr_assert_not_null(strstr(svg, "d=\"M4 4h7v1h-7z"), "the first finder's edge begins after four free modules");
    cr_assert_null(strstr(svg, "M3 "));
    cr_assert_not_null(strstr(svg, "\"/></svg>"));
    char long_one[5000];
    memset(long_one, 'x', sizeof long_one - 1);
    long_one[sizeof long_one - 1] = '\0';
    cr_assert_null(qr_svg(arena, long_one), "too long for any picture");
    arena_free(arena);
}

/* Rights as a whole table, tokens, origins and cookies. */
#include <criterion/criterion.h>
#include <string.h>

#include "auth/principal.h"
#include "auth/rights.h"
#include "auth/token.h"
#include "tests/server/store_fixture.h"

/* ---- rights ---- */

static struct principal caller(enum store_role role)
{
    return (struct principal){.role = role};
}

Test(rights, knows_an_unsound_row)
{
    cr_assert(rights_declared(RIGHTS_NOBODY_SIGNED_IN, RIGHTS_OPEN));
    cr_assert(rights_declared(RIGHTS_STAFF, RIGHTS_TEAM));
    cr_assert_not(rights_declared(0, RIGHTS_CLUB), "no roles");
    cr_assert_not(rights_declared(RIGHTS_HEAD, RIGHTS_UNSET), "no scope");
    cr_assert_not(rights_declared(RIGHTS_HEAD, RIGHTS_OPEN), "open to all, yet for heads");
    cr_assert_not(rights_declared(RIGHTS_NOBODY_SIGNED_IN, RIGHTS_CLUB));
    cr_assert_not(rights_declared(RIGHTS_NOBODY_SIGNED_IN | RIGHTS_HEAD, RIGHTS_OPEN));
    cr_assert_not(rights_declared(1U << 9, RIGHTS_CLUB));
}

Test(principal, a_proof_counts_for_ten_minutes)
{
    const int64_t now = 1780000000000;
    struct principal who = caller(STORE_HEAD);
    cr_assert_not(auth_is_fresh(&who, now), "never proved");
    who.confirmed_at = now;
    cr_assert(auth_is_fresh(&who, now));
    cr_assert(auth_is_fresh(&who, now + 599999));
    cr_assert_not(auth_is_fresh(&who, now + 600000));
    cr_assert(auth_is_fresh(&who, now - 60000), "a clock that was put right");
    cr_assert_not(auth_is_fresh(&who, now - 60001), "but none of the far future");
}

/* Every set of roles, every role and every membership, against the rule in words. */
Test(rights, whole_table)
{
    static const enum rights_membership proper[STORE_ROLE_COUNT] = {[STORE_HEAD] = RIGHTS_OVERSEES,
                                                                    [STORE_COACH] = RIGHTS_ON_TEAM,
                                                                    [STORE_STUDENT] = RIGHTS_OWN,
                                                                    [STORE_GUARDIAN] = RIGHTS_STANDS_FOR};
    int cases = 0;
    for (unsigned roles = 1; roles <= RIGHTS_EVERYONE; roles++) {
        for (int role = 0; role < STORE_ROLE_COUNT; role++) {
            struct principal who = caller((enum store_role)role);
            bool may = (roles >> role & 1U) != 0;
            for (int membership = RIGHTS_STRANGER; membership <= RIGHTS_STANDS_FOR; membership++) {
                enum rights_answer wanted = !may                              ? RIGHTS_NO
                                            : (int)proper[role] == membership ? RIGHTS_YES
                                                                              : RIGHTS_HIDDEN;
                cr_assert_eq(rights_check(roles, RIGHTS_TEAM, &who, (enum rights_membership)membership, false), wanted,
                             "roles %u role %d membership %d", roles, role, membership);
                cases++;
            }
            enum rights_answer plain = may ? RIGHTS_YES : RIGHTS_NO;
            cr_assert_eq(rights_check(roles, RIGHTS_CLUB, &who, RIGHTS_STRANGER, false), plain);
            cr_assert_eq(rights_check(roles, RIGHTS_SELF, &who, RIGHTS_STRANGER, false), plain);
        }
        cr_assert_eq(rights_check(roles, RIGHTS_CLUB, NULL, RIGHTS_OVERSEES, true), RIGHTS_WHO);
        cr_assert_eq(rights_check(roles, RIGHTS_TEAM, NULL, RIGHTS_OVERSEES, true), RIGHTS_WHO);
    }
    cr_assert_eq(cases, 15 * 4 * 5);
    cr_assert_eq(rights_check(RIGHTS_NOBODY_SIGNED_IN, RIGHTS_OPEN, NULL, RIGHTS_STRANGER, false), RIGHTS_YES);
    struct principal head = caller(STORE_HEAD);
    cr_assert_eq(rights_check(0, RIGHTS_UNSET, &head, RIGHTS_OVERSEES, true), RIGHTS_NO, "a forgotten row is shut");
    head.role = (enum store_role)7;
    cr_assert_eq(rights_check(RIGHTS_EVERYONE, RIGHTS_CLUB, &head, RIGHTS_STRANGER, true), RIGHTS_NO);
}

Test(rights, temporary_password_comes_first)
{
    struct principal coach = caller(STORE_COACH);
    coach.password_temporary = true;
    cr_assert_eq(rights_check(RIGHTS_STAFF, RIGHTS_TEAM, &coach, RIGHTS_ON_TEAM, false), RIGHTS_PASSWORD);
    cr_assert_eq(rights_check(RIGHTS_STAFF, RIGHTS_SELF, &coach, RIGHTS_STRANGER, true), RIGHTS_YES);
    cr_assert_eq(rights_check(RIGHTS_HEAD, RIGHTS_CLUB, &coach, RIGHTS_STRANGER, false), RIGHTS_NO);
}

/* ---- tokens ---- */

Test(token, is_found_again_by_its_text_alone)
{
    char text[TOKEN_TEXT];
    char other[TOKEN_TEXT];
    uint8_t hash[TOKEN_HASH];
    uint8_t again[TOKEN_HASH];
    token_new(text, hash);
    token_new(other, again);
    cr_assert_eq(strlen(text), 43);
    cr_assert_str_neq(text, other);
    cr_assert_eq(strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"), 43);
    cr_assert(token_hash(text, again));
    cr_assert_arr_eq(hash, again, TOKEN_HASH);
}

Test(token, has_one_form_only)
{
    uint8_t hash[TOKEN_HASH];
    cr_assert_not(token_hash(NULL, hash));
    cr_assert_not(token_hash("", hash));
    cr_assert(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", hash));
    cr_assert_not(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", hash), "short");
    cr_assert_not(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", hash), "long");
    cr_assert_not(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAB", hash), "stray bits");
    cr_assert_not(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=", hash), "padding");
    cr_assert_not(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA+A", hash), "the other alphabet");
    cr_assert_not(token_hash("AAAAAAAAAAAAAAAAAAAAA\x99"
                             "AAAAAAAAAAAAAAAAAAAAA",
                             hash),
                  "no letter at all");
}

/* Against the figure another program (sha256sum) gives for the same 43 letters. */
Test(token, stores_sha_256)
{
    static const uint8_t wanted[TOKEN_HASH] = {0x0f, 0x00, 0x73, 0x85, 0xb6, 0xf9, 0xd4, 0xb7, 0xee, 0xb2, 0x74,
                                               0x86, 0x05, 0xaf, 0xe1, 0xa9, 0x84, 0xa0, 0xa3, 0xbf, 0xa3, 0xf0,
                                               0x14, 0xd0, 0x9e, 0x2a, 0x78, 0x4c, 0xe9, 0xe5, 0xcd, 0x1a};
    uint8_t hash[TOKEN_HASH];
    cr_assert(token_hash("AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", hash));
    cr_assert_arr_eq(hash, wanted, TOKEN_HASH);
}

/* ---- what a request carries ---- */

Test(principal, reads_bearer)
{
    cr_assert_str_eq(auth_bearer("Bearer abc"), "abc");
    cr_assert_str_eq(auth_bearer("bearer   abc"), "abc");
    cr_assert_null(auth_bearer("Basic abc"));
    cr_assert_null(auth_bearer("Bearer"));
    cr_assert_null(auth_bearer(NULL));
}

Test(principal, origin)
{
    static const struct {
        const char *origin, *site, *host;
        bool secure, fine;
    } table[] = {
        {"https://academy.example", "same-origin", "academy.example", true, true},
        {"http://127.0.0.1:8470", NULL, "127.0.0.1:8470", false, true},
        {"https://Academy.example", NULL, "academy.EXAMPLE", true, true},
        {"HTTPS://academy.example", NULL, "academy.example", true, true},
        {"http://academy.example", "same-origin", "academy.example", true, false},
        {"https://academy.example", "same-origin", "academy.example", false, false},
        {NULL, NULL, "academy.example", true, false},
        {NULL, "same-origin", "academy.example", true, false},
        {"null", "same-origin", "academy.example", true, false},
        {"https://academy.example", "cross-site", "academy.example", true, false},
        {"https://academy.example", "same-site", "academy.example", true, false},
        {"https://academy.example", "none", "academy.example", true, false},
        {"https://elsewhere.example", NULL, "academy.example", true, false},
        {"https://academy.example.evil.example", NULL, "academy.example", true, false},
        {"https://academy.example:444", NULL, "academy.example", true, false},
        {"https://academy.example", NULL, NULL, true, false},
        {"https://", NULL, "", true, false},
        {"ftp://academy.example", NULL, "academy.example", true, false},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        cr_assert_eq(auth_origin_ok(table[i].origin, table[i].site, table[i].host, table[i].secure), table[i].fine,
                     "row %zu", i);
    }
}

Test(principal, cookie)
{
    char text[AUTH_COOKIE_TEXT];
    auth_cookie_format("abc", 60, false, text);
    cr_assert_str_eq(text, "leadside_session=abc; Path=/; Max-Age=60; HttpOnly; SameSite=Strict");
    auth_cookie_format("abc", 60, true, text);
    cr_assert_str_eq(text, "__Host-leadside_session=abc; Path=/; Max-Age=60; HttpOnly; SameSite=Strict; Secure");
    auth_cookie_format(NULL, 60, true, text);
    cr_assert_str_eq(text, "__Host-leadside_session=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict; Secure");
}

/* ---- with the store ---- */

static struct fixture club;

static void open_club(void)
{
    fixture_open(&club);
}

static void close_club(void)
{
    fixture_close(&club);
}

static void sign_in(const char *account, enum store_session_kind kind, char text[TOKEN_TEXT], char id[UUID_TEXT])
{
    uint8_t hash[TOKEN_HASH];
    struct store_session session = {
        .kind = kind, .created = NOW, .last_seen = NOW, .expires = NOW + 24 * HOUR, .idle_ms = 2 * HOUR};
    uuid7_new(session.id);
    strcpy(id, session.id);
    strcpy(session.account_id, account);
    token_new(text, hash);
    cr_assert_eq(store_session_insert(club.db, &session, hash), STORE_OK);
}

Test(authenticate, finds_the_caller, .init = open_club, .fini = close_club)
{
    char coach[UUID_TEXT];
    char session[UUID_TEXT];
    char token[TOKEN_TEXT];
    struct principal who;
    cr_assert_eq(make_account(club.db, STORE_COACH, "coach", "", coach), STORE_OK);
    sign_in(coach, STORE_BEARER, token, session);
    cr_assert_eq(auth_authenticate(club.db, token, false, NOW + 1000, &who), STORE_OK);
    cr_assert_str_eq(who.account_id, coach);
    cr_assert_str_eq(who.session_id, session);
    cr_assert_eq(who.role, STORE_COACH);
    cr_assert_not(who.touch);
    cr_assert_not(who.by_cookie);
    cr_assert_eq(auth_authenticate(club.db, token, false, NOW + 60000, &who), STORE_OK);
    cr_assert(who.touch, "a minute old");
    cr_assert_eq(auth_authenticate(club.db, token, true, NOW, &who), STORE_NOT_FOUND, "not as a cookie");
    token[0] = token[0] == 'A' ? 'B' : 'A';
    cr_assert_eq(auth_authenticate(club.db, token, false, NOW, &who), STORE_NOT_FOUND);
    cr_assert_eq(auth_authenticate(club.db, NULL, false, NOW, &who), STORE_NOT_FOUND);
}

Test(authenticate, ends, .init = open_club, .fini = close_club)
{
    char coach[UUID_TEXT];
    char session[UUID_TEXT];
    char token[TOKEN_TEXT];
    struct principal who;
    cr_assert_eq(make_account(club.db, STORE_COACH, "coach", "", coach), STORE_OK);
    sign_in(coach, STORE_COOKIE, token, session);
    cr_assert_eq(auth_authenticate(club.db, token, true, NOW, &who), STORE_OK);
    cr_assert(who.by_cookie);
    cr_assert_eq(auth_authenticate(club.db, token, false, NOW, &who), STORE_NOT_FOUND, "not as a bearer token");
    cr_assert_eq(auth_authenticate(club.db, token, true, NOW + 3 * HOUR, &who), STORE_NOT_FOUND, "idle too long");
    cr_assert_eq(auth_authenticate(club.db, token, true, NOW + 25 * HOUR, &who), STORE_NOT_FOUND, "expired");
    cr_assert_eq(store_session_revoke(club.db, coach, session, NOW + 5), STORE_OK);
    cr_assert_eq(auth_authenticate(club.db, token, true, NOW + 10, &who), STORE_NOT_FOUND, "revoked");
}

Test(rights, finds_ties, .init = open_club, .fini = close_club)
{
    char mine[UUID_TEXT];
    char other[UUID_TEXT];
    char coach[UUID_TEXT];
    char guardian[UUID_TEXT];
    enum rights_membership membership;
    cr_assert_eq(make_junior(club.db, "A", mine), STORE_OK);
    cr_assert_eq(make_student(club.db, "B", other), STORE_OK);
    cr_assert_eq(make_account(club.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_account(club.db, STORE_GUARDIAN, "guardian", "", guardian), STORE_OK);
    cr_assert_eq(store_team_add(club.db, mine, coach, NOW), STORE_OK);
    cr_assert_eq(store_guardian_add(club.db, guardian, mine, NOW), STORE_OK);
    static const enum rights_membership wanted[STORE_ROLE_COUNT] = {[STORE_HEAD] = RIGHTS_OVERSEES,
                                                                    [STORE_COACH] = RIGHTS_ON_TEAM,
                                                                    [STORE_STUDENT] = RIGHTS_OWN,
                                                                    [STORE_GUARDIAN] = RIGHTS_STANDS_FOR};
    for (int role = 0; role < STORE_ROLE_COUNT; role++) {
        struct principal who = caller((enum store_role)role);
        strcpy(who.account_id, role == STORE_GUARDIAN ? guardian : coach);
        strcpy(who.student_id, role == STORE_STUDENT ? mine : "");
        cr_assert_eq(rights_find_membership(club.db, &who, mine, &membership), STORE_OK);
        cr_assert_eq(membership, wanted[role], "role %d", role);
        cr_assert_eq(rights_find_membership(club.db, &who, other, &membership), STORE_OK);
        cr_assert_eq(membership, role == STORE_HEAD ? RIGHTS_OVERSEES : RIGHTS_STRANGER, "role %d", role);
    }
}

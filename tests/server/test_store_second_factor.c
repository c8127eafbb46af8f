/* What the store remembers of a second factor, that it forgets it whole, and when a session was confirmed. */
#include <criterion/criterion.h>

#include "store/people/second_factor.h"
#include "store_fixture.h"

static struct fixture f;
static char coach[UUID_TEXT], student[UUID_TEXT], learner[UUID_TEXT];

static void setup(void)
{
    fixture_open(&f);
    cr_assert_eq(make_account(f.db, STORE_COACH, "coach", "", coach), STORE_OK);
    cr_assert_eq(make_student(f.db, "Linnet", student), STORE_OK);
    cr_assert_eq(make_account(f.db, STORE_STUDENT, "linnet", student, learner), STORE_OK);
}

static void teardown(void)
{
    fixture_close(&f);
}

TestSuite(store_second_factor, .init = setup, .fini = teardown);

static struct store_second_factor factor_of(const char *account, uint8_t first)
{
    struct store_second_factor factor = {.sealed = {first}, .started = NOW};
    strcpy(factor.account_id, account);
    return factor;
}

static bool account_has_one(const char *id)
{
    struct store_account account;
    cr_assert_eq(store_account_get(f.db, id, f.arena, &account), STORE_OK);
    return account.second_factor;
}

static int64_t rows(const char *sql)
{
    int64_t count = -1;
    cr_assert_eq(store_db_number(f.db, sql, &count), STORE_OK);
    return count;
}

Test(store_second_factor, waits_for_its_first_code_and_then_stays)
{
    struct store_second_factor got;
    struct store_second_factor factor = factor_of(coach, 1);
    cr_assert_eq(store_second_factor_get(f.db, coach, &got), STORE_NOT_FOUND);
    cr_assert_eq(store_second_factor_confirm(f.db, coach, NOW), STORE_NOT_FOUND);
    cr_assert_eq(store_second_factor_start(f.db, &factor), STORE_OK);
    cr_assert_not(account_has_one(coach), "not before it is confirmed");
    factor.sealed[0] = 2;
    cr_assert_eq(store_second_factor_start(f.db, &factor), STORE_OK, "in place of the one that waited");
    cr_assert_eq(store_second_factor_get(f.db, coach, &got), STORE_OK);
    cr_assert_eq(got.sealed[0], 2);
    cr_assert_eq(got.confirmed, 0);
    cr_assert_eq(got.last_step, -1);
    cr_assert_eq(store_second_factor_confirm(f.db, coach, NOW + 5), STORE_OK);
    cr_assert(account_has_one(coach));
    cr_assert_not(account_has_one(learner));
    cr_assert_eq(store_second_factor_confirm(f.db, coach, NOW + 6), STORE_NOT_FOUND, "once");
    cr_assert_eq(store_second_factor_start(f.db, &factor), STORE_CONFLICT, "never over one that counts");
    cr_assert_eq(store_second_factor_get(f.db, coach, &got), STORE_OK);
    cr_assert_eq(got.confirmed, NOW + 5);
}

Test(store_second_factor, a_step_is_taken_once_and_never_an_earlier_one)
{
    struct store_second_factor factor = factor_of(coach, 1);
    cr_assert_eq(store_second_factor_start(f.db, &factor), STORE_OK);
    cr_assert_eq(store_second_factor_take(f.db, coach, 100), STORE_OK);
    cr_assert_eq(store_second_factor_take(f.db, coach, 100), STORE_NOT_FOUND);
    cr_assert_eq(store_second_factor_take(f.db, coach, 99), STORE_NOT_FOUND);
    cr_assert_eq(store_second_factor_take(f.db, coach, 101), STORE_OK);
    cr_assert_eq(store_second_factor_take(f.db, learner, 101), STORE_NOT_FOUND, "who has none");
}

Test(store_second_factor, recovery_codes_are_used_once_and_go_with_it)
{
    const uint8_t code[STORE_HASH] = {1, 2, 3};
    const uint8_t other[STORE_HASH] = {3, 2, 1};
    struct store_second_factor factor = factor_of(coach, 1);
    cr_assert_eq(store_recovery_add(f.db, coach, code), STORE_NOT_FOUND, "no second factor, no code for it");
    cr_assert_eq(store_second_factor_start(f.db, &factor), STORE_OK);
    cr_assert_eq(store_recovery_add(f.db, coach, code), STORE_OK);
    cr_assert_eq(store_recovery_add(f.db, coach, other), STORE_OK);
    cr_assert_eq(store_recovery_use(f.db, learner, code), STORE_NOT_FOUND, "somebody else's");
    cr_assert_eq(store_recovery_use(f.db, coach, code), STORE_OK);
    cr_assert_eq(store_recovery_use(f.db, coach, code), STORE_NOT_FOUND);
    cr_assert_eq(store_second_factor_remove(f.db, coach), STORE_OK);
    cr_assert_eq(rows("SELECT count(*) FROM recovery_code"), 0);
    cr_assert_eq(store_second_factor_remove(f.db, coach), STORE_NOT_FOUND);
}

Test(store_second_factor, goes_with_an_erased_student)
{
    const uint8_t code[STORE_HASH] = {1};
    struct store_second_factor factor = factor_of(learner, 1);
    cr_assert_eq(store_second_factor_start(f.db, &factor), STORE_OK);
    cr_assert_eq(store_recovery_add(f.db, learner, code), STORE_OK);
    cr_assert_eq(store_db_execute(f.db, "DELETE FROM student"), STORE_OK);
    cr_assert_eq(rows("SELECT count(*) FROM second_factor"), 0);
    cr_assert_eq(rows("SELECT count(*) FROM recovery_code"), 0);
}

Test(store_second_factor, a_session_remembers_when_it_was_confirmed)
{
    const uint8_t token[STORE_HASH] = {7};
    struct store_session_identity who;
    struct store_session session = {
        .created = NOW, .last_seen = NOW, .expires = NOW + HOUR, .idle_ms = HOUR, .confirmed_at = NOW};
    uuid7_new(session.id);
    strcpy(session.account_id, coach);
    cr_assert_eq(store_session_insert(f.db, &session, token), STORE_OK);
    cr_assert_eq(store_session_find(f.db, token, NOW + 1, &who), STORE_OK);
    cr_assert_eq(who.confirmed_at, NOW);
    cr_assert_eq(store_session_confirm(f.db, session.id, NOW + 9), STORE_OK);
    cr_assert_eq(store_session_find(f.db, token, NOW + 10, &who), STORE_OK);
    cr_assert_eq(who.confirmed_at, NOW + 9);
    cr_assert_eq(store_session_revoke(f.db, coach, session.id, NOW + 11), STORE_OK);
    cr_assert_eq(store_session_confirm(f.db, session.id, NOW + 12), STORE_NOT_FOUND, "not when it is over");
}

/* How often, and what wrong passwords cost whom. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "auth/throttle.h"
#include "base/network.h"

Test(network, is_what_one_party_holds)
{
    static const struct {
        const char *address, *network, *site;
    } table[] = {
        {"192.0.2.77", "192.0.2.77/32", "192.0.2.0/24"},
        {"2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64", "2001:db8:1::/48"},
        {"2001:db8:1:2:ffff::9", "2001:db8:1:2::/64", "2001:db8:1::/48"},
        {"::ffff:192.0.2.77", "192.0.2.77/32", "192.0.2.0/24"},
        {"fe80::1%eth0", "fe80::/64", "fe80::/48"},
        {"::1", "::/64", "::/48"},
        {"nowhere", "nowhere", "nowhere"},
        {"", "", ""},
    };
    char out[NETWORK_TEXT];
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        network_of(table[i].address, out);
        cr_assert_str_eq(out, table[i].network, "row %zu: %s", i, out);
        network_site(table[i].address, out);
        cr_assert_str_eq(out, table[i].site, "row %zu: %s", i, out);
    }
}

Test(throttle, empties_and_refills)
{
    struct throttle_config config = {.rates = {[THROTTLE_WRITE] = {2, 4}}};
    struct throttle *throttle = throttle_new(&config);
    for (int i = 0; i < 4; i++) {
        cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "a", 1000), 0, "%d", i);
    }
    cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "a", 1000), 1);
    cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "b", 1000), 0, "another key has its own bucket");
    cr_assert_eq(throttle_take(throttle, THROTTLE_READ, "a", 1000), 0, "a class without a rate is free");
    cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "a", 1400), 1);
    cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "a", 1500), 0, "half a second is one");
    cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "a", 1500), 1);
    for (int i = 0; i < 4; i++) {
        cr_assert_eq(throttle_take(throttle, THROTTLE_WRITE, "a", 99000), 0, "no more than the burst: %d", i);
    }
    cr_assert_gt(throttle_take(throttle, THROTTLE_WRITE, "a", 99000), 0);
    throttle_free(throttle);
}

Test(throttle, a_crowd_of_networks_frees_no_one_who_waits)
{
    struct throttle_config config = {.rates = {[THROTTLE_SIGN_IN] = {0.1, 2}}, .slots = 16};
    struct throttle *throttle = throttle_new(&config);
    char key[32];
    for (int i = 0; i < 2; i++) {
        cr_assert_eq(throttle_take(throttle, THROTTLE_SIGN_IN, "192.0.2.1", 0), 0);
    }
    for (int i = 0; i < 10000; i++) {
        snprintf(key, sizeof key, "10.0.%d.%d", i / 250, i % 250);
        cr_assert_eq(throttle_take(throttle, THROTTLE_SIGN_IN, key, i / 10), 0, "a newcomer finds a slot");
    }
    cr_assert_eq(throttle_take(throttle, THROTTLE_SIGN_IN, "192.0.2.1", 1000), 9, "who waits is still known");
    throttle_free(throttle);
}

/* ---- tries ---- */

/* One try, ended at once; the seconds to wait when it was not let through. */
static unsigned try(struct throttle *throttle, const char *name, const char *remote, const char *device,
                    enum throttle_result result, int64_t now)
{
    const struct throttle_who who = {.name = name, .remote = remote, .device = device};
    struct throttle_try one;
    const unsigned wait = throttle_begin(throttle, &who, now, &one);
    throttle_end(throttle, &one, result, now);
    return wait;
}

Test(throttle, waits_longer_after_each_failure)
{
    struct throttle *throttle = throttle_new(NULL);
    int64_t now = 5000;
    for (int i = 0; i < 4; i++) {
        cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, now), 0, "the first three are free");
    }
    unsigned wanted = 1;
    for (int i = 0; i < 12; i++) {
        cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, now), wanted, "failure %d", i + 4);
        now += (int64_t)wanted * 1000;
        cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, now), 0);
        wanted = wanted * 2 > 900 ? 900 : wanted * 2;
    }
    cr_assert_eq(try(throttle, "other", "192.0.2.1", NULL, THROTTLE_WRONG, now), 0, "another name");
    cr_assert_eq(try(throttle, "pro", "198.51.100.9", NULL, THROTTLE_RIGHT, now), 0, "the same from elsewhere");
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, now), wanted, "which frees nobody here");
    now += (int64_t)wanted * 1000;
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_RIGHT, now), 0);
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, now), 0, "counted afresh");
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, now), 0);
    throttle_free(throttle);
}

Test(throttle, forgets_after_quiet)
{
    struct throttle *throttle = throttle_new(NULL);
    for (int i = 0; i < 4; i++) {
        cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, 0), 0);
    }
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, 1000), 0);
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, 1000), 2);
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, 3700000), 0);
    cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_WRONG, 3700000), 0, "free again");
    throttle_free(throttle);
}

Test(throttle, what_nobody_looked_at_does_not_count)
{
    struct throttle *throttle = throttle_new(NULL);
    for (int i = 0; i < 500; i++) {
        cr_assert_eq(try(throttle, "pro", "192.0.2.1", NULL, THROTTLE_UNSEEN, 1000), 0, "%d", i);
    }
    throttle_free(throttle);
}

/* All at the same moment: as many go through as would one after another, and no more once they are known to be wrong.
 */
Test(throttle, tries_at_once_do_not_slip_through)
{
    struct throttle *throttle = throttle_new(NULL);
    const struct throttle_who who = {.name = "pro", .remote = "192.0.2.1"};
    struct throttle_try tries[100];
    int through = 0;
    for (int i = 0; i < 100; i++) {
        through += throttle_begin(throttle, &who, 1000, &tries[i]) == 0;
    }
    cr_assert_eq(through, 4);
    for (int i = 0; i < 100; i++) {
        throttle_end(throttle, &tries[i], THROTTLE_WRONG, 1100);
        throttle_end(throttle, &tries[i], THROTTLE_WRONG, 1100);
    }
    cr_assert_eq(throttle_begin(throttle, &who, 1100, &tries[0]), 1, "and each counted once");
    cr_assert_eq(throttle_begin(throttle, &who, 2100, &tries[0]), 0);
    cr_assert_eq(throttle_begin(throttle, &who, 2100, &tries[1]), 1, "then one at a time");
    cr_assert_eq(throttle_begin(throttle, &who, 62200, &tries[1]), 0, "one that never ended is not waited for");
    throttle_free(throttle);
}

/* A stranger tries for a day, as often as is allowed; the head signs in from another network and from known devices. */
Test(throttle, a_stranger_locks_nobody_out)
{
    struct throttle *throttle = throttle_new(NULL);
    int looked_at = 0;
    for (int64_t now = 0; now < 24 * 3600 * 1000; now += 1000) {
        char address[64];
        snprintf(address, sizeof address, "2001:db8:7:%x::%x", (unsigned)(now / 1000 % 65536), (unsigned)(now % 9973));
        looked_at += try(throttle, "head", address, NULL, THROTTLE_WRONG, now) == 0;
        if (now % 60000 == 0) {
            cr_assert_eq(try(throttle, "head", "192.0.2.1", NULL, THROTTLE_RIGHT, now), 0, "after %d s",
                         (int)(now / 1000));
            cr_assert_eq(try(throttle, "head", "2001:db8:7::1", "tablet", THROTTLE_RIGHT, now), 0);
        }
    }
    cr_assert_leq(looked_at, 130, "%d guesses in a day, though each had a network of its own within one site",
                  looked_at);
    throttle_free(throttle);
}

Test(throttle, guessing_from_everywhere_is_held_and_known_devices_are_not)
{
    struct throttle *throttle = throttle_new(NULL);
    int hour = 0;
    int day = 0;
    for (int64_t now = 0; now < 24 * 3600 * 1000; now += 500) {
        char address[32];
        const unsigned n = (unsigned)(now / 500);
        snprintf(address, sizeof address, "%u.%u.%u.9", 11 + n / 65536, n / 256 % 256, n % 256);
        const bool through = try(throttle, "head", address, NULL, THROTTLE_WRONG, now) == 0;
        day += through;
        hour += through && now < 3600 * 1000;
        if (now % 60000 == 0) {
            cr_assert_eq(try(throttle, "head", NULL, "cookie", THROTTLE_RIGHT, now), 0, "a known device at %d s",
                         (int)(now / 1000));
        }
    }
    cr_assert_leq(hour, 100, "%d in the first hour", hour);
    cr_assert_leq(day, 50 * 25, "%d in a day", day);
    cr_assert_geq(hour, 50, "the budget is there to be used");
    for (int i = 0; i < 4; i++) {
        cr_assert_eq(try(throttle, "head", NULL, "cookie", THROTTLE_WRONG, 90000000), 0);
    }
    cr_assert_eq(try(throttle, "head", NULL, "cookie", THROTTLE_WRONG, 90000000), 1, "a known device waits for itself");
    cr_assert_eq(try(throttle, "head", NULL, "other", THROTTLE_WRONG, 90000000), 0, "and for no other");
    throttle_free(throttle);
}

Test(throttle, made_up_names_free_no_one_who_waits)
{
    struct throttle *throttle = throttle_new(NULL);
    int64_t now = 1000;
    for (int i = 0; i < 8; i++) {
        cr_assert_eq(try(throttle, "head", "2001:db8::1", NULL, THROTTLE_WRONG, now), 0);
        now += i < 3 ? 0 : 1000 << (i - 3);
    }
    now -= 1000 << 4;
    cr_assert_eq(try(throttle, "head", "2001:db8::1", NULL, THROTTLE_WRONG, now), 16, "it waits");
    int turned_away = 0;
    for (int i = 0; i < 40000; i++) {
        char name[32];
        char address[64];
        snprintf(name, sizeof name, "made up %d", i);
        snprintf(address, sizeof address, "2001:db8::%x", i);
        turned_away += try(throttle, name, address, NULL, THROTTLE_WRONG, now + i / 10) != 0;
    }
    cr_assert_eq(try(throttle, "head", "2001:db8::1", NULL, THROTTLE_WRONG, now + 4000), 12, "and still waits");
    cr_assert_eq(turned_away, 0, "while new names found a slot");
    now += 16000;
    cr_assert_eq(try(throttle, "head", "2001:db8::1", NULL, THROTTLE_WRONG, now), 0);
    cr_assert_eq(try(throttle, "head", "2001:db8::1", NULL, THROTTLE_WRONG, now), 32, "its count was kept too");
    throttle_free(throttle);
}

Test(throttle, when_all_slots_make_wait_a_newcomer_waits)
{
    struct throttle_config config = {.slots = 8, .free_failures = 1, .site_failures = 1};
    struct throttle *throttle = throttle_new(&config);
    char name[32];
    for (int i = 0; i < 4; i++) { /* two slots each: network and site */
        snprintf(name, sizeof name, "name %d", i);
        cr_assert_eq(try(throttle, name, "192.0.2.1", NULL, THROTTLE_WRONG, 0), 0);
        cr_assert_eq(try(throttle, name, "192.0.2.1", NULL, THROTTLE_WRONG, 0), 0);
    }
    cr_assert_eq(try(throttle, "newcomer", "192.0.2.1", NULL, THROTTLE_WRONG, 0), 1);
    for (int i = 0; i < 4; i++) {
        snprintf(name, sizeof name, "name %d", i);
        cr_assert_eq(try(throttle, name, "192.0.2.1", NULL, THROTTLE_WRONG, 0), 1, "none of them gave way");
    }
    cr_assert_eq(try(throttle, "newcomer", "192.0.2.1", NULL, THROTTLE_WRONG, 1000), 0);
    throttle_free(throttle);
}

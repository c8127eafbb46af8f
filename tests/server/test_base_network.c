/* Which network an address belongs to. */
#include <criterion/criterion.h>

#include "base/network.h"

Test(network, of_addresses)
{
    static const struct {
        char address[64], network[64];
    } cases[] = {
        {"203.0.113.9", "203.0.113.9/32"},
        {"::ffff:203.0.113.9", "203.0.113.9/32"},
        {"2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"},
        {"2001:db8:1:2::", "2001:db8:1:2::/64"},
        {"2001:0DB8:0001:0002:ffff:ffff:ffff:ffff", "2001:db8:1:2::/64"},
        {"2001:db8:1:3::1", "2001:db8:1:3::/64"},
        {"::1", "::/64"},
        {"ffff:ffff:ffff:ffff:ffff:ffff:255.255.255.255", "ffff:ffff:ffff:ffff::/64"},
        {"ffff:ffff:ffff:ffff:ffff:ffff:255.255.255.2550", "ffff:ffff:ffff:ffff:ffff:ffff:255.255.255.2550"},
        {"", ""},
        {"not an address", "not an address"},
    };
    char out[NETWORK_TEXT];
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        network_of(cases[i].address, out);
        cr_expect_str_eq(out, cases[i].network, "%s: %s", cases[i].address, out);
    }
    network_site("203.0.113.9", out);
    cr_expect_str_eq(out, "203.0.113.0/24", "%s", out);
    network_site("2001:db8:1:2::1", out);
    cr_expect_str_eq(out, "2001:db8:1::/48", "%s", out);
    char longer[200];
    for (size_t i = 0; i < sizeof longer; i++) {
        longer[i] = i + 1 < sizeof longer ? 'x' : '\0';
    }
    network_of(longer, out);
    cr_assert_eq(out[NETWORK_TEXT - 1], '\0');
}

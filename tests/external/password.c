/* Driver for check_password.py: `hash MEMORY_KIB PASSES PASSWORD` prints a hash as the server makes it; `verify HASH
 * PASSWORD` says yes or no; `raw MEMORY_KIB PASSES SALT_HEX PASSWORD` prints 32 bytes of plain Argon2id in hex. */
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "auth/password.h"

static int print_hash(char **argument)
{
    char hash[PASSWORD_HASH_TEXT];
    const struct password_cost cost = {.memory_bytes = strtoul(argument[0], NULL, 10) * 1024,
                                       .passes = (unsigned)strtoul(argument[1], NULL, 10)};
    if (!password_hash(&cost, argument[2], hash)) {
        return 1;
    }
    puts(hash);
    return 0;
}

static int print_raw(char **argument)
{
    unsigned char salt[crypto_pwhash_SALTBYTES];
    unsigned char out[32];
    char text[65];
    size_t size = 0;
    if (sodium_hex2bin(salt, sizeof salt, argument[2], strlen(argument[2]), NULL, &size, NULL) != 0 ||
        size != sizeof salt ||
        crypto_pwhash(out, sizeof out, argument[3], strlen(argument[3]), salt, strtoul(argument[1], NULL, 10),
                      strtoul(argument[0], NULL, 10) * 1024, crypto_pwhash_ALG_ARGON2ID13) != 0) {
        return 1;
    }
    puts(sodium_bin2hex(text, sizeof text, out, sizeof out));
    return 0;
}

int main(int argc, char **argv)
{
    if (sodium_init() < 0) {
        return 1;
    }
    if (argc == 5 && strcmp(argv[1], "hash") == 0) {
        return print_hash(argv + 2);
    }
    if (argc == 4 && strcmp(argv[1], "verify") == 0) {
        puts(password_verify(argv[2], argv[3]) ? "yes" : "no");
        return 0;
    }
    if (argc == 6 && strcmp(argv[1], "raw") == 0) {
        return print_raw(argv + 2);
    }
    fputs("usage: password hash KIB PASSES PASSWORD | verify HASH PASSWORD | raw KIB PASSES SALT_HEX PASSWORD\n",
          stderr);
    return 2;
}

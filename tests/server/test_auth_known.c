/* The server's own secret, and the cookie of a known device. */
#include <criterion/criterion.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "auth/known.h"

static char folder[] = "/tmp/leadside-key-XXXXXX";
static char path[64];

static void folder_make(void)
{
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/%s", folder, SECRET_FILE);
}

static void folder_remove(void)
{
    unlink(path);
    rmdir(folder);
}

static mode_t mode_of(void)
{
    struct stat status;
    cr_assert_eq(stat(path, &status), 0);
    return status.st_mode & 0777;
}

Test(secret, is_made_once_and_kept_from_others, .init = folder_make, .fini = folder_remove)
{
    uint8_t first[SECRET_BYTES];
    uint8_t again[SECRET_BYTES];
    char error[256] = "";
    const mode_t before = umask(0);
    cr_assert(secret_open(folder, first, error, sizeof error), "%s", error);
    umask(before);
    cr_assert_eq(mode_of(), 0600);
    cr_assert(secret_open(folder, again, error, sizeof error), "%s", error);
    cr_assert_arr_eq(first, again, SECRET_BYTES);
    cr_assert_eq(chmod(path, 0644), 0);
    cr_assert(secret_open(folder, again, error, sizeof error), "%s", error);
    cr_assert_eq(mode_of(), 0600, "a copied file is closed again");
    unlink(path);
    cr_assert(secret_open(folder, again, error, sizeof error), "%s", error);
    cr_assert_neq(memcmp(first, again, SECRET_BYTES), 0, "a lost one is made anew");
}

Test(secret, of_another_size_is_refused, .init = folder_make, .fini = folder_remove)
{
    uint8_t out[SECRET_BYTES];
    char error[256] = "";
    for (size_t size = 0; size < 50; size += size == 31 ? 2 : 31) {
        FILE *file = fopen(path, "wb");
        for (size_t i = 0; i < size; i++) {
            fputc('x', file);
        }
        fclose(file);
        cr_assert_not(secret_open(folder, out, error, sizeof error), "%zu bytes", size);
        cr_assert_not_null(strstr(error, SECRET_FILE), "%s", error);
    }
    unlink(path);
    cr_assert_eq(symlink("/dev/zero", path), 0);
    cr_assert_not(secret_open(folder, out, error, sizeof error), "nor one that leads elsewhere");
    cr_assert_not(secret_open("/nowhere/at/all", out, error, sizeof error));
}

Test(secret, gives_each_use_its_own)
{
    const uint8_t secret[SECRET_BYTES] = {1, 2, 3};
    uint8_t one[SECRET_BYTES];
    uint8_t two[SECRET_BYTES];
    secret_derive(secret, "known   ", one);
    secret_derive(secret, "body    ", two);
    cr_assert(memcmp(one, two, SECRET_BYTES) != 0 && memcmp(one, secret, SECRET_BYTES) != 0);
}

#define ACCOUNT "01900000-0000-7000-8000-0123456789ab"
#define OTHER "01900000-0000-7000-8000-0123456789ac"
#define NOW ((int64_t)1790000000000)

Test(known, only_what_was_made_for_the_account_counts)
{
    const uint8_t key[SECRET_BYTES] = {7};
    const uint8_t another[SECRET_BYTES] = {8};
    char text[KNOWN_TEXT];
    char second[KNOWN_TEXT];
    known_make(key, ACCOUNT, NOW, text);
    known_make(key, ACCOUNT, NOW, second);
    cr_assert_eq(strlen(text), KNOWN_TEXT - 1);
    cr_assert_str_neq(text, second, "each device has its own");
    cr_assert(known_check(key, text, ACCOUNT, NOW));
    cr_assert(known_check(key, text, ACCOUNT, NOW + KNOWN_MS - 1));
    cr_assert_not(known_check(key, text, ACCOUNT, NOW + KNOWN_MS), "its time is over");
    cr_assert_not(known_check(key, text, OTHER, NOW), "somebody else's account");
    cr_assert_not(known_check(another, text, ACCOUNT, NOW), "another server's");
    cr_assert_not(known_check(key, NULL, ACCOUNT, NOW));
    cr_assert_not(known_check(key, "", ACCOUNT, NOW));
    for (size_t i = 0; i < KNOWN_TEXT - 1; i++) {
        char changed[KNOWN_TEXT];
        memcpy(changed, text, sizeof changed);
        changed[i] = changed[i] == 'A' ? 'B' : 'A';
        cr_assert_not(known_check(key, changed, ACCOUNT, NOW), "character %zu", i);
    }
}

Test(known, cookie)
{
    const uint8_t key[SECRET_BYTES] = {7};
    char text[KNOWN_TEXT];
    char cookie[KNOWN_COOKIE_TEXT];
    known_make(key, ACCOUNT, NOW, text);
    known_cookie_format(ACCOUNT, text, true, cookie);
    cr_assert(strncmp(cookie, "__Secure-leadside_known_0123456789ab=", 37) == 0, "%s", cookie);
    cr_assert_not_null(strstr(cookie, "; Path=/v1/sign-in; Max-Age=15552000; HttpOnly; SameSite=Strict; Secure"));
    known_cookie_format(ACCOUNT, text, false, cookie);
    cr_assert(strncmp(cookie, "leadside_known_0123456789ab=", 28) == 0 && strstr(cookie, "Secure") == NULL, "%s",
              cookie);
}

/* Encrypted files: what goes in comes out, and nothing that was taken away, changed, moved or added passes. */
#include <criterion/criterion.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/cipher.h"

#define HEAD 58
#define PIECE 65536
#define TAG 17

static const uint8_t KEY[KEY_BYTES] = {1, 2, 3};
static const uint8_t OTHER[KEY_BYTES] = {1, 2, 4};

/* An unnamed file that holds these bytes, read from its beginning. */
static int file_of(const uint8_t *bytes, size_t size)
{
    char name[] = "/tmp/leadside-cipher-XXXXXX";
    const int file = mkstemp(name);
    cr_assert_geq(file, 0);
    unlink(name);
    cr_assert_eq(write(file, bytes, size), (ssize_t)size);
    lseek(file, 0, SEEK_SET);
    return file;
}

/* Everything in an open file; to be freed. */
static uint8_t *bytes_of(int file, size_t *size)
{
    *size = (size_t)lseek(file, 0, SEEK_END);
    uint8_t *bytes = malloc(*size + 1);
    lseek(file, 0, SEEK_SET);
    cr_assert_eq(read(file, bytes, *size), (ssize_t)*size);
    return bytes;
}

static uint8_t *encrypted(const uint8_t *plain, size_t plain_size, size_t *size)
{
    const int from = file_of(plain, plain_size);
    const int to = file_of(NULL, 0);
    cr_assert_eq(cipher_write(from, to, KEY), CIPHER_OK);
    uint8_t *bytes = bytes_of(to, size);
    close(from);
    close(to);
    return bytes;
}

static enum cipher_status opened(const uint8_t *bytes, size_t size, const uint8_t *key, uint8_t **plain,
                                 size_t *plain_size)
{
    const int from = file_of(bytes, size);
    const int to = plain == NULL ? -1 : file_of(NULL, 0);
    const enum cipher_status status = cipher_read(from, to, key);
    if (plain != NULL) {
        *plain = bytes_of(to, plain_size);
        close(to);
    }
    close(from);
    return status;
}

static enum cipher_status tried(const uint8_t *bytes, size_t size)
{
    return opened(bytes, size, KEY, NULL, NULL);
}

static uint8_t *invented(size_t size)
{
    uint8_t *bytes = malloc(size + 1);
    const uint8_t seed[randombytes_SEEDBYTES] = {7};
    randombytes_buf_deterministic(bytes, size, seed);
    return bytes;
}

Test(cipher, what_goes_in_comes_out)
{
    const size_t sizes[] = {0, 1, 4096, PIECE - 1, PIECE, PIECE + 1, 2 * PIECE, 3 * PIECE + 77};
    cr_assert_geq(sodium_init(), 0);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        uint8_t *plain = invented(sizes[i]);
        size_t size = 0;
        size_t back_size = 0;
        uint8_t *bytes = encrypted(plain, sizes[i], &size);
        uint8_t *back = NULL;
        cr_assert_eq(size, HEAD + sizes[i] + (sizes[i] / PIECE + 1) * TAG, "%zu bytes became %zu", sizes[i], size);
        cr_assert_eq(memcmp(bytes, "leadside backup 1\n", 18), 0);
        cr_assert_eq(opened(bytes, size, KEY, &back, &back_size), CIPHER_OK);
        cr_assert_eq(back_size, sizes[i]);
        cr_assert_eq(memcmp(back, plain, sizes[i]), 0);
        cr_assert_eq(tried(bytes, size), CIPHER_OK, "proved without writing");
        size_t again_size = 0;
        uint8_t *again = encrypted(plain, sizes[i], &again_size);
        cr_assert_neq(memcmp(again, bytes, size), 0, "never twice the same");
        free(again);
        free(back);
        free(bytes);
        free(plain);
    }
}

Test(cipher, nothing_shorter_longer_or_changed_passes)
{
    cr_assert_geq(sodium_init(), 0);
    uint8_t *plain = invented(100);
    size_t size = 0;
    uint8_t *bytes = encrypted(plain, 100, &size);
    for (size_t shorter = 0; shorter < size; shorter++) {
        cr_assert_eq(tried(bytes, shorter), shorter < 18 ? CIPHER_FOREIGN : CIPHER_END, "%zu bytes", shorter);
    }
    for (size_t bit = 0; bit < size * 8; bit++) {
        bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
        const size_t at = bit / 8;
        const enum cipher_status expected = at < 16   ? CIPHER_FOREIGN
                                            : at < 18 ? CIPHER_NEWER
                                            : at < 34 ? CIPHER_KEY
                                                      : CIPHER_END; /* the one piece is not a whole one */
        cr_assert_eq(tried(bytes, size), expected, "bit %zu", bit);
        bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
    }
    cr_assert_eq(tried(bytes, size), CIPHER_OK);
    free(bytes);
    free(plain);
}

Test(cipher, pieces_stay_where_they_were)
{
    cr_assert_geq(sodium_init(), 0);
    const size_t piece = PIECE + TAG;
    uint8_t *plain = invented(3 * PIECE);
    size_t size = 0;
    uint8_t *bytes = encrypted(plain, 3 * PIECE, &size);
    cr_assert_eq(size, HEAD + 3 * piece + TAG, "the last piece is empty");
    const size_t cuts[] = {
        HEAD,     HEAD + piece, HEAD + 2 * piece, HEAD + 3 * piece, HEAD + 3 * piece + TAG - 1, HEAD + piece + 1,
        HEAD + 40};
    for (size_t i = 0; i < sizeof cuts / sizeof *cuts; i++) {
        cr_assert_eq(tried(bytes, cuts[i]), CIPHER_END, "cut at %zu", cuts[i]);
    }
    bytes[HEAD + piece + 9] ^= 1;
    cr_assert_eq(tried(bytes, size), CIPHER_DAMAGED);
    bytes[HEAD + piece + 9] ^= 1;
    uint8_t *moved = malloc(size + piece);
    memcpy(moved, bytes, size);
    memcpy(moved + HEAD, bytes + HEAD + piece, piece);
    memcpy(moved + HEAD + piece, bytes + HEAD, piece);
    cr_assert_eq(tried(moved, size), CIPHER_DAMAGED, "two pieces in each other's place");
    memcpy(moved, bytes, size);
    memmove(moved + HEAD + piece, moved + HEAD + 2 * piece, size - HEAD - 2 * piece);
    cr_assert_neq(tried(moved, size - piece), CIPHER_OK, "one piece taken out");
    memcpy(moved, bytes, HEAD + piece);
    memcpy(moved + HEAD + piece, bytes + HEAD, size - HEAD);
    cr_assert_neq(tried(moved, size + piece), CIPHER_OK, "one piece twice");
    memcpy(moved, bytes, size);
    moved[size] = 0;
    cr_assert_eq(tried(moved, size + 1), CIPHER_END);
    free(moved);
    free(bytes);
    free(plain);
}

Test(cipher, another_key_and_other_files_are_told)
{
    cr_assert_geq(sodium_init(), 0);
    size_t size = 0;
    uint8_t *bytes = encrypted((const uint8_t *)"text", 4, &size);
    cr_assert_eq(opened(bytes, size, OTHER, NULL, NULL), CIPHER_KEY);
    memcpy(bytes + 16, "2\n", 2);
    cr_assert_eq(tried(bytes, size), CIPHER_NEWER);
    const int file = file_of(bytes, size);
    const int plain = file_of((const uint8_t *)"SQLite format 3", 16);
    cr_assert(cipher_is(file));
    cr_assert_eq(lseek(file, 0, SEEK_CUR), 0, "it stands at its beginning again");
    cr_assert_not(cipher_is(plain));
    for (int status = CIPHER_OK; status < CIPHER_STATUS_COUNT; status++) {
        cr_assert_not_null(cipher_fault((enum cipher_status)status));
    }
    close(plain);
    close(file);
    free(bytes);
}

Test(cipher, a_full_disk_is_told)
{
    cr_assert_geq(sodium_init(), 0);
    const int from = file_of((const uint8_t *)"text", 4);
    FILE *full = fopen("/dev/full", "w");
    cr_assert_not_null(full);
    cr_assert_eq(cipher_write(from, fileno(full), KEY), CIPHER_WRITE);
    cr_assert_str_eq(cipher_fault(CIPHER_WRITE), "No space left on device");
    fclose(full);
    close(from);
}

Test(key_file, is_its_owners_alone_and_never_replaced)
{
    char folder[] = "/tmp/leadside-key-file-XXXXXX";
    char path[64];
    uint8_t key[KEY_BYTES];
    uint8_t again[KEY_BYTES];
    struct stat status;
    cr_assert_geq(sodium_init(), 0);
    cr_assert_not_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/key", folder);
    cr_assert_eq(key_file_read(path, again), KEY_MISSING);
    const mode_t before = umask(0);
    cr_assert_eq(key_file_make(path, key), KEY_FINE);
    umask(before);
    cr_assert_eq(stat(path, &status), 0);
    cr_assert_eq(status.st_mode & 07777, 0600);
    cr_assert_eq(status.st_size, KEY_BYTES);
    cr_assert_eq(key_file_read(path, again), KEY_FINE);
    cr_assert_arr_eq(key, again, KEY_BYTES);
    cr_assert_eq(key_file_make(path, again), KEY_TAKEN);
    const mode_t modes[] = {0640, 0604, 0620, 0610, 0666};
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
        cr_assert_eq(chmod(path, modes[i]), 0);
        cr_assert_eq(key_file_read(path, again), KEY_READABLE, "%o", modes[i]);
    }
    cr_assert_eq(chmod(path, 0400), 0);
    cr_assert_eq(key_file_read(path, again), KEY_FINE);
    cr_assert_eq(chmod(path, 0600), 0);
    for (off_t size = 0; size < 50; size += size == 31 ? 2 : 31) {
        cr_assert_eq(truncate(path, size), 0);
        cr_assert_eq(key_file_read(path, again), KEY_NONE, "%ld bytes", (long)size);
    }
    unlink(path);
    cr_assert_eq(symlink("/dev/zero", path), 0);
    cr_assert_eq(key_file_read(path, again), KEY_NONE);
    cr_assert_eq(key_file_make(path, again), KEY_TAKEN, "nor is a link");
    unlink(path);
    cr_assert_eq(mkfifo(path, 0600), 0);
    cr_assert_eq(key_file_read(path, again), KEY_NONE, "a pipe isn't waited for");
    unlink(path);
    rmdir(folder);
    cr_assert_eq(key_file_make(path, again), KEY_ERROR);
    for (int fault = KEY_FINE; fault < KEY_STATUS_COUNT; fault++) {
        cr_assert_not_null(key_file_fault((enum key_file_status)fault));
    }
}

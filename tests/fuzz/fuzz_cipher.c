/* An encrypted copy. The input as it is: taken for one it is read or refused, and what is read came whole. And the
 * input encrypted: it comes back, and with one byte changed, taken off or added it does not. */
#define _GNU_SOURCE
#include <sodium.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "base/cipher.h"
#include "fuzz.h"

static const uint8_t KEY[KEY_BYTES] = "leadside's fuzz target, a key ..";
static int from = -1, to = -1;
static uint8_t held[1 << 20];

static void fill(int file, const uint8_t *data, size_t size)
{
    fuzz_require(ftruncate(file, 0) == 0 && lseek(file, 0, SEEK_SET) == 0, "a file in memory");
    fuzz_require(write(file, data, size) == (ssize_t)size && lseek(file, 0, SEEK_SET) == 0, "that takes the input");
}

static size_t take(int file)
{
    fuzz_require(lseek(file, 0, SEEK_SET) == 0, "a file in memory");
    const ssize_t size = read(file, held, sizeof held);
    fuzz_require(size >= 0, "that is read");
    return (size_t)size;
}

static enum cipher_status opened(const uint8_t *data, size_t size)
{
    fill(from, data, size);
    fill(to, NULL, 0);
    const enum cipher_status status = cipher_read(from, to, KEY);
    fuzz_require(cipher_fault(status)[0] != '\0', "a refusal says why");
    return status;
}

/* A file that was encrypted, held in `held`: one change of it must be noticed. */
static void changed(size_t size, uint32_t pick)
{
    const size_t at = pick % size;
    const uint8_t bit = (uint8_t)(1U << (pick >> 20) % 8);
    static uint8_t other[sizeof held];
    memcpy(other, held, size);
    other[at] ^= bit;
    fuzz_require(opened(other, size) != CIPHER_OK, "a changed byte is noticed");
    other[at] ^= bit;
    fuzz_require(opened(other, at) != CIPHER_OK, "a missing end is noticed");
    other[size] = (uint8_t)pick;
    fuzz_require(opened(other, size + 1) != CIPHER_OK, "a longer end is noticed");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (from < 0) {
        fuzz_require(sodium_init() >= 0, "libsodium");
        from = memfd_create("from", 0);
        to = memfd_create("to", 0);
    }
    if (size > sizeof held / 2) {
        return 0;
    }
    fuzz_count("fuzz_cipher", opened(data, size) == CIPHER_OK);
    fill(from, data, size);
    fill(to, NULL, 0);
    fuzz_require(cipher_write(from, to, KEY) == CIPHER_OK, "anything can be encrypted");
    const size_t sealed = take(to);
    changed(sealed, fuzz_hash(data, size));
    fuzz_require(opened(held, sealed) == CIPHER_OK && cipher_is(from), "what was encrypted is read, and known as such");
    fuzz_require(take(to) == size && memcmp(held, data, size) == 0, "as it was");
    return 0;
}

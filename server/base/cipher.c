/* See cipher.h. */
#include "base/cipher.h"

#include <errno.h>
#include <sodium.h>
#include <string.h>
#include <unistd.h>

#define STREAM(name) crypto_secretstream_xchacha20poly1305_##name
#define FORM "leadside backup "
#define FORM_SIZE (sizeof FORM - 1)
#define VERSION "1\n"
#define MARK_SIZE (FORM_SIZE + sizeof VERSION - 1)
#define ID_SIZE 16
#define PIECE ((size_t)64 << 10)
#define SEALED_PIECE (PIECE + STREAM(ABYTES))

struct head {
    uint8_t mark[MARK_SIZE], id[ID_SIZE], stream[STREAM(HEADERBYTES)];
};
_Static_assert(sizeof(struct head) == MARK_SIZE + ID_SIZE + STREAM(HEADERBYTES), "no gaps");

struct cipher {
    STREAM(state) state;
    uint8_t key[STREAM(KEYBYTES)], id[ID_SIZE];
    uint8_t open[PIECE], sealed[SEALED_PIECE];
};

/* The key of the stream, and what names it: neither gives the other or the key itself away. */
static void derive(struct cipher *cipher, const uint8_t key[KEY_BYTES])
{
    _Static_assert(KEY_BYTES == crypto_kdf_KEYBYTES && crypto_kdf_CONTEXTBYTES == 8, "libsodium's sizes");
    (void)crypto_kdf_derive_from_key(cipher->key, sizeof cipher->key, 1, "backup_1", key);
    (void)crypto_kdf_derive_from_key(cipher->id, sizeof cipher->id, 2, "backup_1", key);
}

/* As many bytes as there are, at most size; -1 = can't be read. */
static ssize_t read_all(int file, void *into, size_t size)
{
    size_t have = 0;
    while (have < size) {
        const ssize_t got = read(file, (uint8_t *)into + have, size - have);
        if (got == 0) {
            break;
        }
        if (got > 0) {
            have += (size_t)got;
        } else if (errno != EINTR) {
            return -1;
        }
    }
    return (ssize_t)have;
}

static bool write_all(int file, const void *bytes, size_t size)
{
    for (size_t done = 0; done < size;) {
        const ssize_t put = write(file, (const uint8_t *)bytes + done, size - done);
        if (put > 0) {
            done += (size_t)put;
        } else if (put == 0 || errno != EINTR) {
            return false;
        }
    }
    return true;
}

/* What the first piece's tag covers besides itself. */
static unsigned long long covered(bool first)
{
    return first ? sizeof(struct head) : 0;
}

static enum cipher_status seal(struct cipher *cipher, int from, int to)
{
    struct head head;
    memcpy(head.mark, FORM VERSION, MARK_SIZE);
    memcpy(head.id, cipher->id, ID_SIZE);
    (void)STREAM(init_push)(&cipher->state, head.stream, cipher->key);
    if (!write_all(to, &head, sizeof head)) {
        return CIPHER_WRITE;
    }
    for (bool first = true, last = false; !last; first = false) {
        const ssize_t got = read_all(from, cipher->open, PIECE);
        if (got < 0) {
            return CIPHER_READ;
        }
        last = (size_t)got < PIECE;
        unsigned long long size = 0;
        (void)STREAM(push)(&cipher->state, cipher->sealed, &size, cipher->open, (unsigned long long)got,
                           (uint8_t *)&head, covered(first), last ? STREAM(TAG_FINAL) : STREAM(TAG_MESSAGE));
        if (!write_all(to, cipher->sealed, (size_t)size)) {
            return CIPHER_WRITE;
        }
    }
    return CIPHER_OK;
}

static enum cipher_status read_head(struct cipher *cipher, int from, struct head *head)
{
    const ssize_t got = read_all(from, head, sizeof *head);
    if (got < 0) {
        return CIPHER_READ;
    }
    if ((size_t)got < MARK_SIZE || memcmp(head->mark, FORM, FORM_SIZE) != 0) {
        return CIPHER_FOREIGN;
    }
    if (memcmp(head->mark + FORM_SIZE, VERSION, sizeof VERSION - 1) != 0) {
        return CIPHER_NEWER;
    }
    if ((size_t)got < sizeof *head) {
        return CIPHER_END;
    }
    if (sodium_memcmp(head->id, cipher->id, ID_SIZE) != 0) {
        return CIPHER_KEY;
    }
    return STREAM(init_pull)(&cipher->state, head->stream, cipher->key) == 0 ? CIPHER_OK : CIPHER_DAMAGED;
}

static enum cipher_status unseal(struct cipher *cipher, int from, int to)
{
    struct head head;
    enum cipher_status status = read_head(cipher, from, &head);
    bool first = true;
    uint8_t tag = 0;
    while (status == CIPHER_OK && tag != STREAM(TAG_FINAL)) {
        const ssize_t got = read_all(from, cipher->sealed, SEALED_PIECE);
        if (got < (ssize_t)STREAM(ABYTES)) {
            return got < 0 ? CIPHER_READ : CIPHER_END;
        }
        const bool whole = (size_t)got == SEALED_PIECE;
        unsigned long long size = 0;
        if (STREAM(pull)(&cipher->state, cipher->open, &size, &tag, cipher->sealed, (unsigned long long)got,
                         (uint8_t *)&head, covered(first)) != 0) {
            return whole ? CIPHER_DAMAGED : CIPHER_END;
        }
        /* The last piece is marked as the last, and is the one that is shorter. */
        if ((tag == STREAM(TAG_FINAL)) == whole) {
            return CIPHER_DAMAGED;
        }
        if (to >= 0 && !write_all(to, cipher->open, (size_t)size)) {
            return CIPHER_WRITE;
        }
        first = false;
    }
    return status;
}

static enum cipher_status run(enum cipher_status (*way)(struct cipher *, int, int), int from, int to,
                              const uint8_t key[KEY_BYTES])
{
    struct cipher *cipher = sodium_malloc(sizeof *cipher);
    if (cipher == NULL) {
        return CIPHER_WRITE;
    }
    derive(cipher, key);
    const enum cipher_status status = way(cipher, from, to);
    sodium_free(cipher);
    return status;
}

enum cipher_status cipher_write(int from, int to, const uint8_t key[KEY_BYTES])
{
    return run(seal, from, to, key);
}

enum cipher_status cipher_read(int from, int to, const uint8_t key[KEY_BYTES])
{
    return run(unseal, from, to, key);
}

bool cipher_is(int file)
{
    uint8_t mark[FORM_SIZE];
    const bool is = lseek(file, 0, SEEK_SET) == 0 && read_all(file, mark, sizeof mark) == (ssize_t)sizeof mark &&
                    memcmp(mark, FORM, sizeof mark) == 0;
    return lseek(file, 0, SEEK_SET) == 0 && is;
}

const char *cipher_fault(enum cipher_status status)
{
    static const char *const faults[CIPHER_STATUS_COUNT] = {
        [CIPHER_OK] = "is whole",
        [CIPHER_FOREIGN] = "is not an encrypted copy",
        [CIPHER_NEWER] = "was encrypted by a newer program",
        [CIPHER_KEY] = "was made with another key",
        [CIPHER_DAMAGED] = "is damaged",
        [CIPHER_END] = "is cut short or damaged at its end",
    };
    return status == CIPHER_READ || status == CIPHER_WRITE ? strerror(errno) : faults[status];
}

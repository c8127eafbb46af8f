/* UUIDv7 that rise within one process. */
#include "base/ids.h"

#include <pthread.h>
#include <sodium.h>
#include <string.h>

#include "base/times.h"

static void uuid_text(const uint8_t bytes[16], char out[UUID_TEXT])
{
    static const char digits[] = "0123456789abcdef";
    char *to = out;
    for (int i = 0; i < 16; i++) {
        if (i == 4 || i == 6 || i == 8 || i == 10) {
            *to++ = '-';
        }
        *to++ = digits[bytes[i] >> 4];
        *to++ = digits[bytes[i] & 15];
    }
    *to = '\0';
}

void uuid7_format(int64_t unix_ms, const uint8_t random[10], char out[UUID_TEXT])
{
    uint8_t bytes[16];
    uint64_t ms = (uint64_t)unix_ms;
    for (int i = 0; i < 6; i++) {
        bytes[i] = (uint8_t)(ms >> (40 - 8 * i));
    }
    memcpy(bytes + 6, random, 10);
    bytes[6] = (uint8_t)((bytes[6] & 0x0f) | 0x70);
    bytes[8] = (uint8_t)((bytes[8] & 0x3f) | 0x80);
    uuid_text(bytes, out);
}

void uuid7_least(int64_t unix_ms, char out[UUID_TEXT])
{
    static const uint8_t least[10] = {0};
    uuid7_format(unix_ms > 0 ? unix_ms : 0, least, out);
}

static pthread_mutex_t uuid_lock = PTHREAD_MUTEX_INITIALIZER;
static int64_t uuid_last_ms;
static uint32_t uuid_counter; /* 30 bits: 12 of rand_a, then the 18 high bits of rand_b (RFC 9562, 6.2, method 1) */

/* The time and counter of the next id; the counter starts low enough in its range to be counted up within one ms. */
static void uuid_tick(uint32_t seed, int64_t *ms, uint32_t *counter)
{
    pthread_mutex_lock(&uuid_lock);
    int64_t now = clock_now_ms();
    if (now > uuid_last_ms) {
        uuid_last_ms = now;
        uuid_counter = seed & 0x1fffffff;
    } else if (++uuid_counter > 0x3fffffff) {
        uuid_last_ms++;
        uuid_counter = seed & 0x1fffffff;
    }
    *ms = uuid_last_ms;
    *counter = uuid_counter;
    pthread_mutex_unlock(&uuid_lock);
}

void uuid7_new(char out[UUID_TEXT])
{
    uint8_t random[10];
    uint32_t seed;
    randombytes_buf(random, sizeof random);
    randombytes_buf(&seed, sizeof seed);
    int64_t ms;
    uint32_t counter;
    uuid_tick(seed, &ms, &counter);
    random[0] = (uint8_t)(counter >> 26);
    random[1] = (uint8_t)(counter >> 18);
    random[2] = (uint8_t)((counter >> 12) & 0x3f);
    random[3] = (uint8_t)(counter >> 4);
    random[4] = (uint8_t)((counter << 4) | (random[4] & 15));
    uuid7_format(ms, random, out);
}

bool uuid_valid(const char *text)
{
    if (text == NULL) {
        return false;
    }
    for (int i = 0; i < UUID_TEXT - 1; i++) {
        char c = text[i];
        bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        bool hex = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
        if (dash ? c != '-' : !hex) {
            return false;
        }
    }
    return text[UUID_TEXT - 1] == '\0';
}

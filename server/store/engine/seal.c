/* The seal of one page, the gap inside one, and the sums of the log. Byte positions:
 * https://sqlite.org/fileformat2.html, sections 1.3 (header), 1.6 (tree pages) and 4.2 (log). */
#include "store/engine/seal.h"

#include <sodium.h>
#include <string.h>

static uint32_t big16(const unsigned char *at)
{
    return (uint32_t)at[0] << 8 | at[1];
}

static void seal_of(const unsigned char *page, size_t size, uint32_t number, unsigned char out[SEAL_BYTES])
{
    unsigned char key[crypto_shorthash_KEYBYTES] = "Leadside's page";
    for (int i = 0; i < 4; i++) {
        key[i] ^= (unsigned char)(number >> (8 * i));
    }
    _Static_assert(crypto_shorthash_BYTES == SEAL_BYTES, "a seal is one SipHash");
    (void)crypto_shorthash(out, page, size - SEAL_BYTES, key);
}

void seal_put(unsigned char *page, size_t size, uint32_t number)
{
    unsigned char seal[SEAL_BYTES];
    seal_of(page, size, number, seal);
    memcpy(page + size - SEAL_BYTES, seal, sizeof seal);
}

bool seal_holds(const unsigned char *page, size_t size, uint32_t number)
{
    unsigned char seal[SEAL_BYTES];
    seal_of(page, size, number, seal);
    return memcmp(page + size - SEAL_BYTES, seal, sizeof seal) == 0;
}

void seal_scrub(unsigned char *page, size_t size, uint32_t number)
{
    enum { INDEX_INNER = 2, TABLE_INNER = 5, INDEX_LEAF = 10, TABLE_LEAF = 13, SEAL_CELL_COUNT = 3, SEAL_CONTENT = 5 };
    const size_t start = number == 1 ? SEAL_READ_ALL : 0;
    const unsigned char *header = page + start;
    const bool inner = header[0] == INDEX_INNER || header[0] == TABLE_INNER;
    if (!inner && header[0] != INDEX_LEAF && header[0] != TABLE_LEAF) {
        return;
    }
    const size_t list_end = start + (inner ? 12 : 8) + 2 * (size_t)big16(header + SEAL_CELL_COUNT);
    const size_t content = big16(header + SEAL_CONTENT) == 0 ? 65536 : big16(header + SEAL_CONTENT);
    if (list_end < content && content <= size - SEAL_BYTES) {
        memset(page + list_end, 0, content - list_end);
    }
}

static inline uint32_t word(bool big_endian, const unsigned char *at)
{
    return big_endian ? (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3]
                      : (uint32_t)at[3] << 24 | (uint32_t)at[2] << 16 | (uint32_t)at[1] << 8 | at[0];
}

static inline void sum_up(bool big_endian, const unsigned char *bytes, size_t size, uint32_t sum[2])
{
    uint32_t first = sum[0];
    uint32_t second = sum[1];
    for (size_t i = 0; i + 8 <= size; i += 8) {
        first += word(big_endian, bytes + i) + second;
        second += word(big_endian, bytes + i + 4) + first;
    }
    sum[0] = first;
    sum[1] = second;
}

/* Two loops, so that neither asks again at every word. */
void seal_log_sum(bool big_endian, const unsigned char *bytes, size_t size, uint32_t sum[2])
{
    if (big_endian) {
        sum_up(true, bytes, size, sum);
    } else {
        sum_up(false, bytes, size, sum);
    }
}

bool seal_in_header(const unsigned char *header)
{
    enum { RESERVED = 20 };
    return seal_page_size(header) != 0 && header[RESERVED] == SEAL_BYTES;
}

size_t seal_page_size(const unsigned char *header)
{
    enum { PAGE_SIZE = 16 };
    if (memcmp(header, "SQLite format 3", 16) != 0) {
        return 0;
    }
    const size_t size = big16(header + PAGE_SIZE) == 1 ? 65536 : big16(header + PAGE_SIZE);
    return size >= 512 && (size & (size - 1)) == 0 ? size : 0;
}

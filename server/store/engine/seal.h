/* Sealed pages: every page of the club's file ends in a checksum of itself, so that a page which is no longer what was
 * written is noticed when it is read, by whoever reads it. SQLite's own checks see a broken structure; these eight
 * bytes see a broken letter. Private to the room.
 *
 * The seal is SipHash-2-4 (libsodium's crypto_shorthash) under a fixed, public key and the page's number, over all of
 * the page before it: it finds accidents, not forgers. It lies in bytes that SQLite leaves alone ("reserved space" in
 * https://sqlite.org/fileformat2.html section 1.3.4), so any SQLite can still read the file. Another program must not
 * write it: its pages would carry no seal. */
#ifndef LEADSIDE_STORE_ENGINE_SEAL_H
#define LEADSIDE_STORE_ENGINE_SEAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SEAL_BYTES 8
#define SEAL_SINCE 8 /* from this version of the file on (user_version) a file without seals is damaged */
#define SEAL_VFS "leadside"
#define SEAL_READ_ALL 100 /* bytes of a database's header */

/* Most pages of a file. Below it the first byte of a free or overflow page is 0 or 1, never a tree's mark. */
#define SEAL_PAGES_MAX 33554430

/* Writes the seal into the last bytes of page (size bytes, a power of two) as page number `number` (from 1). */
void seal_put(unsigned char *page, size_t size, uint32_t number);
/* Is the page what was sealed? */
bool seal_holds(const unsigned char *page, size_t size, uint32_t number);
/* Overwrites what lies between a tree page's list of cells and its cells: no row's, but perhaps the old copy of one. */
void seal_scrub(unsigned char *page, size_t size, uint32_t number);
/* The checksum of a frame of the log (fileformat2 section 4.2), in and out; bytes is a multiple of 8. */
void seal_log_sum(bool big_endian, const unsigned char *bytes, size_t size, uint32_t sum[2]);
/* Does a database's header say that its pages are sealed? SEAL_READ_ALL bytes. */
bool seal_in_header(const unsigned char *header);
/* Bytes of a page as the header says; 0 = no database's header. */
size_t seal_page_size(const unsigned char *header);

/* Makes SEAL_VFS known to SQLite: files opened through it are sealed as they are written and looked at as they are
 * read, those that are empty when opened or sealed already; older ones pass as they are. A page that does not hold is
 * an error (SQLITE_IOERR_DATA) and a line on standard error. False when memory is short. */
bool seal_vfs_register(void);
/* Pages found damaged since the program began. */
uint64_t seal_damage_count(void);

#endif

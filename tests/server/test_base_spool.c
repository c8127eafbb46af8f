/* Files without a name. */
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/spool.h"

Test(spool, gives_back_what_was_written)
{
    char directory[] = "/tmp/leadside-spool-XXXXXX", out[40000];
    cr_assert_not_null(mkdtemp(directory));
    struct spool *spool = spool_new(directory, 0);
    cr_assert_not_null(spool);
    int names = 0;
    DIR *listing = opendir(directory);
    for (struct dirent *entry; (entry = readdir(listing)) != NULL;) {
        names += entry->d_name[0] != '.';
    }
    closedir(listing);
    cr_assert_eq(names, 0, "it has no name");
    static char large[5 << 20];
    memset(large, 'x', sizeof large);
    cr_assert(spool_write(spool, "head", 4));
    cr_assert(spool_write(spool, large, sizeof large));
    cr_assert(spool_write(spool, "tail", 4));
    cr_assert_eq(spool_size(spool), sizeof large + 8);
    cr_assert_eq(spool_read(spool, 2, out, 10), 10);
    cr_assert_eq(memcmp(out, "adxxxxxxxx", 10), 0);
    cr_assert_eq(spool_read(spool, sizeof large + 3, out, sizeof out), 5);
    cr_assert_eq(memcmp(out, "xtail", 5), 0);
    cr_assert_eq(spool_read(spool, sizeof large + 8, out, sizeof out), 0, "nothing behind its end");
    spool_free(spool);
    rmdir(directory);
}

Test(spool, leaves_room_on_the_disk)
{
    struct spool *spool = spool_new("/tmp", (uint64_t)1 << 60);
    cr_assert_not_null(spool);
    cr_assert(!spool_write(spool, "text", 4), "more is to be spared than any disk has");
    spool_free(spool);
    cr_assert_null(spool_new("/nonexistent", 0));
}

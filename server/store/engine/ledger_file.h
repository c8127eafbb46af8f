/* The file `erasures` beside the club's: one line for each thing ended and each start, "KIND ID MILLISECONDS". Lines
 * are only ever added. They are written before the commit of what they tell; a line `kept` follows when that is on
 * disk. Lines with none behind them may be of a commit that a crash came before. Private to the room. */
#ifndef LEADSIDE_STORE_ENGINE_LEDGER_FILE_H
#define LEADSIDE_STORE_ENGINE_LEDGER_FILE_H

#include "store/engine/ledger.h"

#define LEDGER_FILE "erasures"
#define LEDGER_START "start"
#define LEDGER_KEPT "kept"
#define LEDGER_KIND 16
#define LEDGER_LINE 80

struct ledger {
    int file;
    size_t waiting_size, waiting_room; /* bytes */
    char *waiting;                     /* lines of the jobs in the group under way */
    int64_t size_before;               /* of the newest append, to take it back */
};

struct ledger_line {
    char kind[LEDGER_KIND], id[UUID_TEXT];
    int64_t at;
};

/* Opens directory's ledger (mode 0600), made when missing unless `must_exist`; a line that a crash cut short is taken
 * off. NULL with a sentence in error; with must_exist and no file: NULL and error left empty. */
struct ledger *ledger_open(const char *directory, bool must_exist, char *error, size_t error_size) STORE_CHECKED;
void ledger_close(struct ledger *ledger);
/* Every line so far, in the arena; kinds of a newer program among them. False with a sentence in error. */
bool ledger_read(struct ledger *ledger, struct arena *arena, struct ledger_line **lines, size_t *count, char *error,
                 size_t error_size) STORE_CHECKED;
/* A line to be written with the group's commit. */
enum store_status ledger_wait(struct ledger *ledger, const char *kind, const char *id, int64_t at) STORE_CHECKED;
/* Writes what waits and flushes it; nothing waits afterwards. On failure nothing was written. */
enum store_status ledger_write(struct ledger *ledger) STORE_CHECKED;
/* Takes the newest ledger_write back: what it told of did not happen. */
void ledger_take_back(struct ledger *ledger);
/* What the newest ledger_write told of is on disk. Not flushed: where this line is lost, the club's file has it all. */
void ledger_kept(struct ledger *ledger);

#endif

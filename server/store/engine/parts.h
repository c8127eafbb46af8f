/* Steps that bring a file into shape: migrations, seals, proved copies. Private to the room. */
#ifndef LEADSIDE_STORE_ENGINE_PARTS_H
#define LEADSIDE_STORE_ENGINE_PARTS_H

#include "base/embed.h"
#include "store/engine/connection.h"

/* Connects and prepares, unless the file belongs to another program or to a newer one; NULL with a sentence in error.
 * The writer's may create the file. */
struct store_db *store_db_open(const char *path, enum store_open_mode mode, int busy_timeout_ms, char *error,
                               size_t error_size) STORE_CHECKED;
/* Applies, in order, each file whose number is above user_version, one transaction each. */
enum store_status store_migrate(struct store_db *db, const struct embedded_file *files, size_t count, char *error,
                                size_t error_size) STORE_CHECKED;
/* The greatest number of those files: the version this program writes. */
int64_t store_migrate_latest(const struct embedded_file *files, size_t count);

/* Brings a file of the first versions into sealed pages, once: copied anew beside it, proved, put in its place. Nothing
 * to do for an empty or a sealed file. The directory is held by the caller. */
enum store_status store_seal_file(const char *path, int busy_timeout_ms, char *error, size_t error_size) STORE_CHECKED;
/* Must store_seal_file do something? */
bool store_seal_needed(const char *path);
/* Is a copy sound: its pages, its references? */
enum store_status store_prove(const char *path, char *error, size_t error_size) STORE_CHECKED;
/* Flushes the copy at part, gives it the name file in one step and flushes their directory. */
bool store_put_in_place(const char *part, const char *file, char *error, size_t error_size) STORE_CHECKED;
/* Two servers on one directory would each think the queue is theirs: whoever holds it is alone. A descriptor to be
 * closed; -1 with a sentence in error. */
int store_hold_directory(const char *directory, char *error, size_t error_size) STORE_CHECKED;

#endif

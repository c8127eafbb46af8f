/* The store's own parts, and the writer thread that runs queued jobs in groups. Private to the room. */
#ifndef LEADSIDE_STORE_ENGINE_WRITER_H
#define LEADSIDE_STORE_ENGINE_WRITER_H

#include <pthread.h>

#include "store/engine/connection.h"
#include "store/engine/ledger_file.h"

struct writer_job {
    store_job_fn run;
    store_done_fn done;
    void *argument;
    enum store_status status;
};

struct store {
    char *path;
    int lock; /* file descriptor holding the directory; -1 = none */
    size_t queue_limit, batch_limit;
    int busy_timeout_ms, idle_ms;
    bool was_readable; /* by others than its owner, before it was opened */

    struct store_db *db; /* the writer's */
    struct ledger *ledger;
    struct store_restored restored;
    bool scrub; /* the writer's own: erased rows may still lie in the log */
    pthread_t thread;
    bool started;

    pthread_mutex_t mutex; /* everything below */
    pthread_cond_t work, room;
    struct writer_job *queue; /* ring of queue_limit */
    size_t head, waiting;
    bool closing;
    struct store_metrics metrics;
    struct store_db *readers;

    struct writer_job *batch; /* the writer's own */
    pthread_key_t reader_key;
    bool has_key;
};

/* Opens, migrates, follows the ledger with these endings (unless shared), starts the writer; see store_open. */
struct store *store_start(const struct store_config *config, const struct store_endings *endings, char *error,
                          size_t error_size) STORE_CHECKED;
/* Starts the thread; the store's other fields are ready. */
bool writer_start(struct store *store) STORE_CHECKED;
/* Takes no more, finishes the queue, ends the thread. */
void writer_stop(struct store *store);

#endif

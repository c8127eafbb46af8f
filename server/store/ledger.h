/* The ledger of what was ended for good: erased students and accounts, revoked tablets; ids and times, no names.
 *
 * It is kept twice: in the club's file (table ended) and, one line each, in the file `erasures` beside it, which a backup
 * does not hold and a restore does not replace. A server that starts compares the two: what the file beside has and the
 * club's file lacks came back with a restored backup, and is ended again before the first request is served. */
#ifndef LEADSIDE_STORE_LEDGER_H
#define LEADSIDE_STORE_LEDGER_H

#include "store/store.h"

enum store_ended { STORE_ENDED_STUDENT, STORE_ENDED_ACCOUNT, STORE_ENDED_DEVICE, STORE_ENDED_COUNT };

/* In the job that ends it. The line is on disk before the job's done call. Erasing a student (store_student_erase),
 * erasing an account (store_account_erase) and revoking a device (store_device_update) call it by themselves. */
enum store_status store_ledger_add(struct store_db *db, enum store_ended kind, const char *id, int64_t at) STORE_CHECKED;
/* STORE_OK: that id was ended. */
enum store_status store_ledger_find(struct store_db *db, enum store_ended kind, const char *id) STORE_CHECKED;

#endif

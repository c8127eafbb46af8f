/* Opening the club's file: the engine, given the means to end once more what a restored copy brought back. */
#include "store/open.h"

#include <stdio.h>
#include <string.h>

#include "store/club/audit.h"
#include "store/engine/ledger.h"
#include "store/engine/writer.h"
#include "store/people/account.h"
#include "store/people/device.h"
#include "store/people/student.h"

static enum store_status end_student(struct store_db *db, const char *id, int64_t at)
{
    (void)at;
    return store_student_erase(db, id);
}

static enum store_status end_account(struct store_db *db, const char *id, int64_t at)
{
    (void)at;
    return store_account_erase(db, id);
}

static enum store_status audit(struct store_db *db, int64_t at, const char *action, const char *kind, const char *id,
                               const char *detail)
{
    struct store_audit row = {.at = at, .action = action, .object_kind = kind, .detail = detail};
    (void)snprintf(row.object_id, sizeof row.object_id, "%s", id);
    if (strcmp(kind, "student") == 0) {
        (void)snprintf(row.student_id, sizeof row.student_id, "%s", id);
    }
    return store_audit_add(db, &row);
}

struct store *store_open(const struct store_config *config, char *error, size_t error_size)
{
    static const struct store_endings endings = {.end = {[STORE_ENDED_STUDENT] = end_student,
                                                         [STORE_ENDED_ACCOUNT] = end_account,
                                                         [STORE_ENDED_DEVICE] = store_device_revoke},
                                                 .audit = audit};
    return store_start(config, &endings, error, error_size);
}

/* See student_add.h. */
#include "api/people/student_add.h"

#include <string.h>

#include "api/people/consent_read.h"
#include "store/people/consent.h"

static enum store_status consent_keep(struct store_db *db, const struct write *write,
                                      const struct store_student *student)
{
    struct store_consent consent = {
        .scope = "store_pictures", .said_by = student->consent_by, .given_at = student->consent_at};
    if (student->consent_by == NULL) {
        return STORE_OK;
    }
    uuid7_new(consent.id);
    memcpy(consent.student_id, student->id, UUID_TEXT);
    memcpy(consent.recorded_by, write->call.principal->account_id, UUID_TEXT);
    const enum store_status status = store_consent_insert(db, &consent);
    if (status != STORE_OK) {
        return status;
    }
    struct store_audit audit = {.at = write->call.now, .action = "consent.give", .object_kind = "consent"};
    audit.detail = consent_detail(write->call.arena, consent.scope);
    memcpy(audit.account_id, consent.recorded_by, UUID_TEXT);
    memcpy(audit.object_id, consent.id, UUID_TEXT);
    memcpy(audit.student_id, student->id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

enum store_status student_number_taken(struct write *write, enum store_status status)
{
    return status != STORE_CONFLICT ? status
                                    : write_refuse(write, 409, "member-number-taken", "member_number",
                                                   "Another student of the club has this member number.");
}

enum store_status student_add(struct store_db *db, const struct write *write, const struct store_student *student)
{
    const struct principal *principal = write->call.principal;
    enum store_status status = store_student_insert(db, student);
    if (status == STORE_OK && principal->role == STORE_COACH) {
        status = store_team_add(db, student->id, principal->account_id, write->call.now);
    }
    return status == STORE_OK ? consent_keep(db, write, student) : status;
}

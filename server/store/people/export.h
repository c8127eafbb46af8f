/* Everything held on one student, row by row. The list of tables here is the register of personal data. */
#ifndef LEADSIDE_STORE_PEOPLE_EXPORT_H
#define LEADSIDE_STORE_PEOPLE_EXPORT_H

#include "store/engine/store.h"

enum store_field_kind { STORE_FIELD_NULL, STORE_FIELD_INTEGER, STORE_FIELD_REAL, STORE_FIELD_TEXT, STORE_FIELD_BLOB };

struct store_field {
    const char *name; /* ends in _json: text is JSON; in _at or created, last_seen, expires...: milliseconds */
    enum store_field_kind kind;
    int64_t integer;
    double real;
    const char *text; /* text or bytes, valid during the call */
    size_t size;
};

/* Called for every row, table by table. Anything but STORE_OK stops the export with that status. */
typedef enum store_status (*store_export_fn)(void *context, const char *table, const struct store_field *fields,
                                             size_t count);

/* with_private: also notes and audit rows that only coaches see (for the head); otherwise the notes meant for one of
 * the readers (STORE_NOTE_...; a guardian's: STORE_NOTE_READ_BY_GUARDIAN), and lessons without the coach's note.
 * Pictures are named only while they may be shown. Passwords and token hashes are never given. STORE_NOT_FOUND when
 * there is no such student. Wrap it in store_read_begin. */
enum store_status store_export_student(struct store_db *db, const char *student_id, bool with_private, unsigned readers,
                                       store_export_fn row, void *context) STORE_CHECKED;

#endif

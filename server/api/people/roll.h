/* The roll: students as rows of a table that a spreadsheet reads and writes. */
#ifndef LEADSIDE_API_PEOPLE_ROLL_H
#define LEADSIDE_API_PEOPLE_ROLL_H

#include "api/frame/call.h"
#include "wire/json/error.h"
#include "wire/table/table.h"

#define ROLL_COLUMNS_NAMES(X)                                                                                          \
    X(ROLL_NAME, "name")                                                                                               \
    X(ROLL_HAND, "hand")                                                                                               \
    X(ROLL_SEX, "sex")                                                                                                 \
    X(ROLL_BIRTH_DATE, "birth_date")                                                                                   \
    X(ROLL_BIRTH_YEAR, "birth_year")                                                                                   \
    X(ROLL_HEIGHT, "height_m")                                                                                         \
    X(ROLL_HANDICAP, "handicap")                                                                                       \
    X(ROLL_JUNIOR, "junior")                                                                                           \
    X(ROLL_WANTS, "wants")                                                                                             \
    X(ROLL_TENDENCIES, "tendencies")                                                                                   \
    X(ROLL_MEMBER, "member_number")                                                                                    \
    X(ROLL_EMAIL, "email")                                                                                             \
    X(ROLL_PHONE, "phone")                                                                                             \
    X(ROLL_CONSENT_BY, "consent_by")                                                                                   \
    X(ROLL_COACH, "coach") /* the sign-in name of one to be on the team; not in an export */

enum roll_column { ROLL_COLUMNS_NAMES(NAMES_ENUM) ROLL_COLUMNS };

const char *roll_column_name(enum roll_column value);

/* Where each column stands in the table's first row; -1 = nowhere. */
struct roll_head {
    int at[ROLL_COLUMNS];
    bool decimal_commas; /* a table with semicolons may write 1,75 */
};

/* From the first row, in English or German. False: path is the cell as it stands. */
bool roll_head_read(const struct table *table, struct roll_head *out, struct wire_error *error)
    __attribute__((warn_unused_result));

/* One further row as a new student without an id; coach: as typed, NULL where none is named. False: path is the column.
 */
bool roll_row_read(struct call *call, const struct roll_head *head, const struct table_row *row,
                   struct store_student *out, const char **coach, struct wire_error *error)
    __attribute__((warn_unused_result));

#endif

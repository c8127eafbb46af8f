/* Homework as the student sees it. */
#ifndef LEADSIDE_API_HOMEWORK_WRITE_H
#define LEADSIDE_API_HOMEWORK_WRITE_H

#include "api/answer.h"
#include "store/homework.h"

/* Monday 00:00 UTC of the week that holds now. */
int64_t homework_week_start(int64_t now);

/* One piece of homework as an object, with its drill from the book, or from the row when the book no longer has it.
 * drill is filled in for the cautions; false when the stored drill is damaged. */
bool homework_write(struct json_out *out, const struct store_homework *homework, const struct api_book *book,
                    struct arena *arena, struct drill *drill) __attribute__((warn_unused_result));

#endif

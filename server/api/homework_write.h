/* Homework as the student sees it. */
#ifndef LEADSIDE_API_HOMEWORK_WRITE_H
#define LEADSIDE_API_HOMEWORK_WRITE_H

#include "api/answer.h"
#include "practice.h"
#include "store/homework.h"

/* Monday 00:00 UTC of the week that holds now. */
int64_t homework_week_start(int64_t now);

/* A drill as homework shows it: a JSON object in the arena; NULL when memory is short. */
const char *homework_drill_sheet(const struct drill *drill, struct arena *arena) __attribute__((warn_unused_result));

/* The drill from the book, or from its row when it is no longer in use; gives its sheet. NULL: damaged. */
const char *homework_drill_find(const struct call *call, const char *id, const struct api_book *book, struct drill *out)
    __attribute__((warn_unused_result));

#endif

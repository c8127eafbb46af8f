/* Homework as the student sees it. */
#ifndef LEADSIDE_API_PRACTICE_HOMEWORK_WRITE_H
#define LEADSIDE_API_PRACTICE_HOMEWORK_WRITE_H

#include "api/frame/answer.h"
#include "core/practice.h"
#include "store/practice/homework.h"

/* Monday 00:00 UTC of the week that holds now. */
int64_t homework_week_start(int64_t now);

/* The drill from the rules, or from its row when it is no longer in use; gives its sheet. NULL: damaged. */
const char *homework_drill_find(const struct call *call, const char *id, const struct rules_cache *rules,
                                struct drill *out) __attribute__((warn_unused_result));

/* comment, passed and pain of a tick, as members of the open object. */
void homework_tick_write(struct json_out *out, const struct store_homework_done *done);

/* The areas that hurt, that the drill loads or is ruled out for, and that no coach has given his word for. */
unsigned homework_unworded(const struct store_homework *homework, const struct drill *drill, unsigned pain);

/* "paused": null while it may be done; else why not: told pain, or a sore area without a coach's word. */
void homework_paused_write(struct json_out *out, const struct store_homework *homework, unsigned unworded);

#endif

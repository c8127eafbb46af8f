/* Figures of a time, by month or by coach, for the head. Coaches stand in the order of their ids: nobody is ranked. */
#include "store/club/figures.h"

#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "store/people/account.h"

#define YEAR_MS (365 * DAY_MS)

/* The rows of one key, from `from` on. Gives where the next key begins. */
static size_t group_write(struct json_out *out, const struct store_figure_list *list, size_t from)
{
    static const char *const whats[] = {"students", "lessons", "swings", "fixes_ended", "sessions_done"};
    int64_t opened = 0;
    size_t end = from;
    while (end < list->count && strcmp(list->items[end].key, list->items[from].key) == 0) {
        opened += strcmp(list->items[end].what, "fixes_opened") == 0 ? list->items[end].count : 0;
        end++;
    }
    for (size_t w = 0; w < sizeof whats / sizeof *whats; w++) {
        int64_t count = 0;
        for (size_t i = from; i < end; i++) {
            count += strcmp(list->items[i].what, whats[w]) == 0 ? list->items[i].count : 0;
        }
        answer_integer(out, whats[w], count);
    }
    answer_integer(out, "fixes_opened", opened);
    json_out_array(out, "faults");
    for (size_t i = from; i < end; i++) {
        if (list->items[i].fault != NULL) {
            json_out_object(out, NULL);
            json_out_text(out, "fault", list->items[i].fault);
            answer_integer(out, "fixes", list->items[i].count);
            json_out_end_object(out);
        }
    }
    json_out_end_array(out);
    return end;
}

/* NULL of an account that was erased. */
static enum store_status name_write(struct call *call, struct json_out *out, const char *account_id)
{
    struct store_account account = {.name = NULL};
    const enum store_status status = store_account_get(call->db, account_id, call->arena, &account);
    json_out_text(out, "account_id", account_id);
    json_out_text(out, "name", account.name);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

static enum store_status figures_make(struct call *call, const struct store_page *page, struct json_out *out)
{
    const char *named = exchange_query(call->exchange, "by");
    const bool coaches = named != NULL && strcmp(named, "coach") == 0;
    const int64_t to = page->to != 0 ? page->to : call->now + 1; /* with what was done this very millisecond */
    const int64_t from = page->from != 0 ? page->from : to - YEAR_MS;
    struct store_figure_list list;
    struct store_figure_list all;
    enum store_status status = store_figures(
        call->db, from, to, coaches ? STORE_FIGURES_BY_COACH : STORE_FIGURES_BY_MONTH, call->arena, &list);
    if (status == STORE_OK) {
        status = store_figures(call->db, from, to, STORE_FIGURES_IN_ALL, call->arena, &all);
    }
    if (status != STORE_OK) {
        return status;
    }
    json_out_object(out, NULL);
    answer_time(out, "from", from);
    answer_time(out, "to", to);
    json_out_text(out, "by", coaches ? "coach" : "month");
    json_out_array(out, "figures");
    for (size_t i = 0; i < list.count && status == STORE_OK;) {
        json_out_object(out, NULL);
        if (coaches) {
            status = name_write(call, out, list.items[i].key);
        } else {
            json_out_text(out, "month", list.items[i].key);
        }
        i = group_write(out, &list, i);
        json_out_end_object(out);
    }
    json_out_end_array(out);
    json_out_object(out, "total");
    (void)group_write(out, &all, 0);
    json_out_end_object(out);
    json_out_end_object(out);
    return status;
}

void figures_get(struct call *call)
{
    const char *by = exchange_query(call->exchange, "by");
    if (by != NULL && strcmp(by, "coach") != 0 && strcmp(by, "month") != 0) {
        exchange_problem(call->exchange, 422, "invalid", "by", "by must be coach or month.");
        return;
    }
    call_figures(call, figures_make);
}

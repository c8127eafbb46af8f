/* Do the club's coaches see the same? From second opinions as they were said first: agreement for each fault, each pair
 * of coaches and each coach against the reports, and the swings that divide them. In no order of merit. */
#include <stdlib.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "core/agreement.h"
#include "store/lessons/opinion.h"
#include "store/lessons/swing.h"
#include "store/people/account.h"
#include "wire/report/opinion.h"

#define DIVIDED_MAX 100

struct rater {
    char id[UUID_TEXT];
    int swings;
};

struct judged {
    const struct store_said *first; /* of those that were said of it; NULL of none */
    int from, count;                /* its opinions */
    struct opinions core;           /* of its newest report */
};

struct agreeing {
    struct call *call;
    struct store_said_list said;
    struct opinions *opinions; /* of each */
    int *by;                   /* the rater of each */
    struct rater *raters;
    int rater_count;
    struct judged *swings; /* newest first */
    int swing_count;
    struct agreement_pair *pairs; /* room for a table of each swing */
    struct agreement_many *many;
};

/* ---- reading ---- */

/* Newest swing first, and within it by who said it. */
static int compare(const void *left, const void *right)
{
    const struct store_said *a = left;
    const struct store_said *b = right;
    const int order = strcmp(b->swing_id, a->swing_id);
    return order != 0 ? order : strcmp(a->account_id, b->account_id);
}

static int rater_order(const void *left, const void *right)
{
    return strcmp(((const struct rater *)left)->id, ((const struct rater *)right)->id);
}

/* Everybody once, by id. */
static void raters_find(struct agreeing *all)
{
    for (size_t i = 0; i < all->said.count; i++) {
        memcpy(all->raters[i].id, all->said.items[i].account_id, UUID_TEXT);
    }
    qsort(all->raters, all->said.count, sizeof *all->raters, rater_order);
    for (size_t i = 0; i < all->said.count; i++) {
        const int last = all->rater_count - 1;
        if (last < 0 || strcmp(all->raters[last].id, all->raters[i].id) != 0) {
            all->raters[all->rater_count++] = all->raters[i];
        }
    }
    for (size_t i = 0; i < all->said.count; i++) {
        struct rater wanted = {.swings = 0};
        memcpy(wanted.id, all->said.items[i].account_id, UUID_TEXT);
        const struct rater *found = bsearch(&wanted, all->raters, (size_t)all->rater_count, sizeof wanted, rater_order);
        all->by[i] = (int)(found - all->raters);
        all->raters[all->by[i]].swings++;
    }
}

/* What the newest report says, read in memory of its own. */
static enum store_status core_read(struct agreeing *all, struct judged *swing)
{
    struct store_report report;
    struct arena *own = arena_new(0);
    const enum store_status status =
        own == NULL ? STORE_NO_MEMORY : store_report_of_swing(all->call->db, swing->first->swing_id, own, &report);
    if (status != STORE_OK || !opinions_of_report(report.json, report.json_size, &swing->core)) {
        memset(swing->core.of, OPINION_NONE, sizeof swing->core.of);
    }
    arena_free(own);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

static enum store_status swings_find(struct agreeing *all)
{
    enum store_status status = STORE_OK;
    for (size_t i = 0; i < all->said.count && status == STORE_OK; i++) {
        const struct store_said *said = &all->said.items[i];
        if (i == 0 || strcmp(said->swing_id, said[-1].swing_id) != 0) {
            struct judged *swing = &all->swings[all->swing_count++];
            *swing = (struct judged){.first = said, .from = (int)i};
            status = atomic_load(&all->call->api->refusing) ? STORE_CLOSED : core_read(all, swing);
        }
        all->swings[all->swing_count - 1].count++;
        if (!opinions_read(said->first, &all->opinions[i])) {
            status = STORE_CORRUPT;
        }
    }
    return status;
}

static enum store_status agreeing_read(struct agreeing *all, const struct store_page *page)
{
    struct arena *arena = all->call->arena;
    const enum store_status status = store_opinion_between(all->call->db, page, arena, &all->said);
    const size_t room = all->said.count + 1;
    if (status != STORE_OK) {
        return status;
    }
    all->opinions = arena_alloc(arena, room * sizeof *all->opinions);
    all->by = arena_alloc(arena, room * sizeof *all->by);
    all->raters = arena_alloc(arena, room * sizeof *all->raters);
    all->swings = arena_alloc(arena, room * sizeof *all->swings);
    all->pairs = arena_alloc(arena, room * sizeof *all->pairs);
    all->many = arena_alloc(arena, room * sizeof *all->many);
    if (all->opinions == NULL || all->by == NULL || all->raters == NULL || all->swings == NULL || all->pairs == NULL ||
        all->many == NULL) {
        return STORE_NO_MEMORY;
    }
    if (all->said.count > 0) {
        qsort(all->said.items, all->said.count, sizeof *all->said.items, compare);
        raters_find(all);
    }
    return swings_find(all);
}

/* ---- writing ---- */

static void kappa_write(struct json_out *out, const char *key, const struct agreement *of, int swings)
{
    const bool told = of->defined && swings >= AGREEMENT_FEW;
    json_out_object(out, key);
    answer_integer(out, "swings", swings);
    if (swings > 0) {
        json_out_number(out, "agreed", of->agreed, 3);
    } else {
        json_out_null(out, "agreed");
    }
    if (told) {
        json_out_number(out, "kappa", of->kappa, 3);
    } else {
        json_out_null(out, "kappa");
    }
    if (told && of->bounded) {
        json_out_number(out, "low", of->low, 3);
        json_out_number(out, "high", of->high, 3);
    } else {
        json_out_null(out, "low");
        json_out_null(out, "high");
    }
    json_out_end_object(out);
}

/* One of enum opinion, or OPINION_NONE. */
static int said_at(const struct agreeing *all, int index, int fault)
{
    return (int)all->opinions[index].of[fault]; /* NOLINT(bugprone-signed-char-misuse): -1 is OPINION_NONE */
}

static bool pair_say(struct agreement_pair *table, int first, int second)
{
    if (first == OPINION_NONE || second == OPINION_NONE) {
        return false;
    }
    table->said[first][second]++;
    return true;
}

/* The gathered tables of `count` swings, both ways. */
static void pair_write(const struct agreeing *all, struct json_out *out, int count)
{
    const struct agreement plain = agreement_of_pair(all->pairs, count, OPINION_COUNT, false);
    const struct agreement weighted = agreement_of_pair(all->pairs, count, OPINION_COUNT, true);
    kappa_write(out, "plain", &plain, count);
    kappa_write(out, "weighted", &weighted, count);
}

static void fault_write(struct agreeing *all, struct json_out *out, int fault)
{
    int many = 0;
    int core = 0;
    for (int i = 0; i < all->swing_count; i++) {
        const struct judged *swing = &all->swings[i];
        bool against = false;
        int raters = 0;
        all->many[many] = (struct agreement_many){.said = {0}};
        all->pairs[core] = (struct agreement_pair){.said = {{0}}};
        for (int k = swing->from; k < swing->from + swing->count; k++) {
            const int said = said_at(all, k, fault);
            if (said != OPINION_NONE) {
                all->many[many].said[said]++;
                raters++;
                against = pair_say(&all->pairs[core], said, swing->core.of[fault]) || against;
            }
        }
        many += raters >= 2;
        core += against;
    }
    if (many + core == 0) {
        return;
    }
    const struct agreement coaches = agreement_of_many(all->many, many, OPINION_COUNT);
    json_out_object(out, NULL);
    json_out_text(out, "fault", fault_name((enum fault_id)fault));
    kappa_write(out, "coaches", &coaches, many);
    json_out_object(out, "core");
    pair_write(all, out, core);
    json_out_end_object(out);
    json_out_end_object(out);
}

/* What a rater said of a swing; NULL: nothing. */
static const struct opinions *said_by(const struct agreeing *all, const struct judged *swing, int rater)
{
    for (int k = swing->from; k < swing->from + swing->count; k++) {
        if (all->by[k] == rater) {
            return &all->opinions[k];
        }
    }
    return NULL;
}

/* Of every fault of every swing that both judged; second -1 = the reports. How many swings. */
static int pair_gather(struct agreeing *all, int first, int second)
{
    int count = 0;
    for (int i = 0; i < all->swing_count; i++) {
        const struct judged *swing = &all->swings[i];
        const struct opinions *a = said_by(all, swing, first);
        const struct opinions *b = second < 0 ? &swing->core : said_by(all, swing, second);
        bool both = false;
        all->pairs[count] = (struct agreement_pair){.said = {{0}}};
        for (int f = 0; a != NULL && b != NULL && f < FAULT_COUNT; f++) {
            both = pair_say(&all->pairs[count], a->of[f], b->of[f]) || both;
        }
        count += both;
    }
    return count;
}

static void pairs_write(struct agreeing *all, struct json_out *out)
{
    json_out_array(out, "pairs");
    for (int i = 0; i < all->rater_count; i++) {
        for (int j = i + 1; j < all->rater_count; j++) {
            const int count = pair_gather(all, i, j);
            if (count == 0) {
                continue;
            }
            json_out_object(out, NULL);
            json_out_text(out, "first", all->raters[i].id);
            json_out_text(out, "second", all->raters[j].id);
            pair_write(all, out, count);
            json_out_end_object(out);
        }
    }
    json_out_end_array(out);
}

static enum store_status coaches_write(struct agreeing *all, struct json_out *out)
{
    enum store_status status = STORE_OK;
    json_out_array(out, "coaches");
    for (int i = 0; i < all->rater_count && status == STORE_OK; i++) {
        struct store_account account = {.name = NULL};
        const int count = pair_gather(all, i, -1);
        status = store_account_get(all->call->db, all->raters[i].id, all->call->arena, &account);
        status = status == STORE_NOT_FOUND ? STORE_OK : status; /* erased: what was seen counts on, without a name */
        json_out_object(out, NULL);
        json_out_text(out, "account_id", all->raters[i].id);
        json_out_text(out, "name", account.name);
        answer_integer(out, "swings", all->raters[i].swings);
        json_out_object(out, "core");
        pair_write(all, out, count);
        json_out_end_object(out);
        json_out_end_object(out);
    }
    json_out_end_array(out);
    return status;
}

/* Somebody sees it and somebody else sees that it is not there. */
static bool divides(const struct agreeing *all, const struct judged *swing, int fault)
{
    bool seen[OPINION_COUNT] = {false};
    for (int k = swing->from; k < swing->from + swing->count; k++) {
        const int said = said_at(all, k, fault);
        if (said != OPINION_NONE) {
            seen[said] = true;
        }
    }
    return seen[OPINION_PRESENT] && seen[OPINION_ABSENT];
}

/* Who says what of a fault in a swing. */
static void division_write(const struct agreeing *all, struct json_out *out, const struct judged *swing, int fault)
{
    json_out_object(out, NULL);
    json_out_text(out, "swing_id", swing->first->swing_id);
    json_out_text(out, "student_id", swing->first->student_id);
    json_out_text(out, "fault", fault_name((enum fault_id)fault));
    json_out_text(out, "core", opinion_name((enum opinion)swing->core.of[fault]));
    json_out_array(out, "said");
    for (int k = swing->from; k < swing->from + swing->count; k++) {
        const int said = said_at(all, k, fault);
        if (said != OPINION_NONE) {
            json_out_object(out, NULL);
            json_out_text(out, "account_id", all->said.items[k].account_id);
            json_out_text(out, "says", opinion_name((enum opinion)said));
            json_out_end_object(out);
        }
    }
    json_out_end_array(out);
    json_out_end_object(out);
}

static void divided_write(const struct agreeing *all, struct json_out *out)
{
    int written = 0;
    json_out_array(out, "divided");
    for (int i = 0; i < all->swing_count; i++) {
        for (int fault = 0; fault < FAULT_COUNT && written < DIVIDED_MAX; fault++) {
            if (divides(all, &all->swings[i], fault)) {
                division_write(all, out, &all->swings[i], fault);
                written++;
            }
        }
    }
    json_out_end_array(out);
}

static enum store_status agreement_make(struct call *call, const struct store_page *page, struct json_out *out)
{
    struct agreeing all = {.call = call};
    enum store_status status = agreeing_read(&all, page);
    if (status != STORE_OK) {
        return status;
    }
    json_out_object(out, NULL);
    answer_time(out, "from", page->from);
    answer_time(out, "to", page->to);
    answer_integer(out, "opinions", (int64_t)all.said.count);
    answer_integer(out, "swings", all.swing_count);
    json_out_bool(out, "complete", !all.said.more);
    json_out_array(out, "faults");
    for (int fault = 0; fault < FAULT_COUNT; fault++) {
        fault_write(&all, out, fault);
    }
    json_out_end_array(out);
    pairs_write(&all, out);
    status = coaches_write(&all, out);
    divided_write(&all, out);
    json_out_end_object(out);
    return status;
}

void agreement_get(struct call *call)
{
    call_figures(call, agreement_make);
}

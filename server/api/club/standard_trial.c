/* See standard_trial.h. */
#include "api/club/standard_trial.h"

#include "api/lessons/swing_load.h"
#include "wire/report/pack.h"
#include "wire/report/player.h"

/* Room for one swing, used for each in turn. */
struct bench {
    struct report_kept kept;
    struct report now, then;
};

static void compare(struct trial_tally *tally, const struct report *now, const struct report *then)
{
    for (int i = 0; i < FAULT_COUNT; i++) {
        const bool was = now->faults[i].verdict == VERDICT_PRESENT;
        const bool is = then->faults[i].verdict == VERDICT_PRESENT;
        tally->present_now[i] += was;
        tally->present_then[i] += is;
        tally->gained[i] += is && !was;
        tally->lost[i] += was && !is;
    }
    const struct first_fixes *a = &now->fixes;
    const struct first_fixes *b = &then->fixes;
    tally->first_changed += a->count != b->count || (a->count > 0 && a->items[0].fault != b->items[0].fault);
    tally->swings++;
}

/* A report of an older program was kept without what judging takes: measured once more. */
static enum store_status measure(struct standard_page *page, const char *id, const struct score_player *player,
                                 struct bench *bench, bool *read)
{
    struct store_swing swing;
    struct wire_error error;
    struct arena *own = arena_new(0);
    struct swing_document *document = own == NULL ? NULL : arena_alloc(own, sizeof *document);
    enum store_status status = document == NULL ? STORE_NO_MEMORY : store_swing_get(page->db, id, true, own, &swing);
    *read = status == STORE_OK && swing_load(&swing, own, document, &error);
    if (*read) {
        const struct swing *one = &document->swing;
        score_swings(&one, 1, page->task->rules->standard, player, NULL, 0, &bench->now);
        score_keep(&bench->now, one, &bench->kept.kept);
    }
    arena_free(own);
    return status;
}

static enum store_status judge(struct standard_page *page, const struct store_kept_swing *swing, struct bench *bench)
{
    const struct player_known known = {.birth_date = swing->birth_date,
                                       .birth_year = swing->birth_year,
                                       .junior = swing->junior,
                                       .sex = swing->sex,
                                       .height_m = {swing->has_height, swing->height_m}};
    const struct score_kept *const kept = &bench->kept.kept;
    struct score_player player;
    bool read = true;
    enum store_status status = STORE_OK;
    player_score(&known, swing->recorded_at, &player);
    if (!report_unpack_kept(swing->packed, swing->packed_size, &bench->kept)) {
        status = measure(page, swing->judged.id, &player, bench, &read);
    }
    if (status == STORE_OK && read) {
        score_again(&kept, 1, page->task->rules->standard, &player, NULL, 0, &bench->now);
        score_again(&kept, 1, page->task->tried, &player, NULL, 0, &bench->then);
        compare(&page->tally, &bench->now, &bench->then);
    }
    page->unread += status == STORE_OK && !read;
    return status;
}

enum store_status trial_judge(struct standard_page *page)
{
    struct bench *bench = arena_take(page->arena, sizeof *bench);
    enum store_status status = bench == NULL ? STORE_NO_MEMORY : STORE_OK;
    for (size_t i = 0; i < page->kept.count && status == STORE_OK; i++) {
        if (page->kept.items[i].judged.counts) {
            status = judge(page, &page->kept.items[i], bench);
        }
    }
    return status;
}

void trial_add(struct trial_tally *to, const struct trial_tally *from)
{
    to->swings += from->swings;
    to->first_changed += from->first_changed;
    for (int i = 0; i < FAULT_COUNT; i++) {
        to->present_now[i] += from->present_now[i];
        to->present_then[i] += from->present_then[i];
        to->gained[i] += from->gained[i];
        to->lost[i] += from->lost[i];
    }
}

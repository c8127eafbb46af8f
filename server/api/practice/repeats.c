/* See repeats.h. */
#include "api/practice/repeats.h"

#include <math.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/practice/handlers.h"
#include "store/practice/effect.h"
#include "store/practice/progress.h"
#include "wire/report/pack.h"

#define STUDENTS_MAX 2000
#define PAGE 200

/* Of one measure: each student's repeats, one after the other. */
struct table {
    double values[STUDENTS_MAX][RELIABILITY_REPEATS];
    unsigned char club[STUDENTS_MAX];
    double noise[STUDENTS_MAX]; /* the mean square of what measuring adds to each value by itself */
    int count;
};

struct gathering_repeats {
    struct call *call;
    struct table *tables; /* of each measure */
    int students;
};

enum store_status repeats_pick(struct store_db *db, int64_t report, const enum measure_item *items, int count,
                               struct report_pick *out, enum club_class *club, bool *readable)
{
    const char *bytes = NULL;
    size_t size = 0;
    struct arena *own = arena_new(0);
    enum store_status status = own == NULL ? STORE_NO_MEMORY : store_effect_measures(db, report, own, &bytes, &size);
    enum report_unpacked answer =
        status == STORE_OK ? report_unpack(bytes, size, items, count, out, club) : REPORT_STALE;
    if ((status == STORE_OK || status == STORE_NOT_FOUND) && answer == REPORT_STALE) {
        status = store_progress_report(db, report, own, &bytes, &size);
        *readable = status == STORE_OK && report_pick(bytes == NULL ? "" : bytes, size, items, count, out, club);
    } else {
        *readable = answer == REPORT_UNPACKED;
    }
    arena_free(own);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

static void student_take(struct gathering_repeats *all, struct report_pick (*picks)[MEASURE_COUNT],
                         enum club_class club)
{
    for (int i = 0; i < MEASURE_COUNT; i++) {
        struct table *table = &all->tables[i];
        double noise = 0;
        bool good = true;
        for (int k = 0; k < RELIABILITY_REPEATS; k++) {
            const struct measure *measure = &picks[k][i].measure;
            good = good && measure->observed && !measure->clipped && measure->source == picks[0][i].measure.source;
            table->values[table->count][k] = measure->value;
            noise += measure->sd_random * measure->sd_random / RELIABILITY_REPEATS;
        }
        if (good) {
            table->club[table->count] = (unsigned char)club;
            table->noise[table->count] = noise;
            table->count++;
        }
    }
    all->students++;
}

static enum store_status student_read_repeats(struct gathering_repeats *all, const char *student_id)
{
    enum measure_item items[MEASURE_COUNT];
    struct report_pick picks[RELIABILITY_REPEATS][MEASURE_COUNT];
    enum club_class clubs[RELIABILITY_REPEATS] = {CLUB_CLASS_ANY};
    struct store_report_numbers reports = {.count = 0};
    struct arena *own = arena_new(0);
    bool good = true;
    enum store_status status =
        own == NULL ? STORE_NO_MEMORY
                    : store_effect_repeats(all->call->db, student_id, RELIABILITY_REPEATS, own, &reports);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        items[i] = (enum measure_item)i;
    }
    good = status == STORE_OK && reports.count == RELIABILITY_REPEATS;
    for (int k = 0; k < RELIABILITY_REPEATS && good; k++) {
        status = repeats_pick(all->call->db, reports.items[k], items, MEASURE_COUNT, picks[k], &clubs[k], &good);
        good = good && status == STORE_OK && clubs[k] == clubs[0];
    }
    arena_free(own);
    if (good) {
        student_take(all, picks, clubs[0]);
    }
    return status;
}

/* Of the kind of club that most were made with, moved together at the front. */
static void club_choose(struct table *table, struct repeats_measure *out)
{
    int of[CLUB_CLASS_COUNT] = {0};
    int kept = 0;
    for (int i = 0; i < table->count; i++) {
        of[table->club[i]]++;
    }
    for (int c = 0; c < CLUB_CLASS_COUNT; c++) {
        out->club = of[c] > of[out->club] ? (enum club_class)c : out->club;
    }
    for (int i = 0; i < table->count; i++) {
        if (table->club[i] == (unsigned char)out->club) {
            memcpy(table->values[kept], table->values[i], sizeof table->values[kept]);
            table->noise[kept++] = table->noise[i];
        }
    }
    table->count = kept;
}

static void measure_end(struct table *table, struct repeats_measure *out)
{
    double noise = 0;
    *out = (struct repeats_measure){.club = CLUB_CLASS_ANY};
    club_choose(table, out);
    out->known = reliability_of(table->values[0], table->count, RELIABILITY_REPEATS, &out->of);
    for (int i = 0; i < table->count; i++) {
        noise += table->noise[i] / table->count;
    }
    out->spread = sqrt(fmax(0, out->of.within * out->of.within - noise));
    out->enough = out->known && table->count >= RELIABILITY_ENOUGH && out->spread > 0;
}

enum store_status repeats_gather(struct call *call, struct repeats *out)
{
    struct gathering_repeats all = {.call = call};
    char after[UUID_TEXT] = "";
    bool more = true;
    struct arena *arena = arena_new(0);
    all.tables = arena == NULL ? NULL : arena_alloc(arena, MEASURE_COUNT * sizeof *all.tables);
    enum store_status status = all.tables == NULL ? STORE_NO_MEMORY : STORE_OK;
    while (status == STORE_OK && more && all.students < STUDENTS_MAX) {
        const struct store_page page = {.after = after, .limit = PAGE};
        struct store_student_list list = {.count = 0};
        struct arena *own = arena_new(0);
        status = own == NULL ? STORE_NO_MEMORY : store_student_list(call->db, &page, own, &list);
        for (size_t i = 0; status == STORE_OK && i < list.count && all.students < STUDENTS_MAX; i++) {
            status = atomic_load(&call->api->refusing) ? STORE_CLOSED : student_read_repeats(&all, list.items[i].id);
            memcpy(after, list.items[i].id, UUID_TEXT);
        }
        more = list.more;
        arena_free(own);
    }
    for (int i = 0; status == STORE_OK && i < MEASURE_COUNT; i++) {
        measure_end(&all.tables[i], &out->of[i]);
    }
    arena_free(arena);
    return status;
}

/* ---- showing ---- */

static void measure_write(struct json_out *out, enum measure_item item, const struct repeats_measure *measure,
                          double standard_spread)
{
    const struct measure_info *info = measure_info(item);
    const int decimals = 4;
    json_out_object(out, NULL);
    json_out_text(out, "measure", info->name);
    json_out_text(out, "checkpoint", info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint));
    json_out_text(out, "unit", unit_name(info->unit));
    json_out_text(out, "club", club_class_name(measure->club));
    answer_integer(out, "students", measure->of.subjects);
    json_out_number(out, "mean", measure->of.mean, decimals);
    json_out_number(out, "icc_agreement", measure->of.icc_agreement, 3);
    json_out_number(out, "icc_consistency", measure->of.icc_consistency, 3);
    json_out_number(out, "sem", measure->of.sem, decimals);
    json_out_number(out, "mdc", measure->of.mdc, decimals);
    json_out_number(out, "spread", measure->spread, decimals);
    json_out_number(out, "standard_spread", standard_spread, decimals);
    json_out_bool(out, "enough", measure->enough);
    json_out_end_object(out);
}

static enum store_status reliability_make(struct call *call, const struct store_page *page, struct json_out *out)
{
    struct repeats *repeats = arena_alloc(call->arena, sizeof *repeats);
    (void)page;
    const enum store_status status = repeats == NULL ? STORE_NO_MEMORY : repeats_gather(call, repeats);
    if (status != STORE_OK) {
        return status;
    }
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        return STORE_ERROR;
    }
    json_out_object(out, NULL);
    answer_integer(out, "repeats", RELIABILITY_REPEATS);
    answer_integer(out, "enough_from", RELIABILITY_ENOUGH);
    json_out_array(out, "measures");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (repeats->of[i].known) {
            measure_write(out, (enum measure_item)i, &repeats->of[i], rules->standard->spread[i]);
        }
    }
    json_out_end_array(out);
    json_out_end_object(out);
    rules_return(call->api, rules);
    return STORE_OK;
}

void reliability_get(struct call *call)
{
    call_figures(call, reliability_make);
}

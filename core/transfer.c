/* See transfer.h. */
#include "core/transfer.h"

#define ALIKE 1e-9 /* chances that differ by so small a share are the same, worked out another way */

NAMES(transfer_aspect, enum transfer_aspect, TRANSFER_ASPECT_NAMES);
NAMES(transfer_place, enum transfer_place, TRANSFER_PLACE_NAMES);
NAMES(transfer_verdict, enum transfer_verdict, TRANSFER_VERDICT_NAMES);

const char *transfer_class_name(enum transfer_aspect aspect, int at)
{
    static const char *const sides[] = {"left", "straight", "right", NULL};
    static const char *const strikes[] = {"flush", "thin", "fat", "off_centre"};
    return at < 0 || at >= COUNTS_CLASSES_MAX ? NULL : aspect == TRANSFER_STRIKE ? strikes[at] : sides[at];
}

static int strike_class(enum strike strike)
{
    switch (strike) {
    case STRIKE_FLUSH:
        return 0;
    case STRIKE_THIN:
    case STRIKE_TOPPED:
        return 1;
    case STRIKE_FAT:
        return 2;
    case STRIKE_HEEL:
    case STRIKE_TOE:
        return 3;
    case STRIKE_UNKNOWN:
    case STRIKE_COUNT:
        break;
    }
    return -1;
}

void transfer_count(struct transfer_day *day, const struct flight_class *shot)
{
    const int at[TRANSFER_ASPECT_COUNT] = {
        [TRANSFER_START] = shot->start == FLIGHT_UNKNOWN ? -1 : (int)shot->start - FLIGHT_LEFT,
        [TRANSFER_CURVE] = shot->curve == FLIGHT_UNKNOWN ? -1 : (int)shot->curve - FLIGHT_LEFT,
        [TRANSFER_STRIKE] = strike_class(shot->strike)};
    for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
        if (at[a] >= 0) {
            day->counts[a].of[at[a]]++;
        }
    }
}

/* Everything of one aspect that the tests ask for. */
struct side {
    struct counts_row days[TRANSFER_DAYS_MAX];
    int count; /* days with any shot */
};

static void side_take(const struct transfer_day *days, int count, enum transfer_place place, int aspect,
                      struct side *out)
{
    out->count = 0;
    for (int d = 0; d < count; d++) {
        if (days[d].place == place && counts_total(&days[d].counts[aspect]) > 0) {
            out->days[out->count++] = days[d].counts[aspect];
        }
    }
}

static double more_careful(const struct counts_row rows[2], const double effect[2], double freedom)
{
    const double exact = counts_exact_p(&rows[0], &rows[1]);
    const double spread = counts_spread_p(&rows[0], &rows[1], effect, freedom);
    return exact > spread ? exact : spread;
}

/* The class that differs most surely beside all the others, and how surely; of two that do alike, the one that the
 * course has more of. */
static double stand_out(struct transfer_finding *finding, const double effect[2], double freedom)
{
    const int all[2] = {counts_total(&finding->counts[0]), counts_total(&finding->counts[1])};
    double best = 2;
    for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
        const int n[2] = {finding->counts[0].of[i], finding->counts[1].of[i]};
        const struct counts_row rows[2] = {{{n[0], all[0] - n[0]}}, {{n[1], all[1] - n[1]}}};
        const double p = n[0] + n[1] > 0 ? more_careful(rows, effect, freedom) : 2;
        const struct counts_difference difference = counts_difference(n, all, effect);
        if (p < best * (1 - ALIKE) || (p < best * (1 + ALIKE) && best < 2 && difference.value > 0)) {
            best = p;
            finding->stands_out = i;
            finding->difference = difference;
        }
    }
    return best;
}

/* Holm's steps: the surest of m must be so to level / m, the next to level / (m - 1), and so on until one is not. */
static void judge_all(struct transfer *out, const double alone[TRANSFER_ASPECT_COUNT])
{
    int left = 0;
    bool taken[TRANSFER_ASPECT_COUNT] = {false};
    for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
        taken[a] = out->findings[a].verdict == TRANSFER_TOO_FEW;
        left += !taken[a];
    }
    while (left > 0) {
        int surest = -1;
        for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
            surest = !taken[a] && (surest < 0 || out->findings[a].p < out->findings[surest].p) ? a : surest;
        }
        if (surest < 0 || out->findings[surest].p > TRANSFER_LEVEL / left) {
            return;
        }
        taken[surest] = true;
        left--;
        if (alone[surest] <= TRANSFER_LEVEL) {
            out->findings[surest].verdict = TRANSFER_ANOTHER;
            out->verdict = TRANSFER_ANOTHER;
        }
    }
}

void transfer_compare(const struct transfer_day *days, int count, struct transfer *out)
{
    struct side side;
    struct counts_spread spread = TRANSFER_DAYS_BEFORE;
    double effect[TRANSFER_ASPECT_COUNT][TRANSFER_PLACE_COUNT] = {{1}};
    double alone[TRANSFER_ASPECT_COUNT] = {1, 1, 1};
    *out = (struct transfer){.verdict = TRANSFER_TOO_FEW};
    for (int d = 0; d < count; d++) {
        out->days[days[d].place]++;
        for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
            for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
                out->findings[a].counts[days[d].place].of[i] += days[d].counts[a].of[i];
            }
        }
    }
    for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
        bool enough = true;
        for (int place = 0; place < TRANSFER_PLACE_COUNT; place++) {
            side_take(days, count, (enum transfer_place)place, a, &side);
            counts_spread_add(&spread, side.days, side.count);
            enough = enough && side.count >= TRANSFER_DAYS_MIN &&
                     counts_total(&out->findings[a].counts[place]) >= TRANSFER_SHOTS_MIN;
        }
        out->findings[a].verdict = enough ? TRANSFER_NO_DIFFERENCE : TRANSFER_TOO_FEW;
        out->verdict = enough ? TRANSFER_NO_DIFFERENCE : out->verdict;
    }
    out->same_day = counts_spread_share(&spread);
    for (int a = 0; a < TRANSFER_ASPECT_COUNT; a++) {
        struct transfer_finding *finding = &out->findings[a];
        for (int place = 0; place < TRANSFER_PLACE_COUNT; place++) {
            side_take(days, count, (enum transfer_place)place, a, &side);
            effect[a][place] = counts_day_effect(side.days, side.count, out->same_day);
        }
        if (finding->verdict != TRANSFER_TOO_FEW) {
            finding->p = more_careful(finding->counts, effect[a], spread.freedom);
            alone[a] = stand_out(finding, effect[a], spread.freedom);
        }
    }
    judge_all(out, alone);
}

/* The front door: measures every swing, averages them, judges, and chooses what to work on and with which drills. */
#include "core/score.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define HABIT_SWINGS 3

/* Sums over the swings, per measure. */
struct sums {
    int count;
    double value, variance, systematic;
    int marks;
    bool clipped;
    enum measure_source source;  /* the first one met */
    int clubs[CLUB_CLASS_COUNT]; /* swings of each kind of club */
};

/* The same of all measures, and of what the errors of each two share (at measure_pair), in their units. */
struct tally {
    struct sums items[MEASURE_COUNT];
    double random[MEASURE_PAIRS], systematic[MEASURE_PAIRS];
};

/* Of all swings: what every mark gives, and what the marks give that rest on no guess and are not suspect. */
struct gathered {
    int count;
    struct tally all, sure;
    int own[MEASURE_COUNT]; /* swings in which it rests on no guess */
    enum club_class club;   /* any: they are of several */
    int start[FLIGHT_SIDE_COUNT], curve[FLIGHT_SIDE_COUNT], strike[STRIKE_COUNT];
    int start_count, tilt_count;
    double start_sum, tilt_sum;
    int seen[FAULT_COUNT], words[FAULT_COUNT];
};

/* What faults are judged by: means with the player's own spread, each beside the range of the clubs it was seen with.
 */
struct judged {
    struct measure_set measures;
    struct judged_range ranges[MEASURE_COUNT];
};

static bool is_sure(const struct measure *measure)
{
    return measure->observed && !measure->guessed && !measure->suspect;
}

static void add_shared(struct tally *tally, const struct measure_set *set, bool sure)
{
    for (int a = 1; a < MEASURE_COUNT; a++) {
        for (int b = 0; b < a && (sure ? is_sure(&set->items[a]) : set->items[a].observed); b++) {
            const int pair = measure_pair(a, b);
            const struct measure_shared *shared = &set->shared[pair];
            if ((sure ? is_sure(&set->items[b]) : set->items[b].observed) &&
                (shared->random != 0 || shared->systematic != 0)) {
                const double norm = measure_sd(&set->items[a]) * measure_sd(&set->items[b]) / MEASURE_SHARED_ONE;
                tally->random[pair] += shared->random * norm;
                tally->systematic[pair] += shared->systematic * norm;
            }
        }
    }
}

/* sure: those alone that rest on no guess and no suspect mark. */
static void add_swing(struct tally *tally, const struct measure_set *set, enum club_class club, bool sure)
{
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &set->items[i];
        struct sums *sum = &tally->items[i];
        if (sure ? !is_sure(measure) : !measure->observed) {
            continue;
        }
        sum->source = sum->count == 0 ? measure->source : sum->source;
        sum->count++;
        sum->clubs[club]++;
        sum->value += measure->value;
        sum->variance += measure->sd_random * measure->sd_random;
        sum->systematic += measure->sd_systematic;
        sum->marks += measure->marks;
        sum->clipped = sum->clipped || measure->clipped;
    }
    add_shared(tally, set, sure);
}

/* What the errors of the means share: the random part as that of means, the systematic part whole; all of it is put
 * down as random. The player's own spread is shared by none, as far as anybody knows. */
static void mean_shared(const struct tally *tally, struct measure_set *means)
{
    for (int a = 1; a < MEASURE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            const int pair = measure_pair(a, b);
            means->shared[pair] = (struct measure_shared){0, 0};
            if (tally->random[pair] == 0 && tally->systematic[pair] == 0) {
                continue;
            }
            const double n = tally->items[a].count;
            const double m = tally->items[b].count;
            const double both = tally->random[pair] / (n * m) + tally->systematic[pair] / fmin(n, m);
            const double share = both / (measure_sd(&means->items[a]) * measure_sd(&means->items[b]));
            means->shared[pair].random = (int16_t)lround(MEASURE_SHARED_ONE * fmax(-1, fmin(1, share)));
        }
    }
}

/* The mean and its error, with the spread of a player's swings where it speaks of the habit (0: of these swings). */
static struct measure mean_of(const struct sums *sum, double spread)
{
    if (sum->count == 0) {
        return (struct measure){.observed = false};
    }
    double n = sum->count;
    double systematic = sum->systematic / n;
    double variance = sum->variance / n + spread * spread;
    /* Marks share the random error alike: one of them takes a part of it tenfold. */
    double slipped = sum->marks > 0 ? sum->variance / (n * n * sum->marks) : 0;
    slipped *= MEASURE_SLIP_TIMES * MEASURE_SLIP_TIMES - 1;
    return (struct measure){.observed = true,
                            .clipped = sum->clipped,
                            .value = sum->value / n,
                            .sd_random = sqrt(variance / n),
                            .sd_systematic = systematic,
                            .source = sum->source,
                            .marks = sum->marks,
                            .slip = 1 - pow(1 - MEASURE_SLIP, sum->marks),
                            .sd_slip = sqrt(variance / n + systematic * systematic + slipped),
                            .blind = sum->marks == 0   ? 0
                                     : sum->count == 1 ? MEASURE_BLIND
                                                       : MEASURE_SLIP};
}

static void keep_findings(struct camera_findings *all, const struct camera_findings *one, int swing)
{
    for (int i = 0; i < one->count && all->count < CAMERA_FINDINGS_MAX; i++) {
        all->items[all->count] = one->items[i];
        all->items[all->count].swing = swing;
        all->count++;
    }
}

/* One swing's measures: of the marks that people made and nothing speaks against, of all that people made, and with
 * what only guesses can give. */
struct measured_swing {
    struct measure_set sure, own, all;
};

/* What is not there yet, called suspect or guessed. */
static void take_missing(struct measure_set *to, const struct measure_set *from, bool suspect)
{
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (to->items[i].observed || !from->items[i].observed) {
            continue;
        }
        to->items[i] = from->items[i];
        to->items[i].suspect = suspect;
        to->items[i].guessed = !suspect;
        for (int k = 0; k < MEASURE_COUNT; k++) {
            if (k != i) {
                to->shared[measure_pair(i, k)] = from->shared[measure_pair(i, k)];
            }
        }
    }
}

static bool has_kind(const struct mark_findings *marks, unsigned kinds)
{
    for (int i = 0; i < marks->count; i++) {
        if (kinds >> marks->items[i].kind & 1U) {
            return true;
        }
    }
    return false;
}

/* Measures a swing of which some marks are suspect. From a wrong view, and of a player of the other hand, nothing is
 * read; the camera's own word about the hand stays. */
static void measure_suspect(const struct swing *swing, const struct mark_findings *marks, struct measured_swing *out,
                            struct camera_findings *findings)
{
    struct swing copy = *swing;
    struct camera_findings unused = {.count = 0};
    (void)swing_drop_found(&copy);
    (void)check_drop_suspects(&copy, marks, CHECK_VIEWS);
    if (has_kind(marks, CHECK_HANDS)) {
        measure_swing(&copy, &out->own, findings);
        (void)check_drop_suspects(&copy, marks, CHECK_HANDS);
        findings = &unused;
    }
    struct camera_findings of_own = {.count = 0};
    measure_swing(&copy, &out->own, &of_own);
    (void)check_drop_suspects(&copy, marks, CHECK_ALL);
    measure_swing(&copy, &out->sure, findings);
    copy = *swing;
    (void)check_drop_suspects(&copy, marks, CHECK_VIEWS | CHECK_HANDS);
    unused.count = 0;
    measure_swing(&copy, &out->all, &unused);
}

/* Measures a swing with points that software found and nobody touched; its camera check is that of the others. */
static void measure_found(const struct swing *swing, struct measured_swing *out, struct camera_findings *findings)
{
    struct swing own = *swing;
    struct camera_findings of_guesses = {.count = 0};
    (void)swing_drop_found(&own);
    measure_swing(&own, &out->own, findings);
    out->sure = out->own;
    measure_swing(swing, &out->all, &of_guesses);
}

static void keep_marks(struct mark_findings *all, const struct mark_findings *one, int swing)
{
    for (int i = 0; i < one->count && all->count < CHECK_FINDINGS_MAX; i++) {
        all->items[all->count] = one->items[i];
        all->items[all->count++].swing = swing;
    }
}

static void measure_one(const struct swing *swing, struct score_kept *out)
{
    struct measured_swing measured;
    check_marks(swing, &out->marks);
    if (out->marks.count > 0) {
        measure_suspect(swing, &out->marks, &measured, &out->camera);
    } else if (swing_has_found(swing)) {
        measure_found(swing, &measured, &out->camera);
    } else {
        measure_swing(swing, &out->measures, &out->camera);
        return;
    }
    out->measures = measured.sure;
    take_missing(&out->measures, &measured.own, true);
    take_missing(&out->measures, &measured.all, false);
}

static void add_flight(struct gathered *sum, const struct score_kept *kept, const struct standard *standard)
{
    if (!kept->has_flight) {
        return;
    }
    const struct flight_class one = flight_classify(&kept->flight, standard, kept->club);
    sum->start[one.start]++;
    sum->curve[one.curve]++;
    sum->strike[one.strike]++;
    sum->start_count += one.start_deg.given ? 1 : 0;
    sum->tilt_count += one.axis_tilt_deg.given ? 1 : 0;
    sum->start_sum += one.start_deg.given ? one.start_deg.value : 0;
    sum->tilt_sum += one.axis_tilt_deg.given ? one.axis_tilt_deg.value : 0;
}

/* One more swing, into the sums and into what the report tells of each. */
static void gather(struct gathered *sum, const struct score_kept *kept, const struct standard *standard,
                   struct report *out)
{
    const int swing = sum->count++;
    sum->club = swing == 0 || sum->club == kept->club ? kept->club : CLUB_CLASS_ANY;
    add_swing(&sum->all, &kept->measures, kept->club, false);
    add_swing(&sum->sure, &kept->measures, kept->club, true);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        sum->own[i] += kept->measures.items[i].observed && !kept->measures.items[i].guessed;
    }
    for (int i = 0; i < kept->seen_count; i++) {
        sum->seen[kept->seen[i].fault]++;
        sum->words[kept->seen[i].fault] += (int)kept->seen[i].word;
    }
    add_flight(sum, kept, standard);
    out->motions[swing] = kept->motion;
    keep_findings(&out->camera, &kept->camera, swing);
    keep_marks(&out->marks, &kept->marks, swing);
    memcpy(out->measures.shared, kept->measures.shared, sizeof out->measures.shared);
}

struct player score_class(const struct score_player *player, enum club_class club)
{
    return (struct player){
        .sex = player->sex, .age = age_band_of(player->age_years), .club = club, .height_m = player->height_m};
}

/* A length is judged less surely of a player whose height nobody stated. */
static void add_height(struct measure *mean, enum measure_item item, const struct player *player)
{
    const double sd = standard_height_sd(item, player, mean->value);
    if (mean->observed && sd > 0) {
        mean->sd_systematic = hypot(mean->sd_systematic, sd);
        mean->sd_slip = hypot(mean->sd_slip, sd);
    }
}

/* Fills in the report's measures, all with every mean and certain with those that rest on no guess and no suspect mark.
 * Returns whether any rests on one. */
static bool mean_all(const struct gathered *sum, const struct standard *standard, const struct score_player *player,
                     struct judged *all, struct judged *certain, struct report *out)
{
    bool held = false;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const enum measure_item item = (enum measure_item)i;
        const struct sums *sums = &sum->all.items[i];
        const struct sums *sure = &sum->sure.items[i];
        const double spread = player->spread[i].given ? player->spread[i].value : standard->spread[i];
        struct measure *measure = &out->measures.items[i];
        *measure = mean_of(sums, sums->count >= HABIT_SWINGS ? spread : 0);
        measure->guessed = sum->own[i] < sums->count;
        measure->suspect = sure->count < sum->own[i];
        held = held || measure->guessed || measure->suspect;
        all->measures.items[i] = mean_of(sums, spread);
        add_height(&all->measures.items[i], item, &out->player);
        all->measures.items[i].guessed = measure->guessed;
        all->measures.items[i].suspect = measure->suspect;
        all->ranges[i] = standard_mean_range(standard, item, sums->clubs, &out->player);
        certain->measures.items[i] = mean_of(sure, spread);
        add_height(&certain->measures.items[i], item, &out->player);
        certain->ranges[i] = standard_mean_range(standard, item, sure->clubs, &out->player);
        out->observed_in[i] = sums->count;
        out->ranges[i] = all->ranges[i];
        if (measure->observed && out->ranges[i].given) {
            out->severity[i] = fmax(range_severity(&out->ranges[i].range, SIDE_LOW, measure->value),
                                    range_severity(&out->ranges[i].range, SIDE_HIGH, measure->value));
        }
    }
    mean_shared(&sum->all, &all->measures);
    mean_shared(&sum->sure, &certain->measures);
    if (sum->count != 1) {
        memset(out->measures.shared, 0, sizeof out->measures.shared);
    }
    return held;
}

/* What most of the swings that say anything say; 0 (unknown) when no answer has more than half of them. */
static int majority(const int *votes, int kinds)
{
    int said = 0;
    for (int i = 1; i < kinds; i++) {
        said += votes[i];
    }
    for (int i = 1; i < kinds; i++) {
        if (2 * votes[i] > said) {
            return i;
        }
    }
    return 0;
}

static struct maybe average(double sum, int count)
{
    return count == 0 ? (struct maybe){false, 0} : (struct maybe){true, sum / count};
}

static struct flight_class flight_all(const struct gathered *sum)
{
    return (struct flight_class){.start = (enum flight_side)majority(sum->start, FLIGHT_SIDE_COUNT),
                                 .curve = (enum flight_side)majority(sum->curve, FLIGHT_SIDE_COUNT),
                                 .strike = (enum strike)majority(sum->strike, STRIKE_COUNT),
                                 .start_deg = average(sum->start_sum, sum->start_count),
                                 .axis_tilt_deg = average(sum->tilt_sum, sum->tilt_count)};
}

/* The coach's words over the swings: the rounded mean of those that name a fault. Returns how many faults are named. */
static int seen_all(const struct gathered *sum, struct seen_fault out[FAULT_COUNT])
{
    int named = 0;
    for (int f = 0; f < FAULT_COUNT; f++) {
        if (sum->seen[f] > 0) {
            const int word = (2 * sum->words[f] + sum->seen[f]) / (2 * sum->seen[f]);
            out[named++] = (struct seen_fault){.fault = f, .word = (enum severity_word)word};
        }
    }
    return named;
}

static void suggest(const struct standard *standard, const struct score_player *player, const struct drill *drills,
                    int drill_count, struct report *out)
{
    out->unsteady = practice_unsteady(standard, player->age_years, player->pain);
    for (int i = 0; i < out->fixes.count; i++) {
        struct practice_wish wish = {.fault = out->fixes.items[i].fault,
                                     .kit = player->kit,
                                     .place = player->place,
                                     .pain = player->pain,
                                     .junior = age_band_of(player->age_years) == AGE_JUNIOR,
                                     .unsteady = out->unsteady};
        out->drill_count[i] = practice_suggest(drills, drill_count, &wish, out->drills[i], SCORE_DRILLS_MAX);
    }
}

/* certain: the measures that rest on no guess and no suspect mark; NULL = that is all of them. */
static void judge(const struct standard *standard, const struct judged *all, const struct judged *certain,
                  const struct flight_class *flight, const struct seen_fault *seen, int seen_count,
                  struct fault_result out[FAULT_COUNT])
{
    fault_judge(standard, &all->measures, all->ranges, flight, seen, seen_count, out);
    if (certain != NULL) {
        struct fault_result sure[FAULT_COUNT];
        fault_judge(standard, &certain->measures, certain->ranges, flight, seen, seen_count, sure);
        fault_hold_back(sure, &all->measures, out);
    }
}

/* From the sums to verdicts, fixes and drills. */
static void conclude(const struct gathered *sum, const struct standard *standard, const struct score_player *player,
                     const struct drill *drills, int drill_count, struct report *out)
{
    struct judged all;
    struct judged certain;
    struct seen_fault seen[FAULT_COUNT];
    out->swing_count = sum->count;
    out->habit = sum->count >= HABIT_SWINGS;
    out->player = score_class(player, sum->club);
    const bool held_back = mean_all(sum, standard, player, &all, &certain, out);
    out->flight = flight_all(sum);
    const int seen_count = seen_all(sum, seen);
    judge(standard, &all, held_back ? &certain : NULL, &out->flight, seen, seen_count, out->faults);
    firstfix_choose(standard, out->faults, &out->fixes);
    suggest(standard, player, drills, drills == NULL ? 0 : drill_count, out);
}

/* What the document says beside its marks. */
static void keep_said(const struct swing *swing, struct score_kept *out)
{
    out->club = club_class_of(swing->club);
    out->has_flight = swing->has_flight;
    out->flight = swing->flight;
    out->motion = swing->motion;
    out->seen_count = 0;
    for (int i = 0; i < swing->seen_count && out->seen_count < FAULT_COUNT; i++) {
        const struct seen_fault *seen = &swing->seen[i];
        if (seen->fault >= 0 && seen->fault < FAULT_COUNT && seen->word != SEVERITY_NONE) {
            out->seen[out->seen_count++] = *seen;
        }
    }
}

void score_swings(const struct swing *const *swings, int count, const struct standard *standard,
                  const struct score_player *player, const struct drill *drills, int drill_count, struct report *out)
{
    struct gathered sum = {.count = 0};
    *out = (struct report){.swing_count = count};
    for (int i = 0; i < count; i++) {
        struct score_kept kept;
        kept.camera.count = kept.marks.count = 0;
        measure_one(swings[i], &kept);
        keep_said(swings[i], &kept);
        gather(&sum, &kept, standard, out);
    }
    conclude(&sum, standard, player, drills, drill_count, out);
}

void score_keep(const struct report *report, const struct swing *swing, struct score_kept *out)
{
    keep_said(swing, out);
    out->measures = report->measures;
    out->camera = report->camera;
    out->marks = report->marks;
}

void score_again(const struct score_kept *const *kept, int count, const struct standard *standard,
                 const struct score_player *player, const struct drill *drills, int drill_count, struct report *out)
{
    struct gathered sum = {.count = 0};
    *out = (struct report){.swing_count = count};
    for (int i = 0; i < count; i++) {
        gather(&sum, kept[i], standard, out);
    }
    conclude(&sum, standard, player, drills, drill_count, out);
}

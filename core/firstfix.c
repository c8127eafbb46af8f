/* Chooses what to work on first: the fault whose cure would take most of the rest with it. */
#include "core/firstfix.h"

#include <stddef.h>

/* The faults in causal order: causes before what they cause. Returns how many could be ordered (all, when acyclic). */
static int causal_order(const struct standard *standard, int order[FAULT_COUNT])
{
    int waiting[FAULT_COUNT] = {0};
    for (int i = 0; i < standard->cause_count; i++) {
        waiting[standard->causes[i].to]++;
    }
    int count = 0;
    for (int f = 0; f < FAULT_COUNT; f++) {
        if (waiting[f] == 0) {
            order[count++] = f;
        }
    }
    for (int next = 0; next < count; next++) {
        for (int i = 0; i < standard->cause_count; i++) {
            if ((int)standard->causes[i].from == order[next] && --waiting[standard->causes[i].to] == 0) {
                order[count++] = (int)standard->causes[i].to;
            }
        }
    }
    return count;
}

static void shares_in_order(const struct standard *standard, const struct fault_result faults[FAULT_COUNT],
                            const int *order, int count, int from, double share[FAULT_COUNT])
{
    double unexplained[FAULT_COUNT];
    for (int f = 0; f < FAULT_COUNT; f++) {
        unexplained[f] = 1;
    }
    unexplained[from] = 0;
    for (int step = 0; step < count; step++) {
        int k = order[step];
        double r = 1 - unexplained[k];
        bool passes = k == from || faults[k].verdict == VERDICT_PRESENT || faults[k].verdict == VERDICT_NOT_OBSERVED;
        for (int i = 0; passes && r > 0 && i < standard->cause_count; i++) {
            if ((int)standard->causes[i].from == k) {
                unexplained[standard->causes[i].to] *= 1 - r * standard->causes[i].share;
            }
        }
    }
    for (int f = 0; f < FAULT_COUNT; f++) {
        share[f] = 1 - unexplained[f];
    }
}

/* How the ball weighs: what fits it counts up to half more, what it speaks against as much less. */
static double ball_weighs(const struct flight_weight *ball)
{
    return (1 + ball->fits / 2) * ((1 + (ball->ratio < 1 ? ball->ratio : 1)) / 2);
}

/* Something else than its own signs speaks for a contested fault: the ball, or, where that says nothing, a fault that
 * is not contested and that it usually explains. */
static bool backed(const struct standard *standard, const struct fault_result faults[FAULT_COUNT], int fault,
                   const double share[FAULT_COUNT])
{
    bool explains = false;
    for (int j = 0; j < FAULT_COUNT; j++) {
        explains = explains || (j != fault && faults[j].verdict == VERDICT_PRESENT &&
                                standard->faults[j].evidence != EVIDENCE_CONTESTED && share[j] >= FIRSTFIX_BACKS);
    }
    return faults[fault].ball.ratio > 1 || (explains && faults[fault].ball.ratio == 1);
}

void firstfix_choose(const struct standard *standard, const struct fault_result faults[FAULT_COUNT],
                     struct first_fixes *out)
{
    int order[FAULT_COUNT];
    int ordered = causal_order(standard, order);
    double share[FAULT_COUNT][FAULT_COUNT] = {{0}};
    bool first[FAULT_COUNT] = {false};
    double own[FAULT_COUNT];
    double left[FAULT_COUNT];
    *out = (struct first_fixes){.count = 0};
    for (int f = 0; f < FAULT_COUNT; f++) {
        own[f] = faults[f].p * faults[f].expected * standard->faults[f].importance;
        left[f] = own[f];
        out->leave_alone[f] = faults[f].verdict == VERDICT_PRESENT;
        if (faults[f].verdict == VERDICT_PRESENT) {
            shares_in_order(standard, faults, order, ordered, f, share[f]);
            first[f] = standard->faults[f].evidence != EVIDENCE_CONTESTED || backed(standard, faults, f, share[f]);
        }
    }
    while (out->count < FIRSTFIX_MAX) {
        int best = -1;
        double best_priority = 0;
        for (int f = 0; f < FAULT_COUNT; f++) {
            double priority = 0;
            for (int j = 0; out->leave_alone[f] && (first[f] || out->count > 0) && j < FAULT_COUNT; j++) {
                priority += share[f][j] * left[j];
            }
            priority *= standard->ease[standard->faults[f].stage] * ball_weighs(&faults[f].ball);
            if (priority > best_priority) {
                best = f;
                best_priority = priority;
            }
        }
        if (best < 0 || (out->count > 0 && best_priority < FIRSTFIX_SECOND * out->items[0].priority)) {
            return;
        }
        struct first_fix *fix = &out->items[out->count++];
        *fix = (struct first_fix){.fault = (enum fault_id)best,
                                  .priority = best_priority,
                                  .own = own[best],
                                  .flight_match = faults[best].ball.fits};
        out->leave_alone[best] = false;
        for (int j = 0; j < FAULT_COUNT; j++) {
            left[j] *= 1 - share[best][j];
            fix->explains[j] = j != best && faults[j].verdict == VERDICT_PRESENT ? share[best][j] : 0;
        }
    }
}

/* Driver: first line the number of faults. Each case: per fault "verdict p expected importance stage match contested"
 * (a match below 0 is one that the ball speaks against), then the eases of the stages, then the causes "n, from to
 * share ...". Answers "count, then fault priority shares...". */
#include <stdio.h>

#include "core/firstfix.h"

static bool read_case(struct standard *standard, struct fault_result faults[FAULT_COUNT])
{
    *standard = (struct standard){.version = "random"};
    for (int f = 0; f < FAULT_COUNT; f++) {
        struct fault_rule *rule = &standard->faults[f];
        int verdict;
        int stage;
        double match;
        int contested;
        faults[f] = (struct fault_result){.verdict = VERDICT_NOT_OBSERVED};
        if (scanf("%d %lf %lf %lf %d %lf %d", &verdict, &faults[f].p, &faults[f].expected, &rule->importance, &stage,
                  &match, &contested) != 7) {
            return false;
        }
        rule->defined = true;
        rule->stage = (enum fault_stage)stage;
        rule->evidence = contested ? EVIDENCE_CONTESTED : EVIDENCE_PUBLISHED;
        faults[f].verdict = (enum verdict)verdict;
        standard->typical[0] = (struct typical){.fault = (enum fault_id)f,
                                                .curve = match < 0 ? FLIGHT_LEFT : FLIGHT_RIGHT,
                                                .match = match < 0 ? -match : match};
        standard->typical_count = match != 0;
        faults[f].ball = flight_weigh(standard, (enum fault_id)f, &(struct flight_class){.curve = FLIGHT_RIGHT});
    }
    for (int s = 0; s < STAGE_COUNT; s++) {
        if (scanf("%lf", &standard->ease[s]) != 1) {
            return false;
        }
    }
    if (scanf("%d", &standard->cause_count) != 1 || standard->cause_count < 0 || standard->cause_count > CAUSES_MAX) {
        return false;
    }
    for (int i = 0; i < standard->cause_count; i++) {
        int from;
        int to;
        if (scanf("%d %d %lf", &from, &to, &standard->causes[i].share) != 3) {
            return false;
        }
        standard->causes[i].from = (enum fault_id)from;
        standard->causes[i].to = (enum fault_id)to;
    }
    return true;
}

int main(void)
{
    static struct standard standard;
    struct fault_result faults[FAULT_COUNT];
    printf("%d %d\n", FAULT_COUNT, STAGE_COUNT);
    while (read_case(&standard, faults)) {
        struct first_fixes fixes;
        firstfix_choose(&standard, faults, &fixes);
        printf("%d", fixes.count);
        for (int i = 0; i < fixes.count; i++) {
            printf(" %d %.15g", (int)fixes.items[i].fault, fixes.items[i].priority);
            for (int f = 0; f < FAULT_COUNT; f++) {
                printf(" %.15g", fixes.items[i].explains[f]);
            }
        }
        for (int f = 0; f < FAULT_COUNT; f++) {
            printf(" %d", fixes.leave_alone[f] ? 1 : 0);
        }
        printf("\n");
    }
    return 0;
}

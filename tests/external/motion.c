/* Driver of the external check of motion analysis. Input, numbers separated by space: rate, samples, points; then for
 * each point its name and x y z of every sample (world axes of core/swing.h). Prints what was found, a line each. */
#include <stdio.h>
#include <stdlib.h>

#include "core/motion/motion.h"

static struct motion_record record;
static struct motion_summary summary;

static bool point_scan(void)
{
    char name[32];
    enum point point;
    struct vec3 *at = calloc((size_t)record.count, sizeof *at);

    if (at == NULL || scanf("%31s", name) != 1 || !point_parse(name, &point)) {
        free(at);
        return false;
    }
    for (int i = 0; i < record.count; i++) {
        if (scanf("%lf %lf %lf", &at[i].x, &at[i].y, &at[i].z) != 3) {
            free(at);
            return false;
        }
    }
    record.at[point] = at;
    return true;
}

static void tell(void)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (summary.events[c].found) {
            printf("event %s %.9f %.9f\n", checkpoint_name((enum checkpoint)c), summary.events[c].time_s,
                   summary.events[c].sd_s);
        }
    }
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        const struct motion_peak *peak = &summary.peaks[s];
        const char *name = motion_segment_name((enum motion_segment)s);
        if (peak->found) {
            printf("peak %s %.9f %.9f %.6f\n", name, peak->time_s, peak->sd_s, peak->speed_deg_s);
        }
        if (summary.curve_known[s]) {
            printf("curve %s %.9f %.9f", name, summary.curve_start_s, summary.curve_step_s);
            for (int k = 0; k < summary.curve_count; k++) {
                printf(" %.6f", summary.curves[s][k]);
            }
            printf("\n");
        }
    }
    printf("plane %.6f %.6f %.9f\n", summary.plane_slope_deg, summary.plane_direction_deg, summary.plane_rms_m);
    printf("noise %.9f\n", summary.noise_m);
    for (int i = 0; i < summary.finding_count; i++) {
        printf("finding %s %d %.9f\n", motion_issue_name(summary.findings[i].issue), summary.findings[i].fault,
               summary.findings[i].value);
    }
    printf("end\n");
}

int main(void)
{
    int points;

    while (scanf("%lf %d %d", &record.rate_hz, &record.count, &points) == 3) {
        for (int p = 0; p < POINT_COUNT; p++) {
            record.at[p] = NULL;
        }
        if (record.count < 1 || record.count > MOTION_SAMPLES_MAX) {
            return 1;
        }
        for (int p = 0; p < points; p++) {
            if (!point_scan()) {
                return 1;
            }
        }
        void *work = malloc(motion_work_bytes(&record));
        if (work == NULL) {
            return 1;
        }
        (void)motion_analyse(&record, work, &summary);
        tell();
        free(work);
        for (int p = 0; p < POINT_COUNT; p++) {
            free((void *)record.at[p]);
        }
    }
    return 0;
}

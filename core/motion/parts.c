/* What every step of the motion analysis uses: noting a finding, and a top or bottom between samples. */
#include "core/motion/parts.h"

#include <math.h>

void motion_note(struct motion_work *work, enum motion_issue issue, bool fault, enum point point, double value)
{
    struct motion_summary *out = work->out;

    if (out->finding_count < MOTION_FINDINGS_MAX) {
        out->findings[out->finding_count++] = (struct motion_finding){issue, fault, point, value};
    }
}

double motion_extreme(const double *x, int at, int n)
{
    double offset;
    double value;

    if (at < 1 || at + 1 >= n || !series_parabola(x[at - 1], x[at], x[at + 1], &offset, &value) || fabs(offset) > 1.0) {
        return at;
    }
    return at + offset;
}

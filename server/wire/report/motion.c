/* The report's "motion" block as JSON. */
#include "wire/report/motion.h"

#include "core/motion/motion.h"
#include "wire/markers/map.h"
#include "wire/report/codes.h"

struct block {
    struct json_out *out;
    const struct motion_summary *motion;
};

static void checkpoints_write(struct block *block)
{
    struct json_out *out = block->out;
    json_out_array(out, "checkpoints");
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        const struct motion_time *time = &block->motion->events[c];
        if (!time->found) {
            continue;
        }
        json_out_object(out, NULL);
        json_out_text(out, "checkpoint", checkpoint_name((enum checkpoint)c));
        json_out_number(out, "time_s", time->time_s, 4);
        json_out_number(out, "sd", time->sd_s, 4);
        json_out_end_object(out);
    }
    json_out_end_array(out);
    if (block->motion->hands_low.found) {
        json_out_number(out, "hands_low_s", block->motion->hands_low.time_s, 4);
    } else {
        json_out_null(out, "hands_low_s");
    }
}

static void peaks_write(struct block *block)
{
    struct json_out *out = block->out;
    json_out_array(out, "peaks");
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        const struct motion_peak *peak = &block->motion->peaks[s];
        if (!peak->found) {
            continue;
        }
        json_out_object(out, NULL);
        json_out_text(out, "segment", motion_segment_name((enum motion_segment)s));
        json_out_number(out, "time_s", peak->time_s, 4);
        json_out_number(out, "sd", peak->sd_s, 4);
        json_out_number(out, "speed_deg_s", peak->speed_deg_s, 1);
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

/* Of neighbours in the usual order which came first; segments whose speed has no clear peak or was not measured. */
static void order_write(struct block *block)
{
    struct json_out *out = block->out;
    const struct motion_summary *motion = block->motion;
    int before = -1;
    json_out_array(out, "order");
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        json_out_object(out, NULL);
        json_out_text(out, "segment", motion_segment_name((enum motion_segment)s));
        if (!motion->peaks[s].found) {
            json_out_text(out, "code",
                          motion->peaks[s].late    ? "not_yet"
                          : motion->curve_known[s] ? "no_peak"
                                                   : "not_measured");
        } else {
            const int sign = before < 0 ? 1 : codes_lag(&motion->peaks[before], &motion->peaks[s]);
            json_out_text(out, "code", before < 0 ? "first" : sign > 0 ? "after" : sign < 0 ? "before" : "too_close");
            json_out_text(out, "of", before < 0 ? NULL : motion_segment_name((enum motion_segment)before));
            before = s;
        }
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static void plane_write(struct block *block)
{
    struct json_out *out = block->out;
    if (!block->motion->has_club || !(block->motion->plane_slope_deg > 0)) {
        json_out_null(out, "plane");
        return;
    }
    json_out_object(out, "plane");
    json_out_number(out, "slope_deg", block->motion->plane_slope_deg, 1);
    json_out_number(out, "direction_deg", block->motion->plane_direction_deg, 1);
    json_out_number(out, "rms_m", block->motion->plane_rms_m, 4);
    json_out_end_object(out);
}

static void findings_write(struct block *block)
{
    struct json_out *out = block->out;
    json_out_array(out, "findings");
    for (int i = 0; i < block->motion->finding_count; i++) {
        const struct motion_finding *finding = &block->motion->findings[i];
        json_out_object(out, NULL);
        json_out_text(out, "issue", motion_issue_name(finding->issue));
        json_out_bool(out, "fault", finding->fault);
        json_out_text(out, "point", finding->issue == MOTION_GAP ? point_name(finding->point) : NULL);
        json_out_number(out, "value", finding->value, 3);
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static void markers_write(struct json_out *out, const struct marker_match *match)
{
    if (match == NULL) {
        return;
    }
    json_out_object(out, "markers");
    json_out_array(out, "missing");
    for (int p = 0; p < POINT_COUNT; p++) {
        if (!match->found[p]) {
            json_out_text(out, NULL, point_name((enum point)p));
        }
    }
    json_out_end_array(out);
    json_out_array(out, "unmapped");
    for (int i = 0; i < match->unmapped_count; i++) {
        json_out_text(out, NULL, match->unmapped[i]);
    }
    json_out_end_array(out);
    json_out_end_object(out);
}

static void swing_write(struct block *block, int swing, const struct marker_match *match)
{
    struct json_out *out = block->out;
    const struct motion_summary *motion = block->motion;
    json_out_object(out, NULL);
    json_out_number(out, "swing", swing, 0);
    json_out_number(out, "rate_hz", motion->rate_hz, 3);
    json_out_number(out, "duration_s", motion->duration_s, 3);
    json_out_bool(out, "has_club", motion->has_club);
    json_out_number(out, "swings_in_file", motion->swing_count, 0);
    json_out_text(out, "taken", motion->by_impact ? "by_impact" : "fastest");
    json_out_number(out, "noise_m", motion->noise_m, 5);
    json_out_number(out, "hands_speed_ms", motion->hands_speed_ms, 2);
    checkpoints_write(block);
    peaks_write(block);
    order_write(block);
    plane_write(block);
    findings_write(block);
    markers_write(out, match);
    json_out_end_object(out);
}

void report_motion_write(struct json_out *out, const struct report *report, const struct report_context *context)
{
    json_out_array(out, "motion");
    for (int i = 0; i < report->swing_count; i++) {
        if (report->motions[i] != NULL) {
            struct block block = {out, report->motions[i]};
            swing_write(&block, i, context->markers == NULL ? NULL : context->markers[i]);
        }
    }
    json_out_end_array(out);
}

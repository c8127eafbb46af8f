/* What the report that a fix rests on says. */
#include "api/practice/fix_report.h"

#include <string.h>

#include "api/frame/answer.h"
#include "store/lessons/lesson.h"
#include "store/lessons/swing.h"
#include "wire/json/load.h"

/* The report the coach looked at, which must be this student's and of what counts. STORE_NOT_FOUND when it is not. */
static enum store_status report_find(struct call *call, const struct store_fix *fix, struct store_report *report)
{
    struct store_swing swing;
    struct store_lesson lesson;
    enum store_status status;
    if (fix->baseline_swing[0] != '\0') {
        status = store_swing_get(call->db, fix->baseline_swing, false, call->arena, &swing);
        if (status == STORE_OK && (strcmp(swing.student_id, call->student_id) != 0 || swing.voided.at != 0)) {
            return STORE_NOT_FOUND;
        }
        return status == STORE_OK ? store_report_of_swing(call->db, fix->baseline_swing, call->arena, report) : status;
    }
    status = store_lesson_get(call->db, fix->baseline_lesson, call->arena, &lesson);
    if (status == STORE_OK && strcmp(lesson.student_id, call->student_id) != 0) {
        return STORE_NOT_FOUND;
    }
    return status == STORE_OK ? store_report_of_lesson(call->db, fix->baseline_lesson, call->arena, report) : status;
}

/* The fault of the report's first fix ("" when it suggests none) and what the ball did. False: no memory. */
static bool report_take(const struct store_report *report, struct arena *arena, struct fix_asked *asked)
{
    json_t *root = json_load(report->json, report->json_size, 0, NULL);
    const json_t *first = json_array_get(json_object_get(root, "first_fixes"), 0);
    const json_t *flight = json_object_get(root, "flight");
    const char *fault = json_string_value(json_object_get(first, "fault"));
    const char *start = json_string_value(json_object_get(flight, "start"));
    const char *curve = json_string_value(json_object_get(flight, "curve"));
    const char *strike = json_string_value(json_object_get(flight, "strike"));
    asked->first = fault == NULL ? "" : arena_strdup(arena, fault);
    (void)(start != NULL && flight_side_parse(start, &asked->flight.start));
    (void)(curve != NULL && flight_side_parse(curve, &asked->flight.curve));
    (void)(strike != NULL && strike_parse(strike, &asked->flight.strike));
    json_decref(root);
    return asked->first != NULL;
}

bool fix_report_ask(struct call *call, const struct store_fix *fix, bool must, struct fix_asked *asked)
{
    struct store_report report;
    asked->first = "";
    asked->flight = (struct flight_class){.start = FLIGHT_UNKNOWN, .curve = FLIGHT_UNKNOWN, .strike = STRIKE_UNKNOWN};
    if (fix->baseline_swing[0] == '\0' && fix->baseline_lesson[0] == '\0') {
        return true;
    }
    enum store_status status = report_find(call, fix, &report);
    if (status == STORE_NOT_FOUND && !must) {
        return true;
    }
    if (status == STORE_NOT_FOUND) {
        exchange_problem(call->exchange, 422, "unknown-baseline",
                         fix->baseline_swing[0] != '\0' ? "from_swing" : "from_lesson",
                         "This student has no such swing or lesson that counts.");
        return false;
    }
    if (status == STORE_OK && !report_take(&report, call->arena, asked)) {
        status = STORE_NO_MEMORY;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
    return status == STORE_OK;
}

/* See incoming.h. */
#include "api/lessons/incoming.h"

#include <string.h>

#include "api/frame/answer.h"
#include "api/lessons/swing_load.h"
#include "wire/report/words_motion.h"

bool incoming_read(struct call *call, enum swing_media media, const char *bytes, size_t length,
                   const struct swing_reading *reading, struct swing_document *out)
{
    struct wire_error error;
    if (!swing_file_read(media, bytes, length, reading, call->arena, out, &error)) {
        exchange_problem(call->exchange, 422, "invalid-document", error.path, "%s", error.what);
        return false;
    }
    if (out->recorded_at_ms > call->now + DAY_MS) { /* a tablet's clock, or a slip: it would be the newest for ever */
        exchange_problem(call->exchange, 422, "future-swing", "recorded_at",
                         "This swing says that it was recorded more than a day from now.");
        return false;
    }
    const struct motion_finding *finding = swing_unusable(&out->swing);
    if (finding != NULL) {
        const char *what =
            words_motion_finding(&(struct speaker){call->arena, NULL}, out->swing.motion, finding, out->swing.hand);
        exchange_problem(call->exchange, 422, "unusable-motion", media == SWING_JSON ? "motion" : "", "%s",
                         what == NULL ? motion_issue_name(finding->issue) : what);
        return false;
    }
    return true;
}

bool incoming_score(struct call *call, const struct scored_student *scored, struct swing_document *document,
                    const char *swing_id, struct store_report *out)
{
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        call_problem_store(call, STORE_ERROR);
        return false;
    }
    const bool made = scoring_report(scored, rules, &document, 1, call->arena, out);
    rules_return(call->api, rules);
    if (!made) {
        answer_no_memory(call);
        return false;
    }
    uuid7_new(out->id);
    memcpy(out->swing_id, swing_id, sizeof out->swing_id);
    out->created = call->now;
    store_report_pack(call->db, out, call->arena);
    return true;
}

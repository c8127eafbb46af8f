/* A swing as every answer shows it, but for its document. */
#ifndef LEADSIDE_API_LESSONS_SWING_JSON_H
#define LEADSIDE_API_LESSONS_SWING_JSON_H

#include "api/frame/answer.h"
#include "store/lessons/swing.h"

/* Its members, into the object that is open. Why it was corrected, set aside or moved is said between coaches: the
 * family sees that it was. */
void swing_json_write(struct json_out *out, const struct store_swing *swing, enum store_role reader);

#endif

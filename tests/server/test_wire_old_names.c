/* Names of faults and measures in documents of earlier releases. */
#include <criterion/criterion.h>

#include "wire/rules/old_names.h"

Test(old_names, documents_are_read_with_either_spelling)
{
    enum fault_id fault;
    enum measure_item item;
    cr_assert(fault_read("sway", &fault) && fault == FAULT_HIPS_SLIDE_AWAY);
    cr_assert(fault_read("hips_slide_away", &fault) && fault == FAULT_HIPS_SLIDE_AWAY);
    cr_assert(fault_read("flat_shoulder_turn", &fault) && fault == FAULT_LEVEL_SHOULDERS);
    cr_assert_not(fault_read("shaft_plan", &fault), "a measure is no fault");
    cr_assert(measure_read("shaft_plan", CHECKPOINT_SHAFT_BACK, &item) && item == MEASURE_SHAFT_DIRECTION_SHAFT_BACK);
    cr_assert(measure_read("pelvis_thrust", CHECKPOINT_IMPACT, &item) && item == MEASURE_HIPS_TO_BALL_IMPACT);
    cr_assert(measure_read("hips_to_ball", CHECKPOINT_IMPACT, &item) && item == MEASURE_HIPS_TO_BALL_IMPACT);
    cr_assert_not(measure_read("shaft_plan", CHECKPOINT_TOP, &item));
    cr_assert_not(measure_read("sway", CHECKPOINT_TOP, &item));
}

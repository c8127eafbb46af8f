/* Plain English names: one phrase for every measure, fault, stage and checkpoint. */
#include "wire/report/words.h"

const char *words_measure(enum measure_item item)
{
    static const char *const names[MEASURE_COUNT] = {
        [MEASURE_SPINE_TILT_ADDRESS] = "forward bend at address",
        [MEASURE_KNEE_FLEX_ADDRESS] = "knee bend at address",
        [MEASURE_HANDS_GAP_ADDRESS] = "gap from the grip to the thighs at address",
        [MEASURE_LEAD_SHARE_ADDRESS] = "weight on the lead foot at address",
        [MEASURE_SHAFT_DIRECTION_SHAFT_BACK] = "shaft direction when level going back",
        [MEASURE_LEAD_SHARE_ARM_BACK] = "weight on the lead foot, lead arm level going back",
        [MEASURE_PELVIS_SHIFT_ARM_BACK] = "hip slide, lead arm level going back",
        [MEASURE_SHAFT_CROSS_TOP] = "shaft across the line (+) or laid off (-) at the top",
        [MEASURE_SHAFT_ELEVATION_TOP] = "shaft above level at the top",
        [MEASURE_SHOULDER_PLANE_TOP] = "shoulder tilt at the top",
        [MEASURE_TRUNK_LEAN_TOP] = "lean away from the target at the top",
        [MEASURE_HEAD_SHIFT_TOP] = "head movement to the top",
        [MEASURE_LEAD_SHARE_TOP] = "weight on the lead foot at the top",
        [MEASURE_CHEST_TURN_TOP] = "chest turn at the top",
        [MEASURE_PELVIS_TURN_TOP] = "hip turn at the top",
        [MEASURE_SEPARATION_TOP] = "chest turn beyond the hips at the top",
        [MEASURE_SHAFT_STEEPNESS_ARM_DOWN] = "shaft steepness, lead arm level coming down",
        [MEASURE_SHAFT_DIRECTION_SHAFT_DOWN] = "shaft direction when level coming down",
        [MEASURE_LEAD_SHARE_IMPACT] = "weight on the lead foot at impact",
        [MEASURE_LEAD_ELBOW_BEND_IMPACT] = "lead elbow bend at impact",
        [MEASURE_HIPS_TO_BALL_IMPACT] = "hips toward the ball by impact",
        [MEASURE_SPINE_CHANGE_IMPACT] = "change of forward bend by impact",
        [MEASURE_PELVIS_SHIFT_IMPACT] = "hip slide by impact",
        [MEASURE_LEAD_ELBOW_BEND_SHAFT_THROUGH] = "lead elbow bend after impact",
        [MEASURE_LEAD_ELBOW_GAP_SHAFT_THROUGH] = "lead elbow away from the side after impact",
        [MEASURE_SHAFT_DIRECTION_SHAFT_THROUGH] = "shaft direction when level after impact",
        [MEASURE_LEAD_SHARE_ARM_THROUGH] = "weight on the lead foot, trail arm level going through",
        [MEASURE_HANDS_HEIGHT_ARM_THROUGH] = "height of the hands going through",
        [MEASURE_FOLD_MATCH_ARM_THROUGH] = "difference of elbow fold, back and through",
        [MEASURE_LEAD_SHARE_FINISH] = "weight on the lead foot at the finish",
        [MEASURE_ORDER_BACK] = "turn before lift going back",
        [MEASURE_ORDER_DOWN] = "drop before turn coming down",
        [MEASURE_ORDER_THROUGH] = "turn before lift going through",
        [MEASURE_ORDER_BACK_DTL] = "turn before lift going back, one view",
        [MEASURE_ORDER_DOWN_DTL] = "drop before turn coming down, one view",
        [MEASURE_TEMPO] = "backswing time to downswing time",
        [MEASURE_BODY_ORDER] = "body parts peaking out of order",
    };
    return names[item];
}

const char *words_fault(enum fault_id fault)
{
    static const char *const names[FAULT_COUNT] = {
        [FAULT_UPRIGHT_POSTURE] = "standing too upright at address",
        [FAULT_CROWDING] = "standing too near the ball",
        [FAULT_REACHING] = "reaching too far for the ball at address",
        [FAULT_INSIDE_TAKEAWAY] = "taking the club back too far inside",
        [FAULT_OUTSIDE_TAKEAWAY] = "taking the club back too far outside the line",
        [FAULT_REVERSE_PIVOT] = "too much weight on the lead foot in the backswing",
        [FAULT_HIPS_SLIDE_AWAY] = "hips sliding too far from the target in the backswing",
        [FAULT_LIFT_BEFORE_TURN] = "arms lifting too early, before the turn",
        [FAULT_LEVEL_SHOULDERS] = "turning the shoulders too level",
        [FAULT_ACROSS_THE_LINE] = "club pointing too far across the line at the top",
        [FAULT_LAID_OFF] = "club too far laid off at the top",
        [FAULT_OVERSWING] = "swinging back too far",
        [FAULT_TURN_BEFORE_DROP] = "turning too early from the top, before the arms drop",
        [FAULT_STEEP_DELIVERY] = "club coming down too steeply, from outside",
        [FAULT_STUCK_DELIVERY] = "club coming down from too far inside",
        [FAULT_STANDING_UP] = "standing up too early, before impact",
        [FAULT_HANGING_BACK] = "too much weight left on the trail foot",
        [FAULT_CHICKEN_WING] = "lead elbow pointing out too far after impact",
        [FAULT_FORCED_HIGH_FINISH] = "hands forced too high after impact",
        [FAULT_HURRIED_TEMPO] = "too hurried a downswing",
        [FAULT_BODY_OUT_OF_ORDER] = "starting down in the wrong order",
    };
    return names[fault];
}

const char *words_checkpoint(enum checkpoint checkpoint)
{
    static const char *const names[CHECKPOINT_COUNT + 1] = {"at address",
                                                            "with the shaft level going back",
                                                            "with the lead arm level going back",
                                                            "at the top",
                                                            "with the lead arm level coming down",
                                                            "with the shaft level coming down",
                                                            "at impact",
                                                            "with the shaft level after impact",
                                                            "with the trail arm level after impact",
                                                            "at the finish",
                                                            ""};
    return names[checkpoint];
}

/* The house standard as plain data: ranges, the player's own spread, faults with their signs, causes, ball flight.
 * Read from JSON by server/wire; the core validates and looks up. Strings are borrowed and must outlive the standard.
 */
#ifndef LEADSIDE_CORE_STANDARD_H
#define LEADSIDE_CORE_STANDARD_H

#include <stdbool.h>

#include "core/measure/measure.h"
#include "core/names.h"
#include "core/swing.h"

/* X(enumerator, name) in the order of docs/measures.md */
#define FAULT_CATALOGUE(X)                                                                                             \
    X(FAULT_UPRIGHT_POSTURE, "upright_posture")                                                                        \
    X(FAULT_CROWDING, "crowding")                                                                                      \
    X(FAULT_REACHING, "reaching")                                                                                      \
    X(FAULT_INSIDE_TAKEAWAY, "inside_takeaway")                                                                        \
    X(FAULT_OUTSIDE_TAKEAWAY, "outside_takeaway")                                                                      \
    X(FAULT_REVERSE_PIVOT, "reverse_pivot")                                                                            \
    X(FAULT_HIPS_SLIDE_AWAY, "hips_slide_away")                                                                        \
    X(FAULT_LIFT_BEFORE_TURN, "lift_before_turn")                                                                      \
    X(FAULT_LEVEL_SHOULDERS, "level_shoulders")                                                                        \
    X(FAULT_ACROSS_THE_LINE, "across_the_line")                                                                        \
    X(FAULT_LAID_OFF, "laid_off")                                                                                      \
    X(FAULT_OVERSWING, "overswing")                                                                                    \
    X(FAULT_TURN_BEFORE_DROP, "turn_before_drop")                                                                      \
    X(FAULT_STEEP_DELIVERY, "steep_delivery")                                                                          \
    X(FAULT_STUCK_DELIVERY, "stuck_delivery")                                                                          \
    X(FAULT_STANDING_UP, "standing_up")                                                                                \
    X(FAULT_HANGING_BACK, "hanging_back")                                                                              \
    X(FAULT_CHICKEN_WING, "chicken_wing")                                                                              \
    X(FAULT_FORCED_HIGH_FINISH, "forced_high_finish")                                                                  \
    X(FAULT_HURRIED_TEMPO, "hurried_tempo")                                                                            \
    X(FAULT_BODY_OUT_OF_ORDER, "body_out_of_order")

enum fault_id { FAULT_CATALOGUE(NAMES_ENUM) FAULT_COUNT };

#define STAGE_NAMES(X)                                                                                                 \
    X(STAGE_SET_UP, "set-up")                                                                                          \
    X(STAGE_TAKEAWAY, "takeaway")                                                                                      \
    X(STAGE_BACKSWING, "backswing")                                                                                    \
    X(STAGE_TOP, "top")                                                                                                \
    X(STAGE_DOWNSWING, "downswing")                                                                                    \
    X(STAGE_IMPACT, "impact")                                                                                          \
    X(STAGE_THROUGH, "through")                                                                                        \
    X(STAGE_FINISH, "finish")                                                                                          \
    X(STAGE_WHOLE, "whole")

enum fault_stage { STAGE_NAMES(NAMES_ENUM) STAGE_COUNT };

/* Who and what a range is for. 0 = any, so that a zeroed rule fits everybody. */
#define CLUB_CLASS_NAMES(X)                                                                                            \
    X(CLUB_CLASS_ANY, "any")                                                                                           \
    X(CLUB_CLASS_WOOD, "wood")                                                                                         \
    X(CLUB_CLASS_IRON, "iron")                                                                                         \
    X(CLUB_CLASS_WEDGE, "wedge")

enum club_class { CLUB_CLASS_NAMES(NAMES_ENUM) CLUB_CLASS_COUNT };

#define SEX_NAMES(X)                                                                                                   \
    X(SEX_ANY, "any")                                                                                                  \
    X(SEX_FEMALE, "female")                                                                                            \
    X(SEX_MALE, "male")

enum sex { SEX_NAMES(NAMES_ENUM) SEX_COUNT };

#define AGE_BAND_NAMES(X)                                                                                              \
    X(AGE_ANY, "any")                                                                                                  \
    X(AGE_JUNIOR, "junior")                                                                                            \
    X(AGE_ADULT, "adult")                                                                                              \
    X(AGE_SENIOR, "senior")

enum age_band { AGE_BAND_NAMES(NAMES_ENUM) AGE_BAND_COUNT }; /* < 18, 18...59, >= 60 (common practice) */
#define EVIDENCE_NAMES(X)                                                                                              \
    X(EVIDENCE_COMMON_PRACTICE, "common practice")                                                                     \
    X(EVIDENCE_PUBLISHED, "published")                                                                                 \
    X(EVIDENCE_CONTESTED, "contested")

enum evidence { EVIDENCE_NAMES(NAMES_ENUM) EVIDENCE_COUNT };
enum sign_side { SIDE_LOW, SIDE_HIGH };

/* Severity is 0 from ok_low to ok_high, 1 at strong_low and strong_high, linear between. A side without its strong
 * end is never wrong. */
struct measure_range {
    struct maybe ok_low, ok_high, strong_low, strong_high;
};

struct range_rule {
    enum measure_item item;
    enum club_class club;
    enum sex sex;
    enum age_band age;
    struct measure_range range;
    enum evidence evidence;
    const char *source;
};

struct fault_sign {
    enum measure_item item;
    enum sign_side side;
    double weight; /* > 0; shares of one fault need not sum to 1 */
    bool required;
};

#define SIGNS_MAX 6
#define RANGE_RULES_MAX 256
#define CAUSES_MAX 256
#define TYPICAL_MAX 64

struct fault_rule {
    bool defined;      /* a standard may leave a fault out */
    double importance; /* [0, 1] */
    enum fault_stage stage;
    int sign_count;
    struct fault_sign signs[SIGNS_MAX];
    enum evidence evidence;
    const char *source;
};

struct cause {
    enum fault_id from, to;
    double share; /* (0, 1): of the effect usually explained */
};

/* "Typical of": this flight fits this fault so well, 0...1. FLIGHT_UNKNOWN / STRIKE_UNKNOWN = does not matter. */
struct typical {
    enum fault_id fault;
    enum flight_side start, curve;
    enum strike strike;
    double match;
};

struct standard {
    const char *version; /* a name the club gives, e.g. "default-1" */
    int range_count;
    struct range_rule ranges[RANGE_RULES_MAX];
    double spread[MEASURE_COUNT]; /* a player's own swing-to-swing sd, >= 0, in the measure's unit */
    struct fault_rule faults[FAULT_COUNT];
    int cause_count;
    struct cause causes[CAUSES_MAX];
    int typical_count;
    struct typical typical[TYPICAL_MAX];
    double face_share[CLUB_CLASS_COUNT]; /* share of the start direction that is the face's, (0, 1] */
    double ease[STAGE_COUNT];            /* > 0 */
    double threshold;                    /* of the fault score, default 0.20 */
    double p_present, p_absent;          /* verdict limits, default .8 and .2 */
    int balance_age;                     /* from this age on a balance drill needs a coach's word, 18...120 */
};

#define STANDARD_BALANCE_AGE 65 /* where a standard does not say (common practice, from memory) */

/* Why a standard is refused. index says which entry of the list named by `where` ("ranges", "faults", ...). */
struct standard_error {
    const char *where; /* static */
    int index;
    const char *what; /* static, a sentence */
};

/* True when the standard is sane: numbers finite and in their ranges, ok inside strong, every qualified range has an
 * unqualified one to fall back on, each defined fault has a required sign whose side the item's range can show, causes
 * join defined faults, are not doubled and have no cycle. Otherwise false with *error filled in. */
bool standard_validate(const struct standard *standard, struct standard_error *error);

/* A player's class for choosing ranges, and the height that lengths go by. */
struct player {
    enum sex sex;
    enum age_band age;
    enum club_class club;
    struct maybe height_m; /* stated */
};

/* Lengths in metres are stated for an adult of this height, and go in proportion to it: common practice, no source.
 * Where a grown player's height is not stated it is this one, give or take a share of it (from memory: sd 9 cm over
 * women and men). Smaller than the least nobody is judged by a length that was made for adults: limbs are not in
 * proportion. */
#define STANDARD_HEIGHT_M 1.72
#define STANDARD_HEIGHT_SPREAD 0.055
#define STANDARD_HEIGHT_LEAST_M 1.2

/* Whom a range that was applied is for. */
#define RANGE_WHOM_NAMES(X)                                                                                            \
    X(WHOM_ADULTS, "adults") /* as the player is, or may be */                                                         \
    X(WHOM_GUIDE, "guide")   /* adults; the player is a junior or a senior, for whom it is a guide */                  \
    X(WHOM_HEIGHT, "height") /* a length for adults, brought to the player's height */                                 \
    X(WHOM_OWN, "own")       /* the player's own age band */

enum range_whom { RANGE_WHOM_NAMES(NAMES_ENUM) WHOM_COUNT };

/* A range as it was judged by. */
struct judged_range {
    bool given; /* false: the item is not scored */
    struct measure_range range;
    enum evidence evidence;
    enum range_whom whom;
    bool wants_height; /* a length, and the player's height is not stated: stating it would judge it, or more surely */
    bool adult_only;   /* not given, for it is a length for adults and the player a junior of no stated height, or too
                          small */
};

/* The most specific range for an item (club, then sex, then age weigh 4, 2, 1), a length brought to the player's
 * height. A junior's length needs a height, unless a range says that it is for juniors. */
struct judged_range standard_range(const struct standard *standard, enum measure_item item,
                                   const struct player *player);

/* The range of a mean over swings, so many of each kind of club (the player's own doesn't matter): the mean of their
 * ranges, end by end; an end is given where every club has it. Of one kind (or none: any), that club's as it is.
 * Contested where one of them is, else common practice where they differ in evidence. */
struct judged_range standard_mean_range(const struct standard *standard, enum measure_item item,
                                        const int swings[CLUB_CLASS_COUNT], const struct player *player);

/* What not knowing a grown player's height adds to the error of a length that is held against such a range: sd, 0 for
 * every other measure, and where a height is stated. */
double standard_height_sd(enum measure_item item, const struct player *player, double value);

/* Severity of a value on one side of a range, in [0, 1]. */
double range_severity(const struct measure_range *range, enum sign_side side, double value);

enum club_class club_class_of(enum club_kind kind); /* driver, wood, hybrid: wood; unknown: any */
enum age_band age_band_of(int age_years);           /* < 0: any */

const char *fault_name(enum fault_id value);
bool fault_parse(const char *name, enum fault_id *out);
const char *stage_name(enum fault_stage value); /* "set-up", "takeaway", ... */
bool stage_parse(const char *name, enum fault_stage *out);
const char *club_class_name(enum club_class value); /* "any", "wood", "iron", "wedge" */
bool club_class_parse(const char *name, enum club_class *out);
const char *sex_name(enum sex value); /* "any", "female", "male" */
bool sex_parse(const char *name, enum sex *out);
const char *age_band_name(enum age_band value); /* "any", "junior", "adult", "senior" */
bool age_band_parse(const char *name, enum age_band *out);
const char *range_whom_name(enum range_whom value); /* "adults", "guide", ... */
const char *evidence_name(enum evidence value);     /* "common practice", "published", "contested" */
bool evidence_parse(const char *name, enum evidence *out);

#endif

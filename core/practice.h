/* Drills and doses that fit a fault, the student's body, the place and the kit. */
#ifndef LEADSIDE_CORE_PRACTICE_H
#define LEADSIDE_CORE_PRACTICE_H

#include <stdbool.h>

#include "core/names.h"
#include "core/standard.h"

/* Bits. A drill's kit must all be at hand; its place list says where it can be done. */
#define KIT_NAMES(X)                                                                                                   \
    X(KIT_CLUB, "club")                                                                                                \
    X(KIT_MIRROR, "mirror")                                                                                            \
    X(KIT_GLOVE, "glove")                                                                                              \
    X(KIT_STICK, "stick")                                                                                              \
    X(KIT_CHAIR, "chair")                                                                                              \
    X(KIT_BALLS, "balls")                                                                                              \
    X(KIT_TOWEL, "towel")                                                                                              \
    X(KIT_SUPPORT, "support") /* something steady to hold */                                                           \
    X(KIT_SCALE, "scale")                                                                                              \
    X(KIT_PHONE, "phone")

enum { KIT_NAMES(NAMES_INDEX) KIT_BITS };
enum kit { KIT_NAMES(NAMES_BIT) };

#define PLACE_NAMES(X)                                                                                                 \
    X(PLACE_RANGE, "range")                                                                                            \
    X(PLACE_HOME, "home")                                                                                              \
    X(PLACE_GARDEN, "garden")                                                                                          \
    X(PLACE_COURSE, "course")

enum { PLACE_NAMES(NAMES_INDEX) PLACE_BITS };
enum drill_place { PLACE_NAMES(NAMES_BIT) };

#define AREA_NAMES(X)                                                                                                  \
    X(AREA_NECK, "neck")                                                                                               \
    X(AREA_SHOULDER, "shoulder")                                                                                       \
    X(AREA_ELBOW, "elbow")                                                                                             \
    X(AREA_WRIST, "wrist")                                                                                             \
    X(AREA_UPPER_BACK, "upper back")                                                                                   \
    X(AREA_LOW_BACK, "low back")                                                                                       \
    X(AREA_HIP, "hip")                                                                                                 \
    X(AREA_KNEE, "knee")                                                                                               \
    X(AREA_ANKLE, "ankle")

enum { AREA_NAMES(NAMES_INDEX) AREA_BITS };
enum area { AREA_NAMES(NAMES_BIT) };

/* How far a drill is from a shot on the course. */
enum drill_level { LEVEL_NO_CLUB = 1, LEVEL_SLOW, LEVEL_HALF_SPEED_BALL, LEVEL_COURSE };

#define DRILL_ASKS_MAX 4

/* What a measure reads of who does as the drill says. */
struct drill_ask {
    enum measure_item item;
    double value;
};

/* One drill. Strings are borrowed. */
struct drill {
    const char *id; /* "top-check-in-a-mirror" or a UUID of the club's own */
    const char *name;
    bool faults[FAULT_COUNT];
    const char *how_to, *feel, *cautions;
    unsigned kit, place, loads, contraindicated; /* bits above; contraindicated within areas */
    bool ball;                                   /* false: rehearsal only */
    bool balance;                                /* on one leg, or without the eyes: beside a support */
    bool adult_only;                             /* not for juniors */
    int minutes;                                 /* of one session, 1...60 */
    enum drill_level level;
    const char *entry; /* may begin here who can do this; these five texts may be NULL */
    struct {
        int n, of; /* passed with n of so many tries; of 0: nothing is counted */
        const char *what;
    } pass;
    const char *next;         /* the drill that comes after it has been passed */
    const char *easier;       /* sitting, or with a hand on something steady */
    const char *why, *source; /* why it should help; DRILL_PRACTICE, or what docs/sources.md has a row for */
    struct drill_ask asks[DRILL_ASKS_MAX];
    int ask_count;
};

#define DRILL_PRACTICE "practice"

struct practice_wish {
    enum fault_id fault;
    unsigned kit, place; /* 0 = any */
    unsigned pain;       /* areas that hurt */
    bool junior;
    bool unsteady; /* practice_unsteady: a fall is likelier or would cost more */
};

struct practice_pick {
    int index;               /* into the drills given */
    bool needs_confirmation; /* practice_needs_word: offered to the coach, never given without a stored reason */
};

struct dose {
    int sessions_per_week, minutes, retest_days, self_check_every;
    bool adult_present;
    int max_weekly_hours; /* junior: age in years (Jayanthi et al. 2015); 0 = no limit stated */
};

/* Picks up to max drills for the wish, best first: the lower level, fewer loads, those that need less kit, then the
 * order given. A drill ruled out for a sore area is left out. A drill that needs the coach's word is picked only when
 * no other fits, and is marked so; among those, what loads fewer sore areas comes first. Returns how many; 0: the coach
 * must decide.
 */
int practice_suggest(const struct drill *drills, int count, const struct practice_wish *wish, struct practice_pick *out,
                     int max);

/* True when the drill lists one of these areas as ruled out: never offered. A coach may name it with a reason. */
bool practice_contraindicated(const struct drill *drill, unsigned pain);

/* True when a coach must give a reason before this student may get the drill: it loads a sore area or is ruled out for
 * it, or it is a balance drill and the student is unsteady. */
bool practice_needs_word(const struct drill *drill, unsigned pain, bool unsteady);

/* From this age, or with one of these areas sore, a balance drill is not chosen without a coach's word. */
#define PRACTICE_BALANCE_AREAS ((unsigned)(AREA_HIP | AREA_KNEE | AREA_ANKLE))         /* common practice */
bool practice_unsteady(const struct standard *standard, int age_years, unsigned pain); /* age < 0: unknown */

/* Pain told with homework, 0...10. A drill pauses at 4 or more, and at a rise of 2 or more above what was told before
 * (a fall of about 2 points of 11 matters to patients: Farrar et al. 2001, Pain 94:149, turned round; the 4 is common
 * practice). From 7 on the head is told first as well (common practice). previous < 0: nothing was told before. */
#define PRACTICE_PAIN_MAX 10
#define PRACTICE_PAIN_PAUSES 4
#define PRACTICE_PAIN_RISE 2
#define PRACTICE_PAIN_HEAD 7
bool practice_pain_pauses(int level, int previous);

/* The level of a drill for which none was written down. */
enum drill_level practice_level(bool ball, unsigned kit);

/* Four short sessions a week, retest at 14 days, self-check every second repetition; below 9 years three of at most
 * 5 minutes, below 13 at most 8 minutes (common practice; of 14 days: taught golfers were behind at first and ahead
 * two weeks on, Guadagnoli et al. 2002). age < 0: unknown. */
struct dose practice_dose(const struct drill *drill, int age_years);

/* Passed with n of so many tries; of 0: nothing is counted. */
struct tries {
    int n, of;
};

/* The drill's own pass; below 9 years half the tries, of holes on the course a third, and the same share of them or a
 * little less (common practice). age < 0: unknown. */
struct tries practice_tries(const struct drill *drill, int age_years);

/* From this age on a grown-up's club is not too heavy any more (common practice). */
#define PRACTICE_GROWN_CLUB_AGE 13

const char *kit_name(enum kit bit); /* "club", ... one bit */
bool kit_parse(const char *name, unsigned *bit);
const char *place_name(enum drill_place bit);
bool place_parse(const char *name, unsigned *bit);
const char *area_name(enum area bit); /* "low back", ... */
bool area_parse(const char *name, unsigned *bit);

#endif

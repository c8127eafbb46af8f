/* Drills and doses that fit a fault, the student's body, the place and the kit. */
#ifndef LEADSIDE_CORE_PRACTICE_H
#define LEADSIDE_CORE_PRACTICE_H

#include <stdbool.h>

#include "standard.h"

/* Bits. A drill's kit must all be at hand; its place list says where it can be done. */
enum kit {
    KIT_CLUB = 1,
    KIT_MIRROR = 2,
    KIT_GLOVE = 4,
    KIT_STICK = 8,
    KIT_CHAIR = 16,
    KIT_BALLS = 32,
    KIT_TOWEL = 64,
    KIT_SUPPORT = 128, /* something steady to hold */
    KIT_SCALE = 256,
    KIT_PHONE = 512
};
enum place { PLACE_RANGE = 1, PLACE_HOME = 2, PLACE_GARDEN = 4, PLACE_COURSE = 8 };
enum area {
    AREA_NECK = 1,
    AREA_SHOULDER = 2,
    AREA_ELBOW = 4,
    AREA_WRIST = 8,
    AREA_UPPER_BACK = 16,
    AREA_LOW_BACK = 32,
    AREA_HIP = 64,
    AREA_KNEE = 128,
    AREA_ANKLE = 256
};

#define KIT_BITS 10
#define PLACE_BITS 4
#define AREA_BITS 9

/* One drill. Strings are borrowed. */
struct drill {
    const char *id; /* "top-check-in-a-mirror" or a UUID of the club's own */
    const char *name;
    bool faults[FAULT_COUNT];
    const char *how_to, *feel, *cautions;
    unsigned kit, place, loads, contraindicated; /* bits above; contraindicated within areas */
    bool ball;                                   /* false: rehearsal only */
    bool balance;                                /* beside a support */
    bool adult_only;                             /* not for juniors */
    int minutes;                                 /* of one session, 1...60 */
};

struct practice_wish {
    enum fault_id fault;
    unsigned kit, place; /* 0 = any */
    unsigned pain;       /* areas that hurt */
    bool junior;
};

struct practice_pick {
    int index;               /* into the drills given */
    bool needs_confirmation; /* contraindicated for a recorded pain area: never suggested, only offered to the coach */
};

struct dose {
    int sessions_per_week, minutes, retest_days, self_check_every;
    bool adult_present;
    int max_weekly_hours; /* junior: age in years (Jayanthi et al. 2015); 0 = no limit stated */
};

/* Picks up to max drills for the wish, best first: those that load no painful area, then fewer loads, then those that
 * need less kit, then the order given. A contraindicated drill is left out. Returns how many. */
int practice_suggest(const struct drill *drills, int count, const struct practice_wish *wish, struct practice_pick *out,
                     int max);

/* True when the drill must be confirmed by a coach, with a reason, before this student may get it. */
bool practice_contraindicated(const struct drill *drill, unsigned pain);

/* Four short sessions a week, retest at 14 days, self-check every second repetition (common practice). age < 0:
 * unknown. */
struct dose practice_dose(const struct drill *drill, int age_years);

const char *kit_name(enum kit bit); /* "club", ... one bit */
bool kit_parse(const char *name, unsigned *bit);
const char *place_name(enum place bit);
bool place_parse(const char *name, unsigned *bit);
const char *area_name(enum area bit); /* "low back", ... */
bool area_parse(const char *name, unsigned *bit);

#endif

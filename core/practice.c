/* Drills and doses that fit a fault, a body, a place and the kit at hand. */
#include "core/practice.h"

#include <stddef.h>

#define USUAL_MINUTES 12
#define ADULT_AGE 18

NAMES_BITS(kit, enum kit, KIT_NAMES);
NAMES_BITS_PARSE(kit, enum kit, KIT_NAMES);
NAMES_BITS(place, enum drill_place, PLACE_NAMES);
NAMES_BITS_PARSE(place, enum drill_place, PLACE_NAMES);
NAMES_BITS(area, enum area, AREA_NAMES);
NAMES_BITS_PARSE(area, enum area, AREA_NAMES);

static int bits_in(unsigned bits)
{
    int count = 0;
    for (; bits != 0; bits &= bits - 1) {
        count++;
    }
    return count;
}

bool practice_contraindicated(const struct drill *drill, unsigned pain)
{
    return (drill->contraindicated & pain) != 0;
}

bool practice_needs_word(const struct drill *drill, unsigned pain, bool unsteady)
{
    return ((drill->loads | drill->contraindicated) & pain) != 0 || (drill->balance && unsteady);
}

bool practice_unsteady(const struct standard *standard, int age_years, unsigned pain)
{
    return age_years >= standard->balance_age || (pain & PRACTICE_BALANCE_AREAS) != 0;
}

bool practice_pain_pauses(int level, int previous)
{
    return level >= PRACTICE_PAIN_PAUSES || (previous >= 0 && level - previous >= PRACTICE_PAIN_RISE);
}

static bool fits(const struct drill *drill, const struct practice_wish *wish)
{
    return drill->faults[wish->fault] && !practice_contraindicated(drill, wish->pain) &&
           (wish->kit == 0 || (drill->kit & ~wish->kit) == 0) &&
           (wish->place == 0 || (drill->place & wish->place) != 0) && !(wish->junior && drill->adult_only);
}

/* True when a is to be offered before b: the reasons of practice.h, in order. */
static bool better(const struct drill *a, const struct drill *b, unsigned pain)
{
    int painful = bits_in(a->loads & pain) - bits_in(b->loads & pain);
    if (painful != 0) {
        return painful < 0;
    }
    if (a->level != b->level) {
        return a->level < b->level;
    }
    int loads = bits_in(a->loads) - bits_in(b->loads);
    return loads != 0 ? loads < 0 : bits_in(a->kit) < bits_in(b->kit);
}

/* Those that need the coach's word, or those that don't. */
static int pick(const struct drill *drills, int count, const struct practice_wish *wish, bool word,
                struct practice_pick *out, int max)
{
    int picked = 0;
    for (int i = 0; i < count; i++) {
        if (!fits(&drills[i], wish) || practice_needs_word(&drills[i], wish->pain, wish->unsteady) != word) {
            continue;
        }
        int at = picked;
        while (at > 0 && better(&drills[i], &drills[out[at - 1].index], wish->pain)) {
            at--;
        }
        if (at >= max) {
            continue;
        }
        picked += picked < max ? 1 : 0;
        for (int k = picked - 1; k > at; k--) {
            out[k] = out[k - 1];
        }
        out[at] = (struct practice_pick){.index = i, .needs_confirmation = word};
    }
    return picked;
}

int practice_suggest(const struct drill *drills, int count, const struct practice_wish *wish, struct practice_pick *out,
                     int max)
{
    const int free_of_it = pick(drills, count, wish, false, out, max);
    return free_of_it > 0 ? free_of_it : pick(drills, count, wish, true, out, max);
}

enum drill_level practice_level(bool ball, unsigned kit)
{
    return ball ? LEVEL_HALF_SPEED_BALL : (kit & KIT_CLUB) != 0 ? LEVEL_SLOW : LEVEL_NO_CLUB;
}

/* The youngest do less at a time. */
#define SMALL_AGE 9
static const struct {
    int below, sessions, minutes;
} bands[] = {{SMALL_AGE, 3, 5}, {PRACTICE_GROWN_CLUB_AGE, 4, 8}};

#define FEW_TRIES 5 /* not made fewer */

struct dose practice_dose(const struct drill *drill, int age_years)
{
    bool junior = age_years >= 0 && age_years < ADULT_AGE;
    int sessions = 4;
    int minutes = drill != NULL && drill->minutes > 0 ? drill->minutes : USUAL_MINUTES;
    for (size_t i = 0; junior && i < sizeof bands / sizeof *bands; i++) {
        if (age_years < bands[i].below) {
            sessions = bands[i].sessions;
            minutes = minutes < bands[i].minutes ? minutes : bands[i].minutes;
            break;
        }
    }
    return (struct dose){.sessions_per_week = sessions,
                         .minutes = minutes,
                         .retest_days = 14,
                         .self_check_every = 2,
                         .adult_present = junior,
                         .max_weekly_hours = junior ? age_years : 0};
}

struct tries practice_tries(const struct drill *drill, int age_years)
{
    const int n = drill->pass.n;
    const int of = drill->pass.of;
    if (age_years < 0 || age_years >= SMALL_AGE || of <= FEW_TRIES) {
        return (struct tries){n, of};
    }
    const int fewer = drill->level == LEVEL_COURSE ? of / 3 : of / 2;
    const int passed = n * fewer / of;
    return (struct tries){passed > 0 ? passed : 1, fewer};
}

/* Driver of check_shots.py. Each line: club class, strike, path, face, attack, dynamic loft ("-" for what is not known)
 * -> start and curve class, start direction and spin-axis tilt ("-" when not given). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "core/flight.h"
#include "wire/rules/standard_read.h"

static struct maybe number(const char *word)
{
    return strcmp(word, "-") == 0 ? (struct maybe){false, 0} : (struct maybe){true, strtod(word, NULL)};
}

static const char *side_word(enum flight_side side)
{
    return side == FLIGHT_UNKNOWN ? "-" : flight_side_name(side);
}

static void say(struct maybe value)
{
    if (value.given) {
        printf(" %.12g", value.value);
    } else {
        printf(" -");
    }
}

int main(void)
{
    struct arena *arena = arena_new(0);
    const struct standard *standard = standard_default(arena);
    char words[6][32];

    while (standard != NULL &&
           scanf("%31s %31s %31s %31s %31s %31s", words[0], words[1], words[2], words[3], words[4], words[5]) == 6) {
        enum club_class club;
        struct swing_flight flight = {.path_deg = number(words[2]),
                                      .face_deg = number(words[3]),
                                      .attack_deg = number(words[4]),
                                      .dynamic_loft_deg = number(words[5])};
        if (!club_class_parse(words[0], &club) ||
            (strcmp(words[1], "-") != 0 && !strike_parse(words[1], &flight.strike))) {
            puts("bad line");
            continue;
        }
        struct flight_class seen = flight_classify(&flight, standard, club);
        printf("%s %s", side_word(seen.start), side_word(seen.curve));
        say(seen.start_deg);
        say(seen.axis_tilt_deg);
        printf("\n");
    }
    arena_free(arena);
    return standard == NULL;
}

/* Driver: "tilt path face attack loft" -> tilt in degrees; "start path face share" -> start in degrees; "shares" -> the
 * built-in standard's face shares for wood, iron and wedge; "tempo ratio" -> low and high severity of a tempo. */
#include <stdio.h>
#include <string.h>

#include "base/arena.h"
#include "core/flight.h"
#include "wire/rules/standard_read.h"

static void answer_standard(const char *verb)
{
    struct arena *arena = arena_new(0);
    const struct standard *standard = standard_default(arena);
    if (standard == NULL) {
        printf("no standard\n");
    } else if (strcmp(verb, "shares") == 0) {
        printf("%.12g %.12g %.12g\n", standard->face_share[CLUB_CLASS_WOOD], standard->face_share[CLUB_CLASS_IRON],
               standard->face_share[CLUB_CLASS_WEDGE]);
    } else {
        double ratio = 0;
        const struct player anybody = {.club = CLUB_CLASS_ANY};
        const struct judged_range rule = standard_range(standard, MEASURE_TEMPO, &anybody);
        if (scanf("%lf", &ratio) == 1 && rule.given) {
            printf("%.12g %.12g\n", range_severity(&rule.range, SIDE_LOW, ratio),
                   range_severity(&rule.range, SIDE_HIGH, ratio));
        }
    }
    arena_free(arena);
}

int main(void)
{
    char verb[16];
    while (scanf("%15s", verb) == 1) {
        double a;
        double b;
        double c;
        double d;
        if (strcmp(verb, "tilt") == 0 && scanf("%lf %lf %lf %lf", &a, &b, &c, &d) == 4) {
            printf("%.12g\n", flight_axis_tilt(a, b, c, d));
        } else if (strcmp(verb, "start") == 0 && scanf("%lf %lf %lf", &a, &b, &c) == 3) {
            printf("%.12g\n", flight_start_direction(a, b, c));
        } else {
            answer_standard(verb);
        }
    }
    return 0;
}

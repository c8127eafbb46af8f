/* Ball flight: the spin axis from path and face, the classes a coach speaks of, and which faults they fit. */
#include "core/flight.h"

#include <math.h>

#include "core/vec.h"

/* Where straight ends, and what loft a club is taken to arrive with when it was not measured (common practice). */
#define STRAIGHT_START_DEG 2.0
#define STRAIGHT_TILT_DEG 4.0
static const double usual_loft_deg[CLUB_CLASS_COUNT] = {
    [CLUB_CLASS_ANY] = 22, [CLUB_CLASS_WOOD] = 13, [CLUB_CLASS_IRON] = 22, [CLUB_CLASS_WEDGE] = 40};

/* Unit vector from its angle right of the target and its angle up. */
static struct vec3 direction(double right_deg, double up_deg)
{
    double right = right_deg * VEC_RAD;
    double up = up_deg * VEC_RAD;
    return vec_make(cos(up) * cos(right), sin(up), cos(up) * sin(right));
}

double flight_axis_tilt(double path_deg, double face_deg, double attack_deg, double dynamic_loft_deg)
{
    struct vec3 axis = vec_cross(direction(path_deg, attack_deg), direction(face_deg, dynamic_loft_deg));
    double level = hypot(axis.x, axis.z);
    return level == 0 && axis.y == 0 ? 0 : atan2(-axis.y, level) * VEC_DEG;
}

double flight_start_direction(double path_deg, double face_deg, double face_share)
{
    return path_deg + face_share * (face_deg - path_deg);
}

static enum flight_side side_of(double deg, double straight)
{
    if (fabs(deg) <= straight) {
        return FLIGHT_STRAIGHT;
    }
    return deg > 0 ? FLIGHT_RIGHT : FLIGHT_LEFT;
}

struct flight_class flight_classify(const struct swing_flight *flight, const struct standard *standard,
                                    enum club_class club)
{
    struct flight_class out = {.start = flight->start, .curve = flight->curve, .strike = flight->strike};
    bool off_centre = flight->strike == STRIKE_HEEL || flight->strike == STRIKE_TOE;
    if (off_centre) {
        out.curve = FLIGHT_UNKNOWN;
    }
    if (!flight->path_deg.given || !flight->face_deg.given) {
        return out;
    }
    double path = flight->path_deg.value;
    double face = flight->face_deg.value;
    out.start_deg = (struct maybe){true, flight_start_direction(path, face, standard->face_share[club])};
    if (out.start == FLIGHT_UNKNOWN) {
        out.start = side_of(out.start_deg.value, STRAIGHT_START_DEG);
    }
    if (off_centre || flight->strike == STRIKE_UNKNOWN) {
        return out;
    }
    double loft = flight->dynamic_loft_deg.given ? flight->dynamic_loft_deg.value : usual_loft_deg[club];
    double attack = flight->attack_deg.given ? flight->attack_deg.value : 0;
    out.axis_tilt_deg = (struct maybe){true, flight_axis_tilt(path, face, attack, loft)};
    if (out.curve == FLIGHT_UNKNOWN) {
        out.curve = side_of(out.axis_tilt_deg.value, STRAIGHT_TILT_DEG);
    }
    return out;
}

double flight_match(const struct standard *standard, enum fault_id fault, const struct flight_class *flight)
{
    double best = 0;
    for (int i = 0; i < standard->typical_count; i++) {
        const struct typical *typical = &standard->typical[i];
        bool fits = typical->fault == fault && (typical->start == FLIGHT_UNKNOWN || typical->start == flight->start) &&
                    (typical->curve == FLIGHT_UNKNOWN || typical->curve == flight->curve) &&
                    (typical->strike == STRIKE_UNKNOWN || typical->strike == flight->strike);
        if (fits && typical->match > best) {
            best = typical->match;
        }
    }
    return best;
}

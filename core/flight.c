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

static bool side_contradicts(enum flight_side typical, enum flight_side seen)
{
    return typical != FLIGHT_UNKNOWN && (seen == FLIGHT_LEFT || seen == FLIGHT_RIGHT) && seen != typical;
}

/* How low the club came, and where on the face it met the ball, are two things: only the other end of the same one
 * speaks against a strike. */
static bool strike_contradicts(enum strike typical, enum strike seen)
{
    const bool high = seen == STRIKE_THIN || seen == STRIKE_TOPPED;
    switch (typical) {
    case STRIKE_THIN:
    case STRIKE_TOPPED:
        return seen == STRIKE_FAT;
    case STRIKE_FAT:
        return high;
    case STRIKE_HEEL:
        return seen == STRIKE_TOE;
    case STRIKE_TOE:
        return seen == STRIKE_HEEL;
    case STRIKE_FLUSH:
        return seen != STRIKE_UNKNOWN && seen != STRIKE_FLUSH;
    default:
        return false;
    }
}

static bool row_fits(const struct typical *row, const struct flight_class *flight)
{
    return (row->start == FLIGHT_UNKNOWN || row->start == flight->start) &&
           (row->curve == FLIGHT_UNKNOWN || row->curve == flight->curve) &&
           (row->strike == STRIKE_UNKNOWN || row->strike == flight->strike);
}

static unsigned row_parts(const struct typical *row)
{
    return (row->start != FLIGHT_UNKNOWN ? FLIGHT_PART_START : 0U) |
           (row->curve != FLIGHT_UNKNOWN ? FLIGHT_PART_CURVE : 0U) |
           (row->strike != STRIKE_UNKNOWN ? FLIGHT_PART_STRIKE : 0U);
}

static unsigned row_against(const struct typical *row, const struct flight_class *flight)
{
    return (side_contradicts(row->start, flight->start) ? FLIGHT_PART_START : 0U) |
           (side_contradicts(row->curve, flight->curve) ? FLIGHT_PART_CURVE : 0U) |
           (strike_contradicts(row->strike, flight->strike) ? FLIGHT_PART_STRIKE : 0U);
}

/* What a fault's rows say together: the best match of where the ball flew and of the strike, and of each part the best
 * match that it speaks against. */
struct said {
    double flew, struck;
    double against[3];
    unsigned with;      /* parts of every row that fits */
    unsigned with_said; /* of those worth a sentence */
    int rows, contradicted;
};

static void row_say(const struct typical *row, const struct flight_class *flight, struct said *out)
{
    const unsigned parts = row_parts(row);
    const unsigned against = row_against(row, flight);
    out->rows++;
    out->contradicted += against != 0;
    if (row_fits(row, flight)) {
        double *best = parts & (FLIGHT_PART_START | FLIGHT_PART_CURVE) ? &out->flew : &out->struck;
        *best = fmax(*best, row->match);
        out->with |= parts;
        out->with_said |= row->match >= FLIGHT_SAID ? parts : 0U;
        return;
    }
    for (int k = 0; k < 3; k++) {
        if (against & 1U << k) {
            out->against[k] = fmax(out->against[k], row->match);
            return; /* a row speaks once */
        }
    }
}

struct flight_weight flight_weigh(const struct standard *standard, enum fault_id fault,
                                  const struct flight_class *flight)
{
    struct said said = {.rows = 0};
    for (int i = 0; i < standard->typical_count; i++) {
        if (standard->typical[i].fault == fault) {
            row_say(&standard->typical[i], flight, &said);
        }
    }
    struct flight_weight out = {.ratio = 1,
                                .fits = fmax(said.flew, said.struck),
                                .with = said.with_said,
                                .refused = said.rows > 0 && said.contradicted == said.rows};
    out.ratio /= fmax(1 - said.flew, 1 / FLIGHT_TRUST) * fmax(1 - said.struck, 1 / FLIGHT_TRUST);
    for (int k = 0; k < 3; k++) {
        if (said.against[k] > 0 && !(said.with & 1U << k)) { /* rows are alternatives: one that fits is enough */
            out.ratio *= 1 - said.against[k];
            out.against |= said.against[k] >= FLIGHT_SAID ? 1U << k : 0U;
        }
    }
    out.ratio = fmin(fmax(out.ratio, 1 / FLIGHT_TRUST), FLIGHT_TRUST);
    return out;
}

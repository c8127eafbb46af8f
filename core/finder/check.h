/* Marks that check each other: one swing's marks held against what is known besides, and what does not fit, named.
 *
 * Both pictures of a moment see the same points, the club and the bones keep their length, wrists lie on the grip, feet
 * stay, the body moves little from one moment to the next, the level shaft is level: these enter one least-squares
 * adjustment a moment, whose residuals are tested one by one, the largest first (Baarda 1968). Where the film shows a
 * marked point (frame.film) the two are held against each other: what is known besides says which of them is off, and
 * where it does not, the mark is. Exchanged sides and ends, a picture of another moment, the wrong view, the wrong hand
 * and the order of time are hypotheses of their own, tried before. Motion data are left out. Pure, reentrant, bounded,
 * allocates nothing (some 120 KB of stack). */
#ifndef LEADSIDE_CORE_FINDER_CHECK_H
#define LEADSIDE_CORE_FINDER_CHECK_H

#include "core/names.h"
#include "core/swing.h"

#define MARK_KIND_NAMES(X)                                                                                             \
    X(MARK_OFF, "off")                         /* one point; by: px */                                                 \
    X(MARK_SIDES_EXCHANGED, "sides_exchanged") /* lead and trail of one joint, or of all (no point); by: px apart */   \
    X(MARK_ENDS_EXCHANGED, "ends_exchanged")   /* grip or butt (the point) and clubhead or grip; by: px apart */       \
    X(MARK_WRONG_MOMENT, "wrong_moment")       /* a picture of another moment; by: how many moments too late */        \
    X(MARK_WRONG_VIEW, "wrong_view")           /* the whole view; by: the feet's spread, of the body's height */       \
    X(MARK_WRONG_HAND, "wrong_hand")           /* the whole view; by: share of the club's places on the other side */  \
    X(MARK_ORDER_OF_TIME, "order_of_time")     /* a moment's time; by: s too early */

enum mark_kind { MARK_KIND_NAMES(NAMES_ENUM) MARK_KIND_COUNT };

/* One finding. The sentence that a reader sees goes by the kind. */
struct mark_finding {
    int swing; /* index among the swings scored together */
    int view;  /* index in the document */
    enum view_kind view_kind;
    enum checkpoint checkpoint; /* CHECKPOINT_NONE = the whole view */
    enum point point;           /* POINT_COUNT = the whole picture */
    enum mark_kind kind;
    double by;
};

#define CHECK_FINDINGS_MAX 64

struct mark_findings {
    int count; /* findings past the maximum are dropped */
    struct mark_finding items[CHECK_FINDINGS_MAX];
};

/* Checks the marks of a swing's views: the first from behind together with the first from the front, any other alone.
 * Adds to out. */
void check_marks(const struct swing *swing, struct mark_findings *out);

#define CHECK_VIEWS (1U << MARK_WRONG_VIEW)
#define CHECK_HANDS (1U << MARK_WRONG_HAND)
#define CHECK_ALL ((1U << MARK_KIND_COUNT) - 1)

/* Takes the marks away that findings of these kinds (bits 1 << kind) call suspect: a point, a pair, a picture, a view.
 * A wrong time takes the time only. The findings are of this swing. Returns how many marks or times went. */
int check_drop_suspects(struct swing *swing, const struct mark_findings *findings, unsigned kinds);

const char *mark_kind_name(enum mark_kind value);

#endif

/* Two rows of counts side by side: could one pattern have given both?
 *
 * Shots of one day resemble each other, so a shot among many of its day says less than a shot alone. How much days
 * differ is estimated from the days within each row, and every count is worth so many times less (Rao & Scott 1992). */
#ifndef LEADSIDE_CORE_COUNTS_H
#define LEADSIDE_CORE_COUNTS_H

#include <stdbool.h>

#define COUNTS_CLASSES_MAX 4
#define COUNTS_ROW_MAX 400 /* shots of a row, at most, wherever a row is taken */

struct counts_row {
    int of[COUNTS_CLASSES_MAX]; /* a class that there is not: 0 */
};

int counts_total(const struct counts_row *row);

/* P that two rows of one pattern differ as much as these: the tables with these margins that are no likelier than this
 * one (Freeman & Halton 1951; of two classes, Fisher's exact test). 1 when a row is empty. */
double counts_exact_p(const struct counts_row *first, const struct counts_row *second);

/* What the days of one row tell of how much days differ; added up over rows and kinds of count. Start with {0}. */
struct counts_spread {
    double excess, weight; /* of the days' chi-square over what shots that know of no day would give */
    double freedom;        /* degrees of it */
};
void counts_spread_add(struct counts_spread *spread, const struct counts_row *days, int count);
/* How much two shots of one day have in common, 0...1 (0 = a day is no different from another). */
double counts_spread_share(const struct counts_spread *spread);
/* How many times less a shot of this row says than one of a day of its own; >= 1. */
double counts_day_effect(const struct counts_row *days, int count, double share);

/* The same P with each row's shots worth effect times less: an F test whose error is known to so many degrees of
 * freedom. 1 when a row is empty or freedom is 0. */
double counts_spread_p(const struct counts_row *first, const struct counts_row *second, const double effect[2],
                       double freedom);

/* The difference of two shares, n of so many each, with the limits that hold it 95 % of the time (Newcombe 1998,
 * method 10), each row's shots worth effect times less. No row is empty. */
struct counts_difference {
    double value, low, high;
};
struct counts_difference counts_difference(const int n[2], const int of[2], const double effect[2]);

#endif

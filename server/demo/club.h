/* Larkfield Heath, an invented club: a head professional, four coaches, sixty students, twelve weeks of lessons. Every
 * name is made up; the club's record says so. The same seed and day give the same club. */
#ifndef LEADSIDE_DEMO_CLUB_H
#define LEADSIDE_DEMO_CLUB_H

#include <stdint.h>

#include "store/engine/store.h"

#define DEMO_COACHES 4
#define DEMO_STUDENTS 60

struct demo_counts {
    int students, guardians, lessons, swings, fixes;
};

/* Fills an empty club. password_hash is everybody's. now = the last day of the twelve weeks. */
enum store_status demo_club_fill(struct store *store, uint64_t seed, int64_t now, const char *password_hash,
                                 struct demo_counts *counts) STORE_CHECKED;

#endif

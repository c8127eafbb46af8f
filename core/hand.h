/* The error of marks that state none: what is common, and wider where a swing's own marks show a less steady hand. */
#ifndef LEADSIDE_CORE_HAND_H
#define LEADSIDE_CORE_HAND_H

#include "core/swing.h"

/* Gives the marks of all views that state no error (sd 0) the default: 3 px at 1080 lines scaled by the lines, or the
 * body's share of 0.6 % if that is more, times what those marks scatter beyond it where nothing moves. Call it once,
 * when all views are read. */
void hand_errors(struct swing *swing);

#endif

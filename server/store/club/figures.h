/* What happened in the club in a time, counted by month, by coach, or in all. */
#ifndef LEADSIDE_STORE_CLUB_FIGURES_H
#define LEADSIDE_STORE_CLUB_FIGURES_H

#include "store/engine/store.h"

enum store_figures_by { STORE_FIGURES_BY_MONTH, STORE_FIGURES_BY_COACH, STORE_FIGURES_IN_ALL };

struct store_figure {
    char key[UUID_TEXT]; /* "2026-05" (UTC), an account's id, or "" */
    /* "students" (seen in a lesson or a swing), "lessons", "swings", "fixes_opened", "fixes_ended", "sessions_done" */
    const char *what;
    const char *fault; /* of "fixes_opened" alone */
    int64_t count;
};

struct store_figure_list {
    struct store_figure *items; /* by key, then what, then fault */
    size_t count;
    bool more;
};

/* From `from` to `to` (ms). A lesson is its coach's, a swing is whose who sent it, a fix whose who opened it, a session
 * of homework whose who gave it. Lessons without a swing that counts, and swings that don't, are left out. */
enum store_status store_figures(struct store_db *db, int64_t from, int64_t to, enum store_figures_by by,
                                struct arena *arena, struct store_figure_list *out) STORE_CHECKED;

#endif

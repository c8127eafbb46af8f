/* The handlers of this aisle, file by file: inbox, overview, audit, the standard, health, pages.
 * Each answers its call exactly once, or parks it; routes.c has them on its rows. */
#ifndef LEADSIDE_API_CLUB_HANDLERS_H
#define LEADSIDE_API_CLUB_HANDLERS_H

struct call;

/* audit.c */
void audit_list(struct call *call);

/* events.c */
void events_listen(struct call *call);

/* inbox.c */
void inbox_list(struct call *call);
void inbox_seen(struct call *call);

/* today.c */
void today_list(struct call *call);

/* agreement.c */
void agreement_get(struct call *call);

/* figures.c */
void figures_get(struct call *call);

/* overview.c */
void overview_get(struct call *call);

/* standard.c */
void standard_get(struct call *call);
void standard_put(struct call *call);
void standard_spread(struct call *call);
void standard_versions(struct call *call);
void standard_version(struct call *call);
void standard_restore(struct call *call);

/* standard_job.c */
void standard_try(struct call *call);
void standard_rescore(struct call *call);
void standard_job_get(struct call *call);
void standard_job_stop(struct call *call);

/* health.c */
void health_alive(struct call *call);
void health_ready(struct call *call);
void health_metrics(struct call *call);

/* files.c */
void pose_ready(struct call *call); /* only with --pose */
void files_home(struct call *call);
void files_get(struct call *call);

#endif

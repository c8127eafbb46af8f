/* Every handler of the table in routes.c, file by file. A handler answers its call exactly once, or parks it. */
#ifndef LEADSIDE_API_FRAME_HANDLERS_H
#define LEADSIDE_API_FRAME_HANDLERS_H

struct call;

/* sign_in.c */
void sign_in_create(struct call *call);
void sign_out_create(struct call *call);
/* join.c */
void join_invite(struct call *call);
void join_create(struct call *call);
/* calendar.c */
void calendar_create(struct call *call);
void calendar_remove(struct call *call);
void calendar_get(struct call *call);
/* progress.c */
void progress_get(struct call *call);
/* audit.c */
void audit_list(struct call *call);
/* me.c */
void me_get(struct call *call);
void me_password(struct call *call);
void me_sessions(struct call *call);
void me_session_end(struct call *call);
/* confirm.c */
void me_confirm(struct call *call);
/* second_factor.c */
void second_factor_start(struct call *call);
void second_factor_confirm(struct call *call);
void second_factor_remove(struct call *call);
/* accounts.c */
void accounts_list(struct call *call);
void accounts_get(struct call *call);
void accounts_create(struct call *call);
void accounts_update(struct call *call);
void accounts_erase(struct call *call);
/* students.c */
void students_list(struct call *call);
void students_create(struct call *call);
void students_get(struct call *call);
void students_update(struct call *call);
void students_erase(struct call *call);
void students_export(struct call *call); /* export.c */
/* team.c */
void team_add(struct call *call);
void team_remove(struct call *call);
/* consents.c */
void consents_list(struct call *call);
void consents_give(struct call *call);
void consents_withdraw(struct call *call);
/* notes.c */
void notes_list(struct call *call);
void notes_get(struct call *call);
void notes_create(struct call *call);
/* devices.c */
void devices_list(struct call *call);
void devices_get(struct call *call);
void devices_create(struct call *call);
void devices_update(struct call *call);
/* swings.c */
void swings_create(struct call *call);
void swings_list(struct call *call);
void swings_get(struct call *call);
void swings_report(struct call *call);
void swings_file(struct call *call);
/* stills.c */
void stills_list(struct call *call);
void stills_get(struct call *call);
void stills_put(struct call *call);
void stills_remove(struct call *call);
/* lessons.c */
void lessons_create(struct call *call);
void lessons_list(struct call *call);
void lessons_report(struct call *call);
/* fixes.c */
void fixes_create(struct call *call);
void fixes_list(struct call *call);
void fixes_get(struct call *call);
void fixes_update(struct call *call);
/* drills.c */
void drills_list(struct call *call);
void drills_get(struct call *call);
void drills_create(struct call *call);
void drills_update(struct call *call);
/* homework.c */
void homework_mine(struct call *call);
void homework_of_student(struct call *call);
void homework_get(struct call *call);
void homework_update(struct call *call); /* homework_tick.c */
void homework_done(struct call *call);
/* inbox.c */
void inbox_list(struct call *call);
void inbox_seen(struct call *call);
/* overview.c */
void overview_get(struct call *call);
/* standard.c */
void standard_get(struct call *call);
void standard_put(struct call *call);
void standard_try(struct call *call); /* standard_try.c */
/* markers.c */
void markers_get(struct call *call);
void markers_put(struct call *call);
/* health.c */
void health_alive(struct call *call);
void health_ready(struct call *call);
void health_metrics(struct call *call);
/* files.c */
void pose_ready(struct call *call); /* only with --pose */
void files_home(struct call *call);
void files_get(struct call *call);

#endif

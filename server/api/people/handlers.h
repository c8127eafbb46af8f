/* The handlers of this aisle, file by file: signing in, one's own account, accounts, tablets, students, teams,
 * consents. Each answers its call exactly once, or parks it; routes.c has them on its rows. */
#ifndef LEADSIDE_API_PEOPLE_HANDLERS_H
#define LEADSIDE_API_PEOPLE_HANDLERS_H

struct call;

/* sign_in.c */
void sign_in_create(struct call *call);
void sign_out_create(struct call *call);

/* join.c */
void join_invite(struct call *call);
void join_create(struct call *call);

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

/* accounts_leave.c */
void accounts_leave(struct call *call);

/* accounts_erase.c */
void accounts_erase(struct call *call);

/* roll.c, import.c */
void roll_export(struct call *call);
void students_import(struct call *call);

/* students.c */
void students_list(struct call *call);
void students_create(struct call *call);
void students_get(struct call *call);
void students_update(struct call *call);
void students_erase(struct call *call);

/* export.c */
void students_export(struct call *call);

/* team.c */
void team_add(struct call *call);
void team_remove(struct call *call);

/* handovers.c */
void handovers_create(struct call *call);
void handovers_list(struct call *call);
void handovers_get(struct call *call);
void handovers_answer(struct call *call);

/* family.c */
void family_list(struct call *call);
void family_add(struct call *call);

/* consents.c */
void consents_list(struct call *call);
void consents_give(struct call *call);
void consents_withdraw(struct call *call);
void requests_list(struct call *call);
void requests_create(struct call *call);

/* devices.c */
void devices_list(struct call *call);
void devices_get(struct call *call);
void devices_create(struct call *call);
void devices_update(struct call *call);

#endif

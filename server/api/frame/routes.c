/* Every route on one line: what it is, who may use it and on whom, how large and how often. docs/openapi.json describes
 * the same rows under the same operation names. */
#include "api/club/handlers.h"
#include "api/frame/call.h"
#include "api/lessons/handlers.h"
#include "api/lessons/marker_query.h"
#include "api/people/handlers.h"
#include "api/practice/handlers.h"

#define ANYBODY RIGHTS_NOBODY_SIGNED_IN, RIGHTS_OPEN, SUBJECT_NONE
#define CLUB(roles) RIGHTS_##roles, RIGHTS_CLUB, SUBJECT_NONE
#define DRILLS(roles) RIGHTS_##roles, RIGHTS_CLUB, SUBJECT_DRILL
#define SELF(roles) RIGHTS_##roles, RIGHTS_SELF, SUBJECT_NONE
#define TEAM(roles, subject) RIGHTS_##roles, RIGHTS_TEAM, SUBJECT_##subject
#define KB(n) ((size_t)(n) << 10)
#define KEYED true, false, false, NULL
#define PLAIN false, false, false, NULL
#define EARLY false, true, false, NULL /* allowed while the password is somebody else's choice */
#define FRESH false, false, true, NULL /* only within ten minutes of a confirmation */
#define FRESH_KEYED true, false, true, NULL
#define PICTURE false, false, false, "image/jpeg, image/png, image/webp"
#define TABLE true, false, false, "text/csv"
#define SWINGS                                                                                                         \
    true, false, false, "application/json, application/c3d, text/tab-separated-values, application/octet-stream"
#define PAGED "limit after"

#define S "/v1/students/{id}"
#define W "/v1/swings/{id}"

const struct api_row api_rows[] = {
    /* clang-format off */
    {HTTP_POST,   "/v1/sign-in",            "signIn",          sign_in_create,      ANYBODY,               KB(4),    THROTTLE_SIGN_IN, PLAIN, NULL},
    {HTTP_POST,   "/v1/join",               "join",            join_create,         ANYBODY,               KB(4),    THROTTLE_SIGN_IN, PLAIN, NULL},
    {HTTP_POST,   "/v1/sign-out",           "signOut",         sign_out_create,     SELF(EVERYONE),        KB(1),    THROTTLE_WRITE,   EARLY, NULL},
    {HTTP_GET,    "/v1/me",                 "getMe",           me_get,              SELF(EVERYONE),        0,        THROTTLE_READ,    EARLY, NULL},
    {HTTP_POST,   "/v1/me/password",        "changePassword",  me_password,         SELF(EVERYONE),        KB(4),    THROTTLE_WRITE,   EARLY, NULL},
    {HTTP_POST,   "/v1/me/confirm",         "confirmMe",       me_confirm,          SELF(EVERYONE),        KB(4),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   "/v1/me/second-factor",   "startSecondFactor", second_factor_start, SELF(EVERYONE),      KB(1),    THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_POST,   "/v1/me/second-factor/confirm", "confirmSecondFactor", second_factor_confirm, SELF(EVERYONE), KB(1), THROTTLE_WRITE, PLAIN, NULL},
    {HTTP_DELETE, "/v1/me/second-factor",   "removeSecondFactor", second_factor_remove, SELF(EVERYONE),    0,        THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_GET,    "/v1/me/sessions",        "listSessions",    me_sessions,         SELF(EVERYONE),        0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_DELETE, "/v1/me/sessions/{id}",   "endSession",      me_session_end,      SELF(EVERYONE),        0,        THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    "/v1/me/homework",        "listMyHomework",  homework_mine,       SELF(FAMILY),          0,        THROTTLE_READ,    PLAIN, "student all"},
    {HTTP_POST,   "/v1/me/calendar",        "createCalendar",  calendar_create,     SELF(FAMILY),          KB(1),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_DELETE, "/v1/me/calendar",        "removeCalendar",  calendar_remove,     SELF(FAMILY),          0,        THROTTLE_WRITE,   PLAIN, "student"},
    {HTTP_GET,    "/calendar/{token}",      "getCalendar",     calendar_get,        ANYBODY,               0,        THROTTLE_READ,    PLAIN, NULL},

    {HTTP_GET,    "/v1/accounts",           "listAccounts",    accounts_list,       CLUB(HEAD),            0,        THROTTLE_READ,    PLAIN, "name disabled " PAGED},
    {HTTP_POST,   "/v1/accounts",           "createAccount",   accounts_create,     CLUB(STAFF),           KB(32),   THROTTLE_WRITE,   FRESH_KEYED, NULL},
    {HTTP_GET,    "/v1/accounts/{id}",      "getAccount",      accounts_get,       CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  "/v1/accounts/{id}",      "updateAccount",   accounts_update,     CLUB(HEAD),            KB(32),   THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_DELETE, "/v1/accounts/{id}",      "eraseAccount",    accounts_erase,      CLUB(HEAD),            0,        THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_POST,   "/v1/accounts/{id}/leave", "leaveClub",      accounts_leave,     CLUB(HEAD),            KB(256),  THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_POST,   "/v1/accounts/{id}/link", "createLink",      join_invite,           CLUB(STAFF),           KB(1),    THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_GET,    "/v1/devices",            "listDevices",     devices_list,        CLUB(HEAD),            0,        THROTTLE_READ,    PLAIN, PAGED},
    {HTTP_POST,   "/v1/devices",            "createDevice",    devices_create,      CLUB(HEAD),            KB(4),    THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    "/v1/devices/{id}",       "getDevice",       devices_get,        CLUB(HEAD),            0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  "/v1/devices/{id}",       "updateDevice",    devices_update,      CLUB(HEAD),            KB(4),    THROTTLE_WRITE,   PLAIN, NULL},

    {HTTP_GET,    "/v1/students",           "listStudents",    students_list,       CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, "name archived updated_since " PAGED},
    {HTTP_GET,    "/v1/students/today",     "listToday",       today_list,          CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, "since students"},
    {HTTP_POST,   "/v1/students",           "createStudent",   students_create,     CLUB(STAFF),           KB(32),   THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_POST,   "/v1/import/students",    "importStudents",  students_import,     CLUB(HEAD),            KB(1024), THROTTLE_HEAVY,   TABLE, "dry_run doubles"},
    {HTTP_GET,    "/v1/export/students.csv", "exportStudents", roll_export,         CLUB(HEAD),            0,        THROTTLE_HEAVY,   FRESH, NULL},
    {HTTP_GET,    S,                        "getStudent",      students_get,        TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  S,                        "updateStudent",   students_update,     TEAM(STAFF, STUDENT),  KB(32),   THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_DELETE, S,                        "eraseStudent",    students_erase,      TEAM(HEAD, STUDENT),   0,        THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_GET,    S "/export",              "exportStudent",   students_export,     TEAM(EVERYONE, STUDENT), 0,      THROTTLE_HEAVY,   FRESH, NULL},
    {HTTP_PUT,    S "/team/{account_id}",   "addToTeam",       team_add,            TEAM(STAFF, STUDENT),  KB(1),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_DELETE, S "/team/{account_id}",   "removeFromTeam",  team_remove,         TEAM(STAFF, STUDENT),  0,        THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    S "/family",              "listFamily",      family_list,         TEAM(STAFF, STUDENT),  0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PUT,    S "/family/{account_id}", "addToFamily",     family_add,          TEAM(STAFF, STUDENT),  KB(1),    THROTTLE_WRITE,   FRESH, NULL},
    {HTTP_POST,   S "/handovers",           "createHandover",  handovers_create,    TEAM(STAFF, STUDENT),  KB(8),    THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    S "/handovers",           "listHandovers",   handovers_list,      TEAM(STAFF, STUDENT),  0,        THROTTLE_READ,    PLAIN, PAGED},
    {HTTP_GET,    "/v1/handovers/{id}",     "getHandover",     handovers_get,       TEAM(STAFF, HANDOVER), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  "/v1/handovers/{id}",     "answerHandover",  handovers_answer,    TEAM(STAFF, HANDOVER), KB(8),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    S "/consents",            "listConsents",    consents_list,       TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, NULL},
    {HTTP_POST,   S "/consents",            "giveConsent",     consents_give,       TEAM(EVERYONE, STUDENT), KB(4),  THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_DELETE, S "/consents/{scope}",    "withdrawConsent", consents_withdraw,   TEAM(EVERYONE, STUDENT), 0,      THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   S "/requests",            "askConsent",      requests_create,     TEAM(STAFF, STUDENT),  KB(8),    THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    S "/requests",            "listRequests",    requests_list,       TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    S "/notes",               "listNotes",       notes_list,          TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, "updated_since from to " PAGED},
    {HTTP_GET,    "/v1/notes/{id}",         "getNote",         notes_get,          TEAM(EVERYONE, NOTE),  0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_POST,   S "/notes",               "createNote",      notes_create,        TEAM(STAFF, STUDENT),  KB(64),   THROTTLE_WRITE,   KEYED, NULL},

    {HTTP_POST,   S "/swings",              "createSwing",     swings_create,       TEAM(STAFF, STUDENT),  KB(8192), THROTTLE_WRITE,   SWINGS, MARKER_QUERIES},
    {HTTP_GET,    S "/swings",              "listSwings",      swings_list,         TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, "updated_since from to " PAGED},
    {HTTP_GET,    "/v1/swings/{id}",        "getSwing",        swings_get,          TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    "/v1/swings/{id}/report", "getSwingReport",  swings_report,       TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, "standard"},
    {HTTP_GET,    W "/file",                "getSwingFile",    swings_file,         TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PUT,    W "/marks",               "correctMarks",    swings_correct,      TEAM(STAFF, SWING),    KB(8192), THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    W "/revisions",           "listRevisions",   revisions_list,      TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    W "/revisions/{number}",  "getRevision",     revisions_get,       TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_POST,   W "/void",                "voidSwing",       swings_void,         TEAM(STAFF, SWING),    KB(4),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   W "/move",                "moveSwing",       swings_move,         TEAM(STAFF, SWING),    KB(4),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_PUT,    W "/opinion",             "putOpinion",      opinions_put,        TEAM(STAFF, SWING),    KB(4),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    W "/opinions",            "listOpinions",    opinions_list,       TEAM(STAFF, SWING),    0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    W "/stills",              "listStills",      stills_list,         TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    W "/stills/{still}",      "getStill",        stills_get,          TEAM(EVERYONE, SWING), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PUT,    W "/stills/{still}",      "putStill",        stills_put,          TEAM(STAFF, SWING),    KB(512),  THROTTLE_WRITE,   PICTURE, NULL},
    {HTTP_DELETE, W "/stills/{still}",      "removeStill",     stills_remove,       TEAM(STAFF, SWING),    0,        THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   S "/lessons",             "createLesson",    lessons_create,      TEAM(STAFF, STUDENT),  KB(64),   THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    S "/lessons",             "listLessons",     lessons_list,        TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, "from to " PAGED},
    {HTTP_GET,    "/v1/lessons/{id}/report", "getLessonReport", lessons_report,     TEAM(EVERYONE, LESSON), 0,       THROTTLE_READ,    PLAIN, "standard"},
    {HTTP_POST,   S "/fixes",               "createFix",       fixes_create,        TEAM(STAFF, STUDENT),  KB(64),   THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    S "/fixes",               "listFixes",       fixes_list,          TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, "status updated_since " PAGED},
    {HTTP_GET,    "/v1/fixes/{id}",         "getFix",          fixes_get,          TEAM(EVERYONE, FIX),   0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  "/v1/fixes/{id}",         "updateFix",       fixes_update,        TEAM(STAFF, FIX),      KB(64),   THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    S "/progress",            "getProgress",     progress_get,        TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, "fix"},
    {HTTP_GET,    S "/retests",             "listRetests",     retests_list,        TEAM(STAFF, STUDENT),  0,        THROTTLE_READ,    PLAIN, PAGED},
    {HTTP_GET,    "/v1/retests",            "listDueRetests",  retests_due,         CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, "due_before " PAGED},
    {HTTP_PATCH,  "/v1/retests/{id}",       "moveRetest",      retests_move,        TEAM(STAFF, RETEST),   KB(8),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    S "/homework",            "listHomework",    homework_of_student, TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, "all updated_since"},
    {HTTP_GET,    "/v1/homework/{id}",      "getHomework",     homework_get,       TEAM(EVERYONE, HOMEWORK), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  "/v1/homework/{id}",      "updateHomework",  homework_update,     TEAM(STAFF, HOMEWORK), KB(8),    THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   "/v1/homework/{id}/done", "markHomeworkDone", homework_done,      TEAM(FAMILY, HOMEWORK), KB(8),   THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_DELETE, "/v1/homework/{id}/done/{tick}", "undoHomeworkDone", homework_undo, TEAM(FAMILY, HOMEWORK), 0,   THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   S "/rounds",              "createRound",     rounds_create,       TEAM(EVERYONE, STUDENT), KB(32),  THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    S "/rounds",              "listRounds",      rounds_list,         TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, PAGED},
    {HTTP_GET,    "/v1/rounds/{id}",        "getRound",        rounds_get,          TEAM(EVERYONE, ROUND), 0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_DELETE, "/v1/rounds/{id}",        "removeRound",     rounds_remove,       TEAM(EVERYONE, ROUND), 0,        THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    S "/transfer",            "getTransfer",     transfer_get,        TEAM(EVERYONE, STUDENT), 0,      THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    "/v1/events",             "listenToEvents",  events_listen,       SELF(EVERYONE),        0,        THROTTLE_LISTEN,  PLAIN, NULL},
    {HTTP_GET,    "/v1/inbox",              "listInbox",       inbox_list,          CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, PAGED},
    {HTTP_POST,   "/v1/inbox/{id}/seen",    "markInboxSeen",   inbox_seen,          TEAM(STAFF, INBOX),    KB(1),    THROTTLE_WRITE,   PLAIN, NULL},

    {HTTP_GET,    "/v1/drills",             "listDrills",      drills_list,         DRILLS(EVERYONE),      0,        THROTTLE_READ,    PLAIN, "retired " PAGED},
    {HTTP_POST,   "/v1/drills",             "createDrill",     drills_create,       DRILLS(HEAD),          KB(64),   THROTTLE_WRITE,   KEYED, NULL},
    {HTTP_GET,    "/v1/drills/effect",      "getDrillEffects", drills_effect,       CLUB(STAFF),           0,        THROTTLE_HEAVY,   PLAIN, "from to"},
    {HTTP_GET,    "/v1/drills/{id}",        "getDrill",        drills_get,         DRILLS(EVERYONE),      0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PATCH,  "/v1/drills/{id}",        "updateDrill",     drills_update,       DRILLS(HEAD),          KB(64),   THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    "/v1/overview",           "getOverview",     overview_get,        CLUB(HEAD),            0,        THROTTLE_READ,    PLAIN, PAGED},
    {HTTP_GET,    "/v1/agreement",          "getAgreement",    agreement_get,       CLUB(HEAD),            0,        THROTTLE_HEAVY,   PLAIN, "from to"},
    {HTTP_GET,    "/v1/figures",            "getFigures",      figures_get,         CLUB(HEAD),            0,        THROTTLE_HEAVY,   PLAIN, "from to by"},
    {HTTP_GET,    "/v1/audit",              "listAudit",       audit_list,          CLUB(HEAD),            0,        THROTTLE_READ,    PLAIN, "account student from to " PAGED},
    {HTTP_GET,    "/v1/reliability",        "getReliability",  reliability_get,     CLUB(HEAD),            0,        THROTTLE_HEAVY,   PLAIN, NULL},
    {HTTP_GET,    "/v1/standard",           "getStandard",     standard_get,        CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PUT,    "/v1/standard",           "putStandard",     standard_put,        CLUB(HEAD),            KB(512),  THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_GET,    "/v1/standard/versions",  "listStandards",   standard_versions,   CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_GET,    "/v1/standard/versions/{number}", "getStandardVersion", standard_version, CLUB(STAFF),    0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_POST,   "/v1/standard/versions/{number}/restore", "restoreStandard", standard_restore, CLUB(HEAD), KB(1),   THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   "/v1/standard/try",       "tryStandard",     standard_try,        CLUB(HEAD),            KB(512),  THROTTLE_HEAVY,   PLAIN, NULL},
    {HTTP_POST,   "/v1/standard/rescore",   "rescoreSwings",   standard_rescore,    CLUB(HEAD),            KB(1),    THROTTLE_HEAVY,   PLAIN, NULL},
    {HTTP_GET,    "/v1/standard/job",       "getStandardJob",  standard_job_get,    CLUB(HEAD),            0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_DELETE, "/v1/standard/job",       "stopStandardJob", standard_job_stop,   CLUB(HEAD),            0,        THROTTLE_WRITE,   PLAIN, NULL},
    {HTTP_POST,   "/v1/standard/spread",    "takeSpread",      standard_spread,     CLUB(HEAD),            KB(1),    THROTTLE_HEAVY,   PLAIN, NULL},
    {HTTP_GET,    "/v1/markers",            "getMarkers",      markers_get,         CLUB(STAFF),           0,        THROTTLE_READ,    PLAIN, NULL},
    {HTTP_PUT,    "/v1/markers",            "putMarkers",      markers_put,         CLUB(HEAD),            KB(64),   THROTTLE_WRITE,   PLAIN, NULL},

    {HTTP_GET,    "/healthz",               "isAlive",         health_alive,        ANYBODY,               0,        THROTTLE_NONE,    PLAIN, NULL},
    {HTTP_GET,    "/readyz",                "isReady",         health_ready,        ANYBODY,               0,        THROTTLE_NONE,    PLAIN, NULL},
    {HTTP_GET,    "/metrics",               "getMetrics",      health_metrics,      ANYBODY,               0,        THROTTLE_NONE,    PLAIN, NULL},
    {HTTP_GET,    "/v1/openapi.json",       "getDescription",  files_get,           ANYBODY,               0,        THROTTLE_NONE,    PLAIN, NULL},
    {HTTP_GET,    "/",                      "getHome",         files_home,          ANYBODY,               0,        THROTTLE_NONE,    PLAIN, NULL},
    /* clang-format on */
};

const size_t api_rows_count = sizeof api_rows / sizeof *api_rows;

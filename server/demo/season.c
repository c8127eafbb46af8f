/* An invented student's lessons. Swings are drawn, written as documents, read back and scored like any others. */
#include "demo/season.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "core/score.h"
#include "demo/document.h"
#include "store/club/audit.h"
#include "store/lessons/lesson.h"
#include "store/lessons/note.h"
#include "store/lessons/swing.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"
#include "wire/report/pack.h"
#include "wire/report/write.h"
#include "wire/swing/read.h"

#define DAY_MS (INT64_C(24) * 3600 * 1000)

/* Pairs that hang together: what comes first, and what it brings. */
static const enum fault_id troubles[][2] = {
    {FAULT_UPRIGHT_POSTURE, FAULT_LEVEL_SHOULDERS}, {FAULT_INSIDE_TAKEAWAY, FAULT_ACROSS_THE_LINE},
    {FAULT_REVERSE_PIVOT, FAULT_HANGING_BACK},      {FAULT_CROWDING, FAULT_STANDING_UP},
    {FAULT_ACROSS_THE_LINE, FAULT_STEEP_DELIVERY},  {FAULT_LIFT_BEFORE_TURN, FAULT_STEEP_DELIVERY},
    {FAULT_HANGING_BACK, FAULT_CHICKEN_WING},       {FAULT_FORCED_HIGH_FINISH, FAULT_CHICKEN_WING},
    {FAULT_STEEP_DELIVERY, FAULT_CHICKEN_WING},     {FAULT_HURRIED_TEMPO, FAULT_OVERSWING},
};

struct season {
    struct demo_world *world;
    struct store_db *db;
    const struct demo_student *who;
    struct arena *arena; /* one lesson's */
    int lesson, lessons;
    int64_t held_at;
    char lesson_id[UUID_TEXT];
    char fix_id[UUID_TEXT];
    struct store_fix fix;
    bool has_fix;
};

/* How much of the trouble is left at a lesson. */
static double trouble_left(const struct season *season)
{
    double t = season->lessons > 1 ? (double)season->lesson / (season->lessons - 1) : 0;
    return season->who->fate == DEMO_IMPROVES ? 0.95 - 0.9 * t : 0.9 - 0.05 * t;
}

static char *document_make(struct season *season, int64_t at, size_t *length)
{
    struct demo_world *world = season->world;
    const struct demo_student *who = season->who;
    const enum fault_id *trouble = troubles[(unsigned)who->id[UUID_TEXT - 2] % (sizeof troubles / sizeof *troubles)];
    struct demo_player player;
    struct demo_setup setup;
    char recorded_at[TIME_TEXT];
    demo_player_sound(&player, who->height_m, who->left ? HAND_LEFT : HAND_RIGHT, CLUB_IRON);
    demo_player_dial(&player, trouble[0], trouble_left(season));
    demo_player_dial(&player, trouble[1], 0.8 * trouble_left(season));
    demo_player_vary(&player, 1.0, &world->random);
    demo_setup_usual(&setup);
    for (int i = 0; i < VIEW_KIND_COUNT; i++) {
        setup.cameras[i].distance += 0.15 * demo_random_normal(&world->random);
        setup.cameras[i].yaw = 2.0 * demo_random_normal(&world->random);
        setup.cameras[i].height += 0.05 * demo_random_normal(&world->random);
    }
    /* New students meet a tripod that somebody has knocked: the camera check has something to say. */
    if (who->fate == DEMO_NEW && who->female) {
        setup.cameras[VIEW_DOWN_THE_LINE].yaw += 14.0;
    }
    setup.scale = world->made % 3 == 0;
    time_format(at, recorded_at);
    return demo_document(&player, &setup, recorded_at, &world->random, season->arena, length);
}

static enum store_status report_keep(struct season *season, const struct swing_document *documents, int count,
                                     const char *swing_id, const char *lesson_id, struct report *report)
{
    const struct swing *swings[DEMO_SWINGS];
    struct demo_world *world = season->world;
    const struct demo_student *who = season->who;
    struct score_player player = {.sex = who->female ? SEX_FEMALE : SEX_MALE, .age_years = who->age, .pain = who->pain};
    struct report_context context = {.hand = who->left ? HAND_LEFT : HAND_RIGHT,
                                     .recorded_at = documents->recorded_at,
                                     .standard_number = world->standard_number,
                                     .age_years = who->age,
                                     .pain = who->pain};
    for (int i = 0; i < count; i++) {
        swings[i] = &documents[i].swing;
    }
    score_swings(swings, count, world->standard, &player, world->drills, world->drill_count, report);
    struct store_report kept = {.standard = world->standard_number, .created = season->held_at};
    char *json = report_write(report, world->standard, world->drills, world->drill_count, &context, season->arena,
                              &kept.json_size);
    kept.measures = report_pack(report, count == 1 ? swings[0] : NULL, &context, season->arena, &kept.measures_size);
    if (json == NULL || kept.measures == NULL) {
        return STORE_NO_MEMORY;
    }
    kept.json = json;
    demo_id(world, season->held_at, kept.id);
    memcpy(kept.swing_id, swing_id, strlen(swing_id) + 1);
    memcpy(kept.lesson_id, lesson_id, strlen(lesson_id) + 1);
    store_report_pack(season->db, &kept, season->arena);
    return store_report_insert(season->db, &kept);
}

static enum store_status swing_make(struct season *season, int index)
{
    struct demo_world *world = season->world;
    struct swing_document *document = &world->documents[index];
    struct store_swing swing = {.recorded_at = season->held_at + (index + 1) * INT64_C(120000)};
    struct wire_error error;
    struct report report;
    size_t length;
    char *json = document_make(season, swing.recorded_at, &length);
    if (json == NULL) {
        return STORE_NO_MEMORY;
    }
    if (!swing_read(json, length, season->arena, document, &error)) {
        (void)fprintf(stderr, "leadside demo: the invented swing is refused: %s: %s\n", error.path, error.what);
        return STORE_INVALID;
    }
    swing.document = json;
    swing.document_size = length;
    swing.received_at = swing.recorded_at + 3000;
    crypto_hash_sha256(swing.document_hash, (const unsigned char *)json, length);
    demo_id(world, swing.recorded_at, swing.id);
    memcpy(swing.student_id, season->who->id, UUID_TEXT);
    memcpy(swing.uploaded_by, season->who->coach, UUID_TEXT);
    store_swing_pack(season->db, &swing, season->arena);
    enum store_status status = store_swing_insert(season->db, &swing);
    if (status == STORE_OK) {
        status = store_lesson_attach(season->db, season->lesson_id, swing.id);
    }
    if (status != STORE_OK) {
        return status;
    }
    world->counts.swings++;
    return report_keep(season, document, 1, swing.id, "", &report);
}

static enum store_status homework_give(struct season *season, const struct practice_pick *pick)
{
    struct demo_world *world = season->world;
    const struct drill *drill = &world->drills[pick->index];
    struct dose dose = practice_dose(drill, season->who->age);
    struct store_homework homework = {.sessions_per_week = dose.sessions_per_week,
                                      .minutes = dose.minutes,
                                      .self_check_every = dose.self_check_every,
                                      .retest_at = season->held_at + dose.retest_days * DAY_MS,
                                      .created = season->held_at};
    demo_id(world, season->held_at, homework.id);
    memcpy(homework.fix_id, season->fix.id, UUID_TEXT);
    memcpy(homework.student_id, season->who->id, UUID_TEXT);
    memcpy(homework.assigned_by, season->who->coach, UUID_TEXT);
    (void)snprintf(homework.drill_id, sizeof homework.drill_id, "%s", drill->id);
    enum store_status status = store_homework_insert(season->db, &homework);
    /* The diligent improve; those who get stuck practise little. */
    int most = season->who->fate == DEMO_IMPROVES ? 14 : season->who->fate == DEMO_STUCK ? 4 : 2;
    for (int i = 0; i < most && status == STORE_OK; i++) {
        struct store_homework_done done = {.done_at = season->held_at + (2 * i + 1) * DAY_MS};
        if (done.done_at > world->now) {
            break;
        }
        demo_id(world, done.done_at, done.id);
        memcpy(done.homework_id, homework.id, UUID_TEXT);
        memcpy(done.account_id, season->who->account, UUID_TEXT);
        status = store_homework_done_insert(season->db, &done);
    }
    return status;
}

static enum store_status fix_open(struct season *season, const struct report *report)
{
    struct demo_world *world = season->world;
    season->fix = (struct store_fix){.fault = fault_name(report->fixes.items[0].fault),
                                     .opened_at = season->held_at,
                                     .reason = "The report's first suggestion."};
    demo_id(world, season->held_at, season->fix.id);
    memcpy(season->fix.student_id, season->who->id, UUID_TEXT);
    memcpy(season->fix.opened_by, season->who->coach, UUID_TEXT);
    memcpy(season->fix.baseline_lesson, season->lesson_id, UUID_TEXT);
    enum store_status status = store_fix_insert(season->db, &season->fix);
    if (status == STORE_OK) {
        status = demo_audit(season->db, "fix.open", "fix", season->fix.id, season->who->id, season->who->coach,
                            season->held_at);
    }
    for (int i = 0; i < report->drill_count[0] && status == STORE_OK; i++) {
        status = homework_give(season, &report->drills[0][i]);
    }
    season->has_fix = status == STORE_OK;
    world->counts.fixes += season->has_fix;
    return status;
}

/* Closes the fix when the fault is gone from the lesson's report. */
static enum store_status fix_review(struct season *season, const struct report *report)
{
    enum fault_id fault;
    if (!fault_parse(season->fix.fault, &fault) || report->faults[fault].verdict != VERDICT_ABSENT) {
        return STORE_OK;
    }
    struct store_fix fix;
    enum store_status status = store_fix_get(season->db, season->fix.id, season->arena, &fix);
    if (status != STORE_OK || fix.status != STORE_FIX_OPEN) {
        return status;
    }
    fix.status = STORE_FIX_CLOSED;
    fix.reason = "Three swings together no longer show it.";
    status = store_fix_update(season->db, &fix, fix.reason, season->who->coach, season->held_at);
    return status == STORE_OK ? demo_audit(season->db, "fix.close", "fix", fix.id, season->who->id, season->who->coach,
                                           season->held_at)
                              : status;
}

static enum store_status lesson_hold(struct season *season)
{
    struct demo_world *world = season->world;
    struct report report;
    struct store_lesson lesson = {
        .held_at = season->held_at, .created = season->held_at, .note = "Invented lesson: three full swings."};
    demo_id(world, season->held_at, lesson.id);
    memcpy(season->lesson_id, lesson.id, UUID_TEXT);
    memcpy(lesson.student_id, season->who->id, UUID_TEXT);
    memcpy(lesson.coach, season->who->coach, UUID_TEXT);
    enum store_status status = store_lesson_insert(season->db, &lesson);
    for (int i = 0; i < DEMO_SWINGS && status == STORE_OK; i++) {
        status = swing_make(season, i);
    }
    if (status == STORE_OK) {
        status = report_keep(season, world->documents, DEMO_SWINGS, "", season->lesson_id, &report);
    }
    if (status != STORE_OK) {
        return status;
    }
    world->counts.lessons++;
    if (season->has_fix) {
        return fix_review(season, &report);
    }
    return report.fixes.count > 0 ? fix_open(season, &report) : STORE_OK;
}

static enum store_status note_write(struct season *season)
{
    struct store_note note = {.text = "Invented note: likes one picture at a time, not many words.",
                              .readers = season->who->age < 18 ? STORE_NOTE_GUARDIAN : STORE_NOTE_COACHES,
                              .created = season->held_at};
    demo_id(season->world, season->held_at, note.id);
    memcpy(note.student_id, season->who->id, UUID_TEXT);
    memcpy(note.author, season->who->coach, UUID_TEXT);
    return store_note_insert(season->db, &note);
}

enum store_status demo_season(struct demo_world *world, struct store_db *db, const struct demo_student *who)
{
    /* Days before now of the lessons; the forgotten have not been seen for six weeks. */
    static const int days[DEMO_FATE_COUNT][4] = {{77, 49, 28, 5}, {80, 56, 30, 9}, {81, 60, 0, 0}, {4, 0, 0, 0}};
    struct season season = {.world = world, .db = db, .who = who};
    enum store_status status = STORE_OK;
    while (season.lessons < 4 && days[who->fate][season.lessons] > 0) {
        season.lessons++;
    }
    for (; season.lesson < season.lessons && status == STORE_OK; season.lesson++) {
        season.arena = arena_new(0);
        if (season.arena == NULL) {
            return STORE_NO_MEMORY;
        }
        season.held_at = world->now - days[who->fate][season.lesson] * DAY_MS +
                         demo_random_index(&world->random, 8) * INT64_C(3600000);
        status = lesson_hold(&season);
        arena_free(season.arena);
    }
    return status == STORE_OK ? note_write(&season) : status;
}

/* The invented club's people, and one write job for each of them. Their lessons are in season.c. */
#include "demo/club.h"

#include <stdio.h>
#include <string.h>

#include "core/practice.h"
#include "demo/season.h"
#include "demo/together.h"
#include "seed.h"
#include "store/club/audit.h"
#include "store/club/club.h"
#include "store/people/account.h"
#include "store/people/consent.h"
#include "store/people/student.h"

static const char *const first_names[] = {"Aldwyn", "Brisa",  "Corvin", "Delphe", "Elowis", "Fenn",   "Garrik",
                                          "Hesper", "Ivo",    "Jorun",  "Kestra", "Lindel", "Merrin", "Nolwen",
                                          "Orla",   "Perrin", "Quill",  "Rowena", "Soren",  "Tamsel"};
static const char *const last_names[] = {"Ashlark",   "Bramblewick", "Cloverhay",  "Dunnethorn",
                                         "Elderbeck", "Fernlow",     "Gorsefield", "Hazelmere",
                                         "Ivyholt",   "Juniperley",  "Kelpstone",  "Larchcombe"};

struct filling {
    struct demo_world world;
    int64_t began;
    const char *password_hash;
    int index; /* of the student being made */
    int guardians;
};

static enum store_status account_make(struct filling *filling, struct store_db *db, enum store_role role,
                                      const char *name, const char *sign_in, const char *student_id, char id[UUID_TEXT])
{
    struct store_account account = {.role = role,
                                    .name = name,
                                    .sign_in = sign_in,
                                    .password_hash = filling->password_hash,
                                    .created = filling->began};
    demo_id(&filling->world, filling->began, account.id);
    memcpy(id, account.id, UUID_TEXT);
    (void)snprintf(account.student_id, sizeof account.student_id, "%s", student_id);
    enum store_status status = store_account_insert(db, &account, sign_in);
    return status == STORE_OK ? demo_audit(db, "account.create", "account", id, student_id, "", filling->began)
                              : status;
}

static enum store_status staff_make(struct filling *filling, struct store_db *db)
{
    static const char *const names[DEMO_COACHES] = {"Wren Thistledown", "Bram Oakenshaw", "Isolde Meadowgate",
                                                    "Piers Harrowdale"};
    enum store_status status = account_make(filling, db, STORE_HEAD, "Maud Larkspur", "head", "", filling->world.head);
    for (int i = 0; i < DEMO_COACHES && status == STORE_OK; i++) {
        char sign_in[16];
        (void)snprintf(sign_in, sizeof sign_in, "coach%d", i + 1);
        status = account_make(filling, db, STORE_COACH, names[i], sign_in, "", filling->world.coaches[i]);
    }
    return status;
}

static enum store_status club_make(struct store_db *db, void *argument)
{
    struct filling *filling = argument;
    struct store_club club = {.name = "Larkfield Heath",
                              .notes = "Invented demo data: no such club, no such people.",
                              .settings = "{}",
                              .created = filling->began};
    enum store_status status = store_club_insert(db, &club);
    if (status == STORE_OK) {
        status = seed_standard_and_drills(db, filling->began, &filling->world.standard_number);
    }
    return status == STORE_OK ? staff_make(filling, db) : status;
}

/* One in four is a junior, one in four a senior. */
static int age_of(struct filling *filling)
{
    struct demo_random *random = &filling->world.random;
    switch ((filling->index + filling->index / 4) % 4) {
    case 0:
        return 8 + demo_random_index(random, 10);
    case 1:
        return 60 + demo_random_index(random, 21);
    default:
        return 18 + demo_random_index(random, 42);
    }
}

static double height_of(struct demo_random *random, int age, bool female)
{
    double grown = female ? 1.65 : 1.78;
    double height = age >= 17 ? grown : 1.28 + (grown - 1.28) * (age - 8) / 9.0;
    return height + 0.05 * demo_random_normal(random);
}

static enum store_status people_of(struct filling *filling, struct store_db *db, struct demo_student *who)
{
    char sign_in[24];
    (void)snprintf(sign_in, sizeof sign_in, "student%02d", filling->index + 1);
    enum store_status status = account_make(filling, db, STORE_STUDENT, who->name, sign_in, who->id, who->account);
    if (status == STORE_OK && who->age < 18) {
        char guardian[UUID_TEXT];
        char name[80];
        (void)snprintf(sign_in, sizeof sign_in, "guardian%02d", ++filling->guardians);
        (void)snprintf(name, sizeof name, "Guardian of %s", who->name);
        status = account_make(filling, db, STORE_GUARDIAN, name, sign_in, "", guardian);
        if (status == STORE_OK) {
            status = store_guardian_add(db, guardian, who->id, filling->began);
        }
    }
    if (status == STORE_OK) {
        status = store_team_add(db, who->id, who->coach, filling->began);
    }
    /* Every fifth student is shared by two coaches. */
    if (status == STORE_OK && filling->index % 5 == 0) {
        const char *other = filling->world.coaches[(filling->index + 1) % DEMO_COACHES];
        status = store_team_add(db, who->id, other, filling->began);
    }
    return status;
}

/* A birthday within the last ten months makes the age right today. The year of birth. */
static int born_of(const struct filling *filling, int age, char out[TIME_TEXT])
{
    const int64_t day = 86400000;
    int year = 0;
    time_format(filling->world.now - (int64_t)filling->index * 7 % 300 * day, out);
    for (int i = 0; i < 4; i++) {
        year = year * 10 + (out[i] - '0');
    }
    year -= age;
    for (int i = 3, rest = year; i >= 0; i--, rest /= 10) {
        out[i] = (char)('0' + rest % 10);
    }
    out[10] = '\0';
    if (strcmp(out + 5, "02-29") == 0) {
        out[9] = '8';
    }
    return year;
}

static enum store_status consent_of(struct filling *filling, struct store_db *db, const char *student_id)
{
    struct store_consent consent = {
        .scope = "store_pictures", .said_by = "Guardian (invented)", .given_at = filling->began};
    demo_id(&filling->world, filling->began, consent.id);
    memcpy(consent.student_id, student_id, UUID_TEXT);
    memcpy(consent.recorded_by, filling->world.head, UUID_TEXT);
    return store_consent_insert(db, &consent);
}

static enum store_status student_make(struct store_db *db, void *argument)
{
    static const char *const wants[] = {"straighter tee shots", "to break ninety", "less pain after a round",
                                        "to start playing with friends", "more even strikes"};
    struct filling *filling = argument;
    struct demo_random *random = &filling->world.random;
    int index = filling->index;
    struct demo_student who = {.age = age_of(filling), .female = index % 2 == 1, .left = index % 7 == 3};
    who.height_m = height_of(random, who.age, who.female);
    who.pain = index % 6 == 5 ? (unsigned)AREA_LOW_BACK : index % 11 == 8 ? (unsigned)AREA_ELBOW : 0U;
    who.fate = (enum demo_fate)(index / 4 % DEMO_FATE_COUNT);
    demo_id(&filling->world, filling->began, who.id);
    (void)snprintf(who.name, sizeof who.name, "%s %s", first_names[index % 20], last_names[index % 12]);
    memcpy(who.coach, filling->world.coaches[index % DEMO_COACHES], UUID_TEXT);
    char born[TIME_TEXT];
    const int year = born_of(filling, who.age, born);
    struct store_student student = {.name = who.name,
                                    .hand = who.left ? "left" : "right",
                                    .sex = who.female ? "female" : "male",
                                    .birth_date = born,
                                    .birth_year = year,
                                    .has_height = true,
                                    .height_m = who.height_m,
                                    .has_handicap = who.age >= 12,
                                    .handicap = 5.0 + demo_random_index(random, 40),
                                    .pain = who.pain,
                                    .pain_note = who.pain != 0 ? "invented: sore after long rounds" : NULL,
                                    .wants = wants[index % 5],
                                    .junior = who.age < 18,
                                    .created = filling->began};
    memcpy(student.id, who.id, UUID_TEXT);
    enum store_status status = store_student_insert(db, &student);
    if (status == STORE_OK && who.age < 18) {
        status = consent_of(filling, db, who.id);
    }
    if (status == STORE_OK) {
        status = demo_audit(db, "student.create", "student", who.id, who.id, filling->world.head, filling->began);
    }
    if (status == STORE_OK) {
        status = people_of(filling, db, &who);
    }
    return status == STORE_OK ? demo_season(&filling->world, db, &who) : status;
}

static enum store_status together_make(struct store_db *db, void *argument)
{
    struct filling *filling = argument;
    return demo_together(&filling->world, db);
}

enum store_status demo_club_fill(struct store *store, uint64_t seed, int64_t now, const char *password_hash,
                                 struct demo_counts *counts)
{
    struct filling filling = {.world = {.random = {seed}, .now = now, .arena = arena_new(0)},
                              .began = now - DEMO_SEASON_MS,
                              .password_hash = password_hash};
    enum store_status status = demo_world_prepare(&filling.world) ? STORE_OK : STORE_NO_MEMORY;
    if (status == STORE_OK) {
        status = store_run(store, club_make, &filling);
    }
    for (filling.index = 0; filling.index < DEMO_STUDENTS && status == STORE_OK; filling.index++) {
        status = store_run(store, student_make, &filling);
    }
    if (status == STORE_OK) {
        status = store_run(store, together_make, &filling);
    }
    *counts = filling.world.counts;
    counts->students = filling.index;
    counts->guardians = filling.guardians;
    arena_free(filling.world.arena);
    return status;
}

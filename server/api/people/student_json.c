/* See student_json.h. */
#include "api/people/student_json.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/lessons/scoring.h"
#include "api/people/consent_read.h"
#include "wire/report/player.h"

#define TENDENCIES_MAX 2000

const char *const student_keys[] = {"name",     "hand",       "sex",           "birth_date", "birth_year", "height_m",
                                    "handicap", "tendencies", "pain",          "pain_note",  "wants",      "junior",
                                    "consent",  "archived",   "member_number", "email",      "phone",      NULL};

static void consent_json(struct json_out *out, const struct store_student *student)
{
    if (student->consent_by == NULL) {
        json_out_null(out, "consent");
        return;
    }
    json_out_object(out, "consent");
    json_out_text(out, "by", student->consent_by);
    answer_time(out, "at", student->consent_at);
    json_out_end_object(out);
}

void student_comes_of_age(struct json_out *out, int64_t adult_from)
{
    char text[TIME_TEXT];
    time_format(adult_from, text);
    text[10] = '\0';
    json_out_text(out, "comes_of_age", adult_from == 0 || adult_from >= STORE_ADULT_UNKNOWN ? NULL : text);
}

void student_pain(struct json_out *out, unsigned pain)
{
    json_out_array(out, "pain");
    for (unsigned bit = 0; bit < AREA_BITS; bit++) {
        if ((pain >> bit & 1U) != 0) {
            json_out_text(out, NULL, area_name((enum area)(1U << bit)));
        }
    }
    json_out_end_array(out);
}

static void optional_number(struct json_out *out, const char *key, bool has, double value)
{
    if (has) {
        json_out_number(out, key, value, 3);
    } else {
        json_out_null(out, key);
    }
}

void student_json(struct json_out *out, const struct store_student *student)
{
    json_out_text(out, "id", student->id);
    json_out_text(out, "name", student->name);
    json_out_text(out, "hand", student->hand);
    json_out_text(out, "sex", student->sex);
    json_out_text(out, "birth_date", student->birth_date);
    optional_number(out, "birth_year", student->birth_year != 0, student->birth_year);
    optional_number(out, "height_m", student->has_height, student->height_m);
    optional_number(out, "handicap", student->has_handicap, student->handicap);
    json_out_text(out, "tendencies", student->tendencies);
    student_pain(out, student->pain);
    json_out_text(out, "pain_note", student->pain_note);
    json_out_text(out, "wants", student->wants);
    json_out_text(out, "member_number", student->member_number);
    json_out_text(out, "email", student->email);
    json_out_text(out, "phone", student->phone);
    json_out_bool(out, "junior", student->junior);
    student_comes_of_age(out, student->junior ? student->adult_from : 0);
    consent_json(out, student);
    json_out_bool(out, "pictures", student->pictures);
    answer_time(out, "archived", student->archived);
    answer_time(out, "created", student->created);
    answer_integer(out, "version", student->version);
}

/* ---- reading ---- */

static void read_choice(struct body *body, const char *key, bool required, const char *a, const char *b,
                        const char **out)
{
    const char *text = *out;
    if (required) {
        tree_text(&body->in, key, true, 20, &text);
    } else {
        tree_text_clear(&body->in, key, 20, &text, NULL);
    }
    if (body->in.failed) {
        return;
    }
    if (text != NULL && strcmp(text, a) != 0 && strcmp(text, b) != 0) {
        tree_refuse(&body->in, key, "must be %s or %s", a, b);
        return;
    }
    *out = text;
}

static bool take_pain(struct tree *tree, int index, void *to)
{
    unsigned *pain = to;
    unsigned bit = 0;
    const char *name = tree_here(tree);
    (void)index;
    if (name == NULL || !area_parse(name, &bit)) {
        return tree_refuse(tree, NULL,
                           "must be neck, shoulder, elbow, wrist, upper back, low back, hip, knee or ankle");
    }
    *pain |= bit;
    return true;
}

static void read_pain(struct body *body, struct store_student *student)
{
    unsigned pain = 0;
    if (tree_has(&body->in, "pain") &&
        tree_list(&body->in, "pain", true, INT_MAX, "must be a list of areas", take_pain, &pain, NULL)) {
        student->pain = pain;
    }
}

struct first_consent {
    struct store_student *student;
    int64_t now;
};

static bool take_consent(struct tree *tree, int index, void *to)
{
    const struct first_consent *consent = to;
    const char *by = NULL;
    const char *when = NULL;
    int64_t given = consent->now;
    (void)index;
    if (!tree_name(tree, "by", true, 200, &by) || !tree_text(tree, "at", false, 40, &when)) {
        return false;
    }
    if (when != NULL && !time_parse(when, &given)) {
        return tree_refuse(tree, "at", "must be a time with its zone, like 2026-05-02T09:14:05Z");
    }
    if (consent_given(tree, "at", given, consent->now)) {
        consent->student->consent_by = by;
        consent->student->consent_at = given;
    }
    return true;
}

static void read_consent(struct body *body, struct store_student *student)
{
    static const char *const keys[] = {"by", "at", NULL};
    struct first_consent consent = {student, body->call->now};
    if (tree_given(&body->in, "consent")) {
        tree_object(&body->in, "consent", true, keys, take_consent, &consent);
    }
}

/* Nobody was born tomorrow. */
static bool born_by_now(const struct body *body, const char *date)
{
    char today[TIME_TEXT];
    time_format(body->call->now, today);
    return strncmp(date, today, strlen(date)) <= 0;
}

static void read_birth_year(struct body *body, struct store_student *student)
{
    int year = student->birth_year;
    char text[8];
    if (!tree_has(&body->in, "birth_year")) {
        return;
    }
    if (!tree_given(&body->in, "birth_year")) {
        year = 0;
    } else if (!tree_integer(&body->in, "birth_year", false, 1880, 2200, &year)) {
        return;
    }
    (void)snprintf(text, sizeof text, "%04d", year);
    if (year != 0 && !born_by_now(body, text)) {
        tree_refuse(&body->in, "birth_year", "lies in the future");
    } else if (student->birth_date != NULL && year != student->birth_year) {
        tree_refuse(&body->in, "birth_year",
                    "must be the year of birth_date; to leave the year alone, clear birth_date");
    } else {
        student->birth_year = year;
    }
}

static void read_birth(struct body *body, struct store_student *student)
{
    const char *date = student->birth_date;
    int year;
    int month;
    int day;
    tree_text_clear(&body->in, "birth_date", 10, &date, NULL);
    if (body->in.failed) {
        return;
    }
    if (date != NULL && (!date_parse(date, &year, &month, &day) || year < 1880)) {
        tree_refuse(&body->in, "birth_date", "must be a day like 2012-05-02");
        return;
    }
    if (date != NULL && !born_by_now(body, date)) {
        tree_refuse(&body->in, "birth_date", "lies in the future");
        return;
    }
    student->birth_date = date;
    student->birth_year = date != NULL ? year : student->birth_year;
    read_birth_year(body, student);
}

/* Where the age is known it says who is a junior: consent, notes, drills and care go by it. */
static void read_young(struct body *body, struct store_student *student)
{
    bool told = student->junior;
    const bool given = tree_has(&body->in, "junior") && tree_boolean(&body->in, "junior", false, &told);
    const int age = player_age(student->birth_date, student->birth_year, body->call->now);
    if (body->in.failed) {
        return;
    }
    student->junior = age < 0 ? told : age <= JUNIOR_AGE_MAX;
    if (given && told != student->junior) {
        tree_refuse(&body->in, "junior", "must be %s",
                    told ? "false: who is 18 is grown up"
                         : "true: whoever may be under 18 is a junior; with the year of birth alone, until the year of "
                           "18 is over");
    } else if (student->junior && age < 0) {
        tree_refuse(&body->in, "birth_year",
                    "must be there for a junior, or birth_date: drills, doses and hours of sport go by the age");
    }
}

/* No more than that it may be one: whether it is, a letter or a call tells. */
static void read_contact(struct body *body, struct store_student *student)
{
    const char *email = student->email;
    const char *phone = student->phone;
    tree_text_clear(&body->in, "member_number", 40, &student->member_number, NULL);
    tree_text_clear(&body->in, "email", 254, &email, NULL);
    tree_text_clear(&body->in, "phone", 40, &phone, NULL);
    const char *at = email == NULL ? NULL : strchr(email, '@');
    if (body->in.failed) {
        return;
    }
    if (email != NULL && (at == NULL || at == email || at[1] == '\0' || strchr(at + 1, '@') != NULL ||
                          strpbrk(email, " \t\r\n<>,;") != NULL)) {
        tree_refuse(&body->in, "email", "must be one address, like name@example.org");
    } else if (phone != NULL && (strspn(phone, "+0123456789 ()/.-") != strlen(phone) ||
                                 strpbrk(phone, "0123456789") == NULL || strlen(phone) < 3)) {
        tree_refuse(&body->in, "phone", "must be a number, like +44 20 7946 0018");
    } else {
        student->email = email;
        student->phone = phone;
    }
}

void student_read(struct body *body, struct store_student *student, bool fresh)
{
    bool archived = student->archived != 0;
    tree_name(&body->in, "name", fresh, 200, &student->name);
    read_choice(body, "hand", fresh || tree_has(&body->in, "hand"), "right", "left", &student->hand);
    read_choice(body, "sex", false, "female", "male", &student->sex);
    read_birth(body, student);
    tree_number_clear(&body->in, "height_m", 0.5, 2.6, &student->height_m, &student->has_height);
    tree_number_clear(&body->in, "handicap", -10, 54, &student->handicap, &student->has_handicap);
    tree_text_clear(&body->in, "tendencies", TENDENCIES_MAX, &student->tendencies, NULL);
    read_pain(body, student);
    tree_text_clear(&body->in, "pain_note", 2000, &student->pain_note, NULL);
    tree_text_clear(&body->in, "wants", 2000, &student->wants, NULL);
    read_contact(body, student);
    read_young(body, student);
    if (fresh) {
        read_consent(body, student);
    } else if (tree_has(&body->in, "consent")) {
        tree_refuse(&body->in, "consent", "is given and taken back at /v1/students/{id}/consents");
    }
    tree_boolean(&body->in, "archived", false, &archived);
    if (archived != (student->archived != 0)) {
        student->archived = archived ? body->call->now : 0;
    }
}

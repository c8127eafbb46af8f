/* See student_json.h. */
#include "api/student_json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/answer.h"
#include "api/scoring.h"

#define TENDENCIES_MAX 2000

const char *const student_keys[] = {"name", "hand",      "sex",   "birth_year", "height_m", "handicap", "tendencies",
                                    "pain", "pain_note", "wants", "junior",     "consent",  "archived", NULL};

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
    optional_number(out, "birth_year", student->birth_year != 0, student->birth_year);
    optional_number(out, "height_m", student->has_height, student->height_m);
    optional_number(out, "handicap", student->has_handicap, student->handicap);
    json_out_text(out, "tendencies", student->tendencies);
    json_out_array(out, "pain");
    for (unsigned bit = 0; bit < AREA_BITS; bit++) {
        if ((student->pain >> bit & 1U) != 0) {
            json_out_text(out, NULL, area_name((enum area)(1U << bit)));
        }
    }
    json_out_end_array(out);
    json_out_text(out, "pain_note", student->pain_note);
    json_out_text(out, "wants", student->wants);
    json_out_bool(out, "junior", student->junior);
    consent_json(out, student);
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
        body_text(body, key, true, 20, &text);
    } else {
        body_text_clear(body, key, 20, &text, NULL);
    }
    if (body->failed) {
        return;
    }
    if (text != NULL && strcmp(text, a) != 0 && strcmp(text, b) != 0) {
        body_refuse(body, key, "must be %s or %s", a, b);
        return;
    }
    *out = text;
}

static void read_pain(struct body *body, struct store_student *student)
{
    const json_t *list = json_object_get(body->json, "pain");
    unsigned pain = 0;
    if (list == NULL || body->failed) {
        return;
    }
    if (!json_is_array(list)) {
        body_refuse(body, "pain", "must be a list of areas");
        return;
    }
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *name = json_string_value(json_array_get(list, i));
        unsigned bit = 0;
        char path[32];
        if (name == NULL || !area_parse(name, &bit)) {
            (void)snprintf(path, sizeof path, "pain[%zu]", i);
            body_refuse(body, path, "must be neck, shoulder, elbow, wrist, upper back, low back, hip, knee or ankle");
            return;
        }
        pain |= bit;
    }
    student->pain = pain;
}

static void read_consent(struct body *body, struct store_student *student)
{
    static const char *const keys[] = {"by", "at", NULL};
    const json_t *consent = json_object_get(body->json, "consent");
    const struct wire_at at = wire_key(NULL, "consent");
    const char *by = NULL;
    const char *when = NULL;
    if (consent == NULL || body->failed) {
        return;
    }
    if (json_is_null(consent)) {
        student->consent_by = NULL;
        student->consent_at = 0;
        return;
    }
    if (!wire_object(consent, keys, &at, &body->error) ||
        !wire_name(body->call->arena, consent, "by", true, 200, &by, &at, &body->error) ||
        !wire_text(body->call->arena, consent, "at", false, 40, &when, &at, &body->error)) {
        body->failed = true;
        return;
    }
    student->consent_by = by;
    student->consent_at = body->call->now;
    if (when != NULL && !time_parse(when, &student->consent_at)) {
        body_refuse(body, "consent.at", "must be a time with its zone, like 2026-05-02T09:14:05Z");
    }
}

static void read_birth_year(struct body *body, struct store_student *student)
{
    if (json_is_null(json_object_get(body->json, "birth_year"))) {
        student->birth_year = 0;
    } else {
        body_integer(body, "birth_year", false, 1880, 2200, &student->birth_year);
    }
}

/* Who is a child by the year of birth is a junior: consent, drills and care go by it, whatever was left unsaid. */
static void read_young(struct body *body, struct store_student *student)
{
    const int age = scoring_age(student->birth_year, body->call->now);
    if (body->failed || age < 0 || age > JUNIOR_AGE_MAX || student->junior) {
        return;
    }
    if (body_has(body, "junior")) {
        body_refuse(body, "junior", "must be true: by the year of birth this is a child");
        return;
    }
    student->junior = true;
}

void student_read(struct body *body, struct store_student *student, bool fresh)
{
    bool archived = student->archived != 0;
    body_name(body, "name", fresh, 200, &student->name);
    read_choice(body, "hand", fresh || body_has(body, "hand"), "right", "left", &student->hand);
    read_choice(body, "sex", false, "female", "male", &student->sex);
    read_birth_year(body, student);
    body_number_clear(body, "height_m", 0.5, 2.6, &student->height_m, &student->has_height);
    body_number_clear(body, "handicap", -10, 54, &student->handicap, &student->has_handicap);
    body_text_clear(body, "tendencies", TENDENCIES_MAX, &student->tendencies, NULL);
    read_pain(body, student);
    body_text_clear(body, "pain_note", 2000, &student->pain_note, NULL);
    body_text_clear(body, "wants", 2000, &student->wants, NULL);
    body_bool(body, "junior", false, &student->junior);
    read_young(body, student);
    if (!body->failed && student->junior && student->birth_year == 0) {
        body_refuse(body, "birth_year", "must be there for a junior: drills, doses and hours of sport go by the age");
    }
    read_consent(body, student);
    body_bool(body, "archived", false, &archived);
    if (archived != (student->archived != 0)) {
        student->archived = archived ? body->call->now : 0;
    }
}

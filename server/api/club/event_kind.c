/* See event_kind.h. */
#include "api/club/event_kind.h"

#include <stdio.h>
#include <string.h>

#include "auth/rights.h"
#include "store/lessons/note.h"

enum place { PLACE_WHOLE, PLACE_OBJECT, PLACE_STUDENT }; /* what stands in the address */

struct kind {
    const char *entity, *action; /* of the audit; action: how it begins, NULL = whatever */
    const char *name;
    unsigned roles;
    bool own; /* only whoever did it hears of it, on other pages of the same account */
    enum place place;
    const char *before, *after; /* the id */
};

#define STUDENTS "/v1/students/"

/* Others' opinions of a swing are blind until one's own is given, so nobody is told of one. */
static const struct kind kinds[] = {
    {"student", NULL, "student", RIGHTS_EVERYONE, false, PLACE_STUDENT, STUDENTS, ""},
    {"account", "team.", "team", RIGHTS_EVERYONE, false, PLACE_STUDENT, STUDENTS, ""},
    {"account", "account.", "account", RIGHTS_HEAD, false, PLACE_WHOLE, "/v1/accounts", ""},
    {"list", "student.", "students", RIGHTS_HEAD, false, PLACE_WHOLE, "/v1/students", ""},
    {"device", NULL, "device", RIGHTS_HEAD, false, PLACE_OBJECT, "/v1/devices/", ""},
    {"note", NULL, "note", RIGHTS_EVERYONE, false, PLACE_OBJECT, "/v1/notes/", ""},
    {"swing", NULL, "swing", RIGHTS_EVERYONE, false, PLACE_OBJECT, "/v1/swings/", ""},
    {"still", NULL, "still", RIGHTS_EVERYONE, false, PLACE_STUDENT, STUDENTS, "/swings"},
    {"lesson", NULL, "lesson", RIGHTS_EVERYONE, false, PLACE_OBJECT, "/v1/lessons/", "/report"},
    {"fix", NULL, "fix", RIGHTS_EVERYONE, false, PLACE_OBJECT, "/v1/fixes/", ""},
    {"homework", NULL, "homework", RIGHTS_EVERYONE, false, PLACE_OBJECT, "/v1/homework/", ""},
    {"homework_done", NULL, "homework", RIGHTS_EVERYONE, false, PLACE_STUDENT, STUDENTS, "/homework"},
    {"round", NULL, "round", RIGHTS_EVERYONE, false, PLACE_STUDENT, STUDENTS, "/rounds"},
    {"retest", NULL, "retest", RIGHTS_STAFF, false, PLACE_STUDENT, STUDENTS, "/retests"},
    {"handover", NULL, "handover", RIGHTS_STAFF, false, PLACE_WHOLE, "/v1/inbox", ""},
    {"consent", NULL, "consent", RIGHTS_EVERYONE, false, PLACE_STUDENT, STUDENTS, "/consents"},
    {"inbox", NULL, "inbox", RIGHTS_STAFF, true, PLACE_WHOLE, "/v1/inbox", ""},
    {"drill", NULL, "drill", RIGHTS_EVERYONE, false, PLACE_OBJECT, "/v1/drills/", ""},
    {"standard", NULL, "standard", RIGHTS_STAFF, false, PLACE_WHOLE, "/v1/standard", ""},
    {"markers", NULL, "markers", RIGHTS_STAFF, false, PLACE_WHOLE, "/v1/markers", ""},
};

/* A coach's list grew or shrank: told also to whoever is no longer on the team, and then without the student. */
static const struct kind own_list = {NULL, NULL, "students", RIGHTS_STAFF, false, PLACE_WHOLE, "/v1/students", ""};

static const struct kind *kind_of(const struct store_event *event)
{
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        const char *action = kinds[i].action;
        if (strcmp(kinds[i].entity, event->entity) == 0 &&
            (action == NULL || strncmp(action, event->action, strlen(action)) == 0)) {
            return &kinds[i];
        }
    }
    return NULL;
}

static bool same(const char *one, const char *other)
{
    return one[0] != '\0' && strcmp(one, other) == 0;
}

static bool changes_list_of(const struct store_event *event, const struct principal *principal)
{
    return strncmp(event->action, "team.", 5) == 0 && same(event->object_id, principal->account_id);
}

/* What can be said without the store. */
enum first { FIRST_NO, FIRST_YES, FIRST_BY_STUDENT };

static enum first judge(const struct store_event *event, const struct principal *principal)
{
    const struct kind *kind = kind_of(event);
    if (kind == NULL || (kind->roles & (1U << principal->role)) == 0) {
        return FIRST_NO;
    }
    if (kind->own) {
        return same(event->account_id, principal->account_id) ? FIRST_YES : FIRST_NO;
    }
    const bool addressed = same(event->from_id, principal->account_id) || same(event->to_id, principal->account_id);
    if (principal->role == STORE_HEAD || addressed || changes_list_of(event, principal)) {
        return FIRST_YES;
    }
    const bool note = strcmp(kind->name, "note") == 0;
    const unsigned readers = principal->role == STORE_STUDENT    ? STORE_NOTE_STUDENT
                             : principal->role == STORE_GUARDIAN ? STORE_NOTE_READ_BY_GUARDIAN
                                                                 : ~0U;
    if (note && principal->role != STORE_COACH && (event->readers & readers) == 0) {
        return FIRST_NO;
    }
    return event->student_id[0] == '\0' ? FIRST_YES : FIRST_BY_STUDENT;
}

bool event_may_concern(const struct store_event *event, const struct principal *principal,
                       const struct store_id_list *audience)
{
    const enum first first = judge(event, principal);
    if (first != FIRST_BY_STUDENT) {
        return first == FIRST_YES;
    }
    if (principal->role == STORE_STUDENT) {
        return same(event->student_id, principal->student_id);
    }
    for (size_t i = 0; i < audience->count; i++) {
        if (strcmp(audience->items[i], principal->account_id) == 0) {
            return true;
        }
    }
    return audience->more;
}

enum store_status event_concerns(struct store_db *db, const struct store_event *event,
                                 const struct principal *principal, bool *out)
{
    enum rights_membership membership = RIGHTS_STRANGER;
    const enum first first = judge(event, principal);
    *out = first == FIRST_YES;
    if (first != FIRST_BY_STUDENT) {
        return STORE_OK;
    }
    const enum store_status status = rights_find_membership(db, principal, event->student_id, &membership);
    *out = status == STORE_OK && rights_check(RIGHTS_EVERYONE, RIGHTS_TEAM, principal, membership, false) == RIGHTS_YES;
    return status;
}

size_t event_write(const struct store_event *event, const struct principal *principal, char out[EVENT_TEXT])
{
    const struct kind *kind = changes_list_of(event, principal) ? &own_list : kind_of(event);
    const char *id = kind->place == PLACE_OBJECT    ? event->object_id
                     : kind->place == PLACE_STUDENT ? event->student_id
                                                    : "";
    const bool about = kind != &own_list && event->student_id[0] != '\0' && strcmp(kind->name, "account") != 0;
    const char *quote = about ? "\"" : "";
    const int length = snprintf(
        out, EVENT_TEXT, "id: %s\nevent: change\ndata: {\"kind\":\"%s\",\"path\":\"%s%s%s\",\"student_id\":%s%s%s}\n\n",
        event->id, kind->name, kind->before, id, kind->after, quote, about ? event->student_id : "null", quote);
    return length > 0 && length < EVENT_TEXT ? (size_t)length : 0;
}

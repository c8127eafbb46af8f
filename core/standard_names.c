/* The names that a standard uses: faults, stages, player classes, evidence. */
#include <stddef.h>
#include <string.h>

#include "core/standard.h"

static const char *const fault_names[FAULT_COUNT] = {
#define X(id, name) [FAULT_##id] = (name),
    FAULT_CATALOGUE(X)
#undef X
};
static const char *const stage_names[STAGE_COUNT] = {
    [STAGE_SET_UP] = "set-up",   [STAGE_TAKEAWAY] = "takeaway",   [STAGE_BACKSWING] = "backswing",
    [STAGE_TOP] = "top",         [STAGE_DOWNSWING] = "downswing", [STAGE_IMPACT] = "impact",
    [STAGE_THROUGH] = "through", [STAGE_FINISH] = "finish",       [STAGE_WHOLE] = "whole",
};
static const char *const club_names[CLUB_CLASS_COUNT] = {"any", "wood", "iron", "wedge"};
static const char *const sex_names[SEX_COUNT] = {"any", "female", "male"};
static const char *const age_names[AGE_BAND_COUNT] = {"any", "junior", "adult", "senior"};
static const char *const evidence_names[EVIDENCE_COUNT] = {"common practice", "published", "contested"};

static const char *name_at(const char *const *names, int count, int index)
{
    return index >= 0 && index < count ? names[index] : NULL;
}

static int index_of(const char *const *names, int count, const char *name)
{
    for (int i = 0; name != NULL && i < count; i++) {
        if (strcmp(names[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

const char *fault_name(enum fault_id fault)
{
    return name_at(fault_names, FAULT_COUNT, (int)fault);
}

bool fault_parse(const char *name, enum fault_id *out)
{
    int found = index_of(fault_names, FAULT_COUNT, name);
    if (found >= 0) {
        *out = (enum fault_id)found;
    }
    return found >= 0;
}

const char *stage_name(enum fault_stage stage)
{
    return name_at(stage_names, STAGE_COUNT, (int)stage);
}

bool stage_parse(const char *name, enum fault_stage *out)
{
    int found = index_of(stage_names, STAGE_COUNT, name);
    if (found >= 0) {
        *out = (enum fault_stage)found;
    }
    return found >= 0;
}

const char *club_class_name(enum club_class club)
{
    return name_at(club_names, CLUB_CLASS_COUNT, (int)club);
}

bool club_class_parse(const char *name, enum club_class *out)
{
    int found = index_of(club_names, CLUB_CLASS_COUNT, name);
    if (found >= 0) {
        *out = (enum club_class)found;
    }
    return found >= 0;
}

const char *sex_name(enum sex sex)
{
    return name_at(sex_names, SEX_COUNT, (int)sex);
}

bool sex_parse(const char *name, enum sex *out)
{
    int found = index_of(sex_names, SEX_COUNT, name);
    if (found >= 0) {
        *out = (enum sex)found;
    }
    return found >= 0;
}

const char *age_band_name(enum age_band age)
{
    return name_at(age_names, AGE_BAND_COUNT, (int)age);
}

bool age_band_parse(const char *name, enum age_band *out)
{
    int found = index_of(age_names, AGE_BAND_COUNT, name);
    if (found >= 0) {
        *out = (enum age_band)found;
    }
    return found >= 0;
}

const char *evidence_name(enum evidence evidence)
{
    return name_at(evidence_names, EVIDENCE_COUNT, (int)evidence);
}

bool evidence_parse(const char *name, enum evidence *out)
{
    int found = index_of(evidence_names, EVIDENCE_COUNT, name);
    if (found >= 0) {
        *out = (enum evidence)found;
    }
    return found >= 0;
}

enum club_class club_class_of(enum club_kind kind)
{
    switch (kind) {
    case CLUB_DRIVER:
    case CLUB_WOOD:
    case CLUB_HYBRID:
        return CLUB_CLASS_WOOD;
    case CLUB_IRON:
        return CLUB_CLASS_IRON;
    case CLUB_WEDGE:
        return CLUB_CLASS_WEDGE;
    case CLUB_UNKNOWN:
    case CLUB_KIND_COUNT:
        break;
    }
    return CLUB_CLASS_ANY;
}

enum age_band age_band_of(int age_years)
{
    if (age_years < 0) {
        return AGE_ANY;
    }
    if (age_years < 18) {
        return AGE_JUNIOR;
    }
    return age_years < 60 ? AGE_ADULT : AGE_SENIOR;
}

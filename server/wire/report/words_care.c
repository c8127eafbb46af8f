/* Doses and cautions: what a sheet always carries, and what a junior's or a sore player's carries besides. */
#include "wire/report/words.h"

const char *words_dose(struct arena *arena, const struct dose *dose)
{
    return arena_printf(arena,
                        "%d short sessions a week of about %d minutes; check yourself every %d repetitions; look again "
                        "after %d days.",
                        dose->sessions_per_week, dose->minutes, dose->self_check_every, dose->retest_days);
}

/* "low back and knee" */
static const char *areas(struct arena *arena, unsigned bits)
{
    const char *names[AREA_BITS];
    int count = 0;
    for (int i = 0; i < AREA_BITS; i++) {
        if (bits & 1U << i) {
            names[count++] = area_name((enum area)(1U << i));
        }
    }
    return words_list(arena, names, count, " and ");
}

const char *words_needs_word(struct arena *arena, const struct drill *drill, unsigned pain, bool unsteady)
{
    const unsigned ruled_out = drill->contraindicated & pain;
    const unsigned loaded = drill->loads & pain & ~ruled_out;
    const char *phrases[3];
    int count = 0;
    if (ruled_out != 0) {
        const char *where = areas(arena, ruled_out);
        phrases[count++] = where == NULL ? NULL : arena_printf(arena, "it is not for a sore %s", where);
    }
    if (loaded != 0) {
        const char *where = areas(arena, loaded);
        phrases[count++] = where == NULL ? NULL : arena_printf(arena, "it loads the %s", where);
    }
    if (drill->balance && unsteady) {
        phrases[count++] = "it asks for balance";
    }
    for (int i = 0; i < count; i++) {
        if (phrases[i] == NULL) {
            return NULL;
        }
    }
    return count == 0 ? "" : words_list(arena, phrases, count, " and ");
}

const char *words_no_drill(struct arena *arena, const struct practice_pick *picks, int count, unsigned pain)
{
    if (count > 0 && !picks[0].needs_confirmation) {
        return "";
    }
    const char *where = pain == 0 ? "" : areas(arena, pain);
    const char *sore = where == NULL ? NULL : pain == 0 ? "" : arena_printf(arena, " (sore: %s)", where);
    if (sore == NULL) {
        return NULL;
    }
    return count > 0
               ? arena_printf(arena,
                              "No drill fits as it is%s: the coach must decide, and give a reason for one of "
                              "these.",
                              sore)
               : arena_printf(arena, "No drill fits body, place and kit%s: the coach must decide what to do.", sore);
}

struct gathered {
    const char **out;
    int count;
    bool failed;
};

static void say(struct gathered *list, const char *text)
{
    list->failed = list->failed || text == NULL;
    if (text != NULL && list->count < CAUTIONS_MAX) {
        list->out[list->count++] = text;
    }
}

int words_cautions(struct arena *arena, const struct drill *const *given, int given_count, int age_years, unsigned pain,
                   const char *out[CAUTIONS_MAX])
{
    struct gathered list = {out, 0, false};
    bool rehearsal = false;
    bool balance = false;
    for (int i = 0; i < given_count; i++) {
        rehearsal = rehearsal || !given[i]->ball;
        balance = balance || given[i]->balance || (given[i]->kit & KIT_SUPPORT) != 0;
    }
    say(&list, "Warm up first, moving.");
    say(&list, "If it hurts, stop; if the pain does not pass, see a doctor or a physiotherapist.");
    say(&list,
        "Clear the space all round: nobody, children above all, within two club lengths. Mind ceilings indoors.");
    if (rehearsal) {
        say(&list, "Use no ball for a drill marked as rehearsal only.");
    }
    if (balance) {
        say(&list, "Do a balance drill only beside something steady that you can hold.");
    }
    say(&list, "Build up gradually. A dip at first is normal; judge a drill after two weeks.");
    if (age_years >= 0 && age_years < 18) {
        say(&list, "An adult is present.");
        say(&list, arena_printf(arena, "No more hours of sport a week, all sports together, than the age in years: %d.",
                                age_years));
    }
    if (pain != 0) {
        const char *where = areas(arena, pain);
        say(&list, where == NULL
                       ? NULL
                       : arena_printf(arena, "Sore: %s. A drill that loads it needs the coach's word first.", where));
    }
    say(&list, "This is coaching, not treatment. Local safeguarding rules, data-protection law and licensed "
               "practitioners come first.");
    return list.failed ? -1 : list.count;
}

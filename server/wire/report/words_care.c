/* Doses and cautions: what a sheet always carries, and what a junior's or a sore player's carries besides. */
#include "wire/report/words.h"

/* "second", "third", "fourth", "5th" */
static const char *ordinal(struct arena *arena, int n)
{
    static const char *const names[] = {"", "single", "second", "third", "fourth"};
    return n >= 1 && n <= 4 ? names[n] : arena_printf(arena, "%dth", n);
}

const char *words_dose(struct arena *arena, const struct dose *dose)
{
    return arena_printf(
        arena,
        "%d short sessions a week of about %d minutes; check yourself every %s try; next check after %d "
        "days.",
        dose->sessions_per_week, dose->minutes, ordinal(arena, dose->self_check_every), dose->retest_days);
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
    const struct codes_word word = codes_word(drill, pain, unsteady);
    const char *phrases[3];
    int count = 0;
    if (word.ruled_out != 0) {
        const char *where = areas(arena, word.ruled_out);
        phrases[count++] = where == NULL ? NULL : arena_printf(arena, "it is not for a sore %s", where);
    }
    if (word.loaded != 0) {
        const char *where = areas(arena, word.loaded);
        phrases[count++] = where == NULL ? NULL : arena_printf(arena, "it loads the %s", where);
    }
    if (word.balance) {
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
    if (codes_no_drill(picks, count) == NULL) {
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

const char *words_caution(struct arena *arena, enum codes_caution caution, int age_years, unsigned pain)
{
    static const char *const fixed[CAUTION_COUNT] = {
        [CAUTION_WARM_UP] = "Warm up first with some easy movement.",
        [CAUTION_STOP_ON_PAIN] = "If it hurts, stop; if the pain does not pass, see a doctor or a physiotherapist.",
        [CAUTION_CLEAR_SPACE] = ("Keep two club lengths clear all round, and keep children well away. Watch out for "
                                 "ceilings indoors."),
        [CAUTION_NO_BALL] = "Don't use a ball for drills marked \"rehearsal only\".",
        [CAUTION_SUPPORT] = "Do a balance drill only beside something steady that you can hold.",
        [CAUTION_BUILD_UP] = "Build up gradually. A dip at first is normal; judge a drill after two weeks.",
        [CAUTION_ADULT] = "Have an adult with you.",
        [CAUTION_NOT_TREATMENT] = "This is coaching, not treatment. Local safeguarding rules, data-protection law and "
                                  "licensed practitioners come first.",
    };
    if (caution == CAUTION_HOURS) {
        return arena_printf(arena, "Do no more than %d hours of sport a week, all sports together.", age_years);
    }
    if (caution != CAUTION_SORE) {
        return fixed[caution];
    }
    const char *where = areas(arena, pain);
    return where == NULL
               ? NULL
               : arena_printf(arena, "Sore: %s. Ask your coach before doing drills that work these areas.", where);
}

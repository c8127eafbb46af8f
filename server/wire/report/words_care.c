/* Doses and cautions: what a sheet always carries, and what a junior's or a sore player's carries besides. */
#include "wire/report/words.h"

const char *words_drill(const struct speaker *say, const char *drill_id, const char *part, const char *text)
{
    return words_translated(say, arena_printf(say->arena, "drill.%s.%s", drill_id, part), text);
}

const char *words_dose(const struct speaker *say, const struct dose *dose)
{
    struct arena *arena = say->arena;
    const char *often = words_say(say, "student.dose", "n", arena_printf(arena, "%d", dose->sessions_per_week),
                                  "minutes", arena_printf(arena, "%d", dose->minutes), NULL);
    const char *check =
        dose->self_check_every == 2
            ? words_say(say, "dose.check.second", NULL)
            : words_say(say, "dose.check", "n", arena_printf(arena, "%d", dose->self_check_every), NULL);
    return words_say(say, "score.dose", "dose", often, "check", check, "days",
                     arena_printf(arena, "%d", dose->retest_days), NULL);
}

/* "low back and knee" */
static const char *areas(const struct speaker *say, unsigned bits)
{
    const char *names[AREA_BITS];
    int count = 0;
    for (int i = 0; i < AREA_BITS; i++) {
        if (bits & 1U << i) {
            names[count++] = words_say_code(say, "area.", area_name((enum area)(1U << i)));
        }
    }
    return words_list(say, names, count, false);
}

/* Two sentences as one text; either may be "". */
static const char *both(const struct speaker *say, const char *first, const char *second)
{
    return first == NULL || second == NULL ? NULL
           : first[0] == '\0'              ? second
           : second[0] == '\0'             ? first
                                           : arena_printf(say->arena, "%s %s", first, second);
}

const char *words_needs_word(const struct speaker *say, const struct drill *drill, unsigned pain, bool unsteady)
{
    const struct codes_word word = codes_word(drill, pain, unsteady);
    const char *text = "";
    if (word.ruled_out != 0) {
        text = words_say(say, "report.word.ruledOut", "areas", areas(say, word.ruled_out), NULL);
    }
    if (word.loaded != 0) {
        text = both(say, text, words_say(say, "report.word.sore", "areas", areas(say, word.loaded), NULL));
    }
    return word.balance ? both(say, text, words_say(say, "report.word.balance", NULL)) : text;
}

const char *words_no_drill(const struct speaker *say, const struct practice_pick *picks, int count, unsigned pain)
{
    const char *code = codes_no_drill(picks, count);
    if (code == NULL) {
        return "";
    }
    return both(say, words_say_code(say, "score.no_drill.", code),
                pain == 0 ? "" : words_say(say, "care.sore", "areas", areas(say, pain), NULL));
}

const char *words_caution(const struct speaker *say, enum codes_caution caution, int age_years, unsigned pain)
{
    const char *key = arena_printf(say->arena, "caution.%s", codes_caution_name(caution));
    return key == NULL ? NULL
                       : words_say(say, key, "hours", arena_printf(say->arena, "%d", age_years), "areas",
                                   areas(say, pain), NULL);
}

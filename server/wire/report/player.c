/* See player.h. */
#include "wire/report/player.h"

#include <string.h>

#include "base/times.h"

struct date {
    int year, month, day;
};

static struct date date_of(int64_t now)
{
    char text[TIME_TEXT];
    struct date date = {0};
    time_format(now, text);
    text[10] = '\0';
    (void)date_parse(text, &date.year, &date.month, &date.day);
    return date;
}

int player_age(const char *birth_date, int birth_year, int64_t now)
{
    const struct date today = date_of(now);
    struct date born;
    if (birth_date != NULL && date_parse(birth_date, &born.year, &born.month, &born.day)) {
        const bool waits = today.month < born.month || (today.month == born.month && today.day < born.day);
        const int age = today.year - born.year - (waits ? 1 : 0);
        return age < 0 ? 0 : age;
    }
    if (birth_year <= 0) {
        return -1;
    }
    const int older = today.year - birth_year;
    return older < 1 ? 0 : older - 1 <= JUNIOR_AGE_MAX ? older - 1 : older;
}

void player_score(const struct player_known *player, int64_t now, struct score_player *out)
{
    *out = (struct score_player){.pain = player->pain, .height_m = player->height_m};
    if (player->sex != NULL && !sex_parse(player->sex, &out->sex)) {
        out->sex = SEX_ANY;
    }
    out->age_years = player_age(player->birth_date, player->birth_year, now);
    if (player->junior && (out->age_years < 0 || out->age_years > JUNIOR_AGE_MAX)) {
        out->age_years = JUNIOR_AGE_MAX;
    }
}

const char *player_hand_note(const char *recorded, enum hand hand)
{
    const bool left = recorded != NULL && strcmp(recorded, "left") == 0;
    return left == (hand == HAND_LEFT)
               ? NULL
               : "The document is of a player of the other hand than this student is recorded with. Check whose swing "
                 "it is.";
}

/* See marker_query.h. */
#include "api/lessons/marker_query.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

enum { HAND, TARGET, UP, CLUB, CLUB_NUMBER, CLUB_LENGTH, RECORDED_AT, QUERIES };
static const char *const names[QUERIES] = {"hand",        "target",        "up",         "club",
                                           "club_number", "club_length_m", "recorded_at"};

const char *marker_query_any(const struct call *call)
{
    for (int i = 0; i < QUERIES; i++) {
        if (exchange_query(call->exchange, names[i]) != NULL) {
            return names[i];
        }
    }
    return NULL;
}

/* A + that was not encoded comes as a space. */
static bool axis_read(const char *text, enum lab_axis *out)
{
    const char plus[] = {'+', text[0] == '\0' ? '\0' : text[1], '\0'};
    return lab_axis_parse(text[0] == ' ' && strlen(text) == 2 ? plus : text, out);
}

/* Plain digits with a point; limits are the reader's. */
static bool number_read(const char *text, struct maybe *out)
{
    char *end = NULL;
    if (*text == '\0' || strlen(text) > 12 || strspn(text, "0123456789.") != strlen(text)) {
        return false;
    }
    *out = (struct maybe){.given = true, .value = strtod(text, &end)};
    return *end == '\0';
}

static bool hand_read(const char *text, enum hand *out)
{
    *out = strcmp(text, "left") == 0 ? HAND_LEFT : HAND_RIGHT;
    return strcmp(text, "left") == 0 || strcmp(text, "right") == 0;
}

static bool time_read(const char *text, char out[TIME_TEXT])
{
    int64_t ms;
    if (!time_parse(text, &ms)) {
        return false;
    }
    time_format(ms, out);
    return true;
}

static bool value_read(int query, const char *text, struct swing_reading *out)
{
    switch (query) {
    case HAND:
        return hand_read(text, &out->hand);
    case TARGET:
        return out->target_given = axis_read(text, &out->axes.target);
    case UP:
        return out->up_given = axis_read(text, &out->axes.up);
    case CLUB:
        return club_kind_parse(text, &out->club);
    case CLUB_NUMBER:
        return number_read(text, &out->club_number);
    case CLUB_LENGTH:
        return number_read(text, &out->club_length_m);
    default:
        return time_read(text, out->recorded_at);
    }
}

bool marker_query_read(struct call *call, const char *hand, struct swing_reading *out)
{
    static const char *const wanted[QUERIES] = {"right or left",
                                                "+x, -x, +y, -y, +z or -z (%2B stands for +)",
                                                "+x, -x, +y, -y, +z or -z (%2B stands for +)",
                                                "a kind of club, such as iron",
                                                "a number, such as 7",
                                                "a length in metres, such as 0.94",
                                                "a time with its zone, such as 2026-05-02T09:14:05Z"};
    out->hand_given = hand != NULL && hand_read(hand, &out->hand);
    time_format(call->now, out->recorded_at);
    for (int i = 0; i < QUERIES; i++) {
        const char *text = exchange_query(call->exchange, names[i]);
        if (text == NULL) {
            continue;
        }
        if (!value_read(i, text, out)) {
            exchange_problem(call->exchange, 422, "invalid", names[i], "%s must be %s.", names[i], wanted[i]);
            return false;
        }
        out->hand_given = out->hand_given || i == HAND;
    }
    return true;
}

void marker_query_hash(const struct call *call, enum swing_media media, const uint8_t document_hash[STORE_HASH],
                       uint8_t out[STORE_HASH])
{
    crypto_hash_sha256_state state;
    const char *name = swing_media_name(media);
    crypto_hash_sha256_init(&state);
    crypto_hash_sha256_update(&state, document_hash, STORE_HASH);
    crypto_hash_sha256_update(&state, (const unsigned char *)name, strlen(name) + 1);
    for (int i = 0; i < QUERIES; i++) {
        const char *text = exchange_query(call->exchange, names[i]);
        if (text != NULL) {
            crypto_hash_sha256_update(&state, (const unsigned char *)names[i], strlen(names[i]) + 1);
            crypto_hash_sha256_update(&state, (const unsigned char *)text, strlen(text) + 1);
        }
    }
    crypto_hash_sha256_final(&state, out);
}

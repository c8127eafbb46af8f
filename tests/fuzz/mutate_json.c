/* A mutator that keeps JSON in shape, so that more inputs come past the parser and into the rules behind it. */
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "fuzz.h"

#define VALUES_MAX 4096

/* xorshift: every choice comes from libFuzzer's seed. */
struct choice {
    uint32_t state;
};

static uint32_t choose(struct choice *choice, uint32_t below)
{
    uint32_t x = choice->state;
    x ^= x << 13U;
    x ^= x >> 17U;
    x ^= x << 5U;
    choice->state = x;
    return below == 0 ? 0 : x % below;
}

/* Every value of a tree with the container that holds it. */
struct spot {
    json_t *holder;
    const char *key; /* in an object */
    size_t index;    /* in an array */
    json_t *value;
};

struct spots {
    struct spot list[VALUES_MAX];
    size_t count;
};

static void gather(json_t *holder, struct spots *out)
{
    const char *key;
    size_t index;
    json_t *value;
    if (json_is_object(holder)) {
        json_object_foreach(holder, key, value)
        {
            if (out->count < VALUES_MAX) {
                out->list[out->count++] = (struct spot){holder, key, 0, value};
                gather(value, out);
            }
        }
    }
    json_array_foreach(holder, index, value)
    {
        if (out->count < VALUES_MAX) {
            out->list[out->count++] = (struct spot){holder, NULL, index, value};
            gather(value, out);
        }
    }
}

static void put(const struct spot *spot, json_t *value)
{
    /* both functions steal the value, on failure too; the tree is thrown away then */
    (void)(spot->key != NULL ? json_object_set_new(spot->holder, spot->key, value)
                             : json_array_set_new(spot->holder, spot->index, value));
}

/* Small steps mostly: what is read at all is read still, and comes to the edges of the rules. */
static json_t *number(const json_t *old, struct choice *choice)
{
    static const double edges[] = {0,   -0.0, 1,    -1,   0.5,  2,     10,    45,   90,    -90,   100,   180,   360,
                                   0.2, 0.8,  1e-9, 1e-3, 1e-6, 1e300, -1e17, 1920, 1e-30, 1e-60, 1e-99, 1e-17, 5000};
    const double value = json_number_value(old);
    if (json_is_integer(old) && choose(choice, 2) == 0) {
        return json_integer(json_integer_value(old) + (json_int_t)choose(choice, 7) - 3);
    }
    switch (choose(choice, 8)) {
    case 0:
        return json_real(edges[choose(choice, sizeof edges / sizeof *edges)]);
    case 1:
        return json_real(-value);
    case 2:
        return json_real(value * choose(choice, 1000) / 500.0);
    case 3:
        return json_real(value * 1e-6 * choose(choice, 100));
    case 4:
        return json_real(value + (choose(choice, 2000) - 1000.0) / 1000.0);
    default:
        return json_real(value * (0.95 + choose(choice, 1000) / 1e4));
    }
}

/* Another value of the same name, or of a list's neighbours: then it is of the right kind. NULL when there is none. */
static const json_t *alike(const struct spot *spot, const struct spots *spots, struct choice *choice)
{
    for (int i = 0; i < 64; i++) {
        const struct spot *other = &spots->list[choose(choice, (uint32_t)spots->count)];
        const bool same_key = spot->key != NULL && other->key != NULL && strcmp(spot->key, other->key) == 0;
        const bool same_list =
            spot->key == NULL && other->key == NULL && json_typeof(spot->value) == json_typeof(other->value);
        if ((same_key || same_list) && other->value != spot->value) {
            return other->value;
        }
    }
    return NULL;
}

/* A text that stands elsewhere, of the same name if there is one: names are known ones then. */
static json_t *text(const struct spot *spot, const struct spots *spots, struct choice *choice)
{
    const json_t *other = choose(choice, 4) == 0 ? NULL : alike(spot, spots, choice);
    for (int i = 0; other == NULL && i < 12; i++) {
        const struct spot *any = &spots->list[choose(choice, (uint32_t)spots->count)];
        other = json_is_string(any->value) ? any->value : NULL;
    }
    return json_deep_copy(other == NULL ? spot->value : other);
}

static json_t *scalar(const struct spot *spot, const struct spots *spots, struct choice *choice)
{
    if (json_is_boolean(spot->value)) {
        return json_boolean(choose(choice, 2));
    }
    if (json_is_number(spot->value)) {
        return choose(choice, 40) == 0 ? json_null() : number(spot->value, choice);
    }
    return json_is_string(spot->value) ? text(spot, spots, choice) : json_null();
}

static void take_out(const struct spot *spot)
{
    (void)(spot->key != NULL ? json_object_del(spot->holder, spot->key) : json_array_remove(spot->holder, spot->index));
}

/* A list gets one entry more, a copy of one it has; anything else is written over by its like, or seldom by whatever.
 */
static void graft(const struct spot *spot, const struct spots *spots, struct choice *choice)
{
    const uint32_t kind = choose(choice, 8);
    if (json_is_array(spot->value) && json_array_size(spot->value) > 0 && kind < 4) {
        const size_t from = choose(choice, (uint32_t)json_array_size(spot->value));
        (void)json_array_append_new(spot->value, json_deep_copy(json_array_get(spot->value, from)));
        return;
    }
    const json_t *other =
        kind == 7 ? spots->list[choose(choice, (uint32_t)spots->count)].value : alike(spot, spots, choice);
    if (other != NULL) {
        put(spot, json_deep_copy(other));
    }
}

/* Leaves are found more often than what holds them, so each kind of change first draws its own kind of spot. */
static const struct spot *draw(const struct spots *spots, bool leaf, struct choice *choice)
{
    const struct spot *spot = NULL;
    for (int i = 0; i < 16; i++) {
        spot = &spots->list[choose(choice, (uint32_t)spots->count)];
        if (leaf != (json_is_object(spot->value) || json_is_array(spot->value))) {
            break;
        }
    }
    return spot;
}

static void mutate(json_t *root, struct choice *choice)
{
    static struct spots spots;
    spots.count = 0;
    gather(root, &spots);
    if (spots.count == 0) {
        return;
    }
    const uint32_t kind = choose(choice, 16);
    if (kind < 2) {
        take_out(draw(&spots, kind == 0, choice));
    } else if (kind < 5) {
        graft(draw(&spots, false, choice), &spots, choice);
    } else {
        const struct spot *spot = draw(&spots, true, choice);
        put(spot, scalar(spot, &spots, choice));
    }
}

size_t fuzz_json_mutate(uint8_t *data, size_t size, size_t max_size, uint32_t seed)
{
    struct choice choice = {seed * 2654435761U | 1U};
    if (choose(&choice, 8) == 0) {
        return 0; /* bytes need their turn too */
    }
    json_t *root = json_loadb((const char *)data, size, 0, NULL);
    if (root == NULL) {
        return 0;
    }
    mutate(root, &choice);
    const size_t length = json_dumpb(root, (char *)data, max_size, JSON_COMPACT | JSON_REAL_PRECISION(9));
    json_decref(root);
    return length <= max_size ? length : 0;
}

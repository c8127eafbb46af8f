/* jansson's reading half over the pull reader: members in order, nothing freed one by one. Texts are shorter than
 * TEXT_MAX, which is more than any of the rules may hold. Called by the names and with the types of <jansson.h>. */
#include "module/jansson_part.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wire/json/in.h"
#include "wire/json/load.h"

#define TEXT_MAX 8192
#define KEY_SIZE 128
#define EXACT 9007199254740992.0 /* whole numbers up to here are what they say */

struct node {
    json_t value; /* first, so that one is the other */
    const char *key, *text;
    size_t size; /* of a text in bytes, else the members */
    double number;
    struct node *first, *next;
};

static struct arena *trees;

void jansson_use(struct arena *arena)
{
    trees = arena;
}

static const struct node *node_of(const json_t *value)
{
    return (const struct node *)value;
}

static struct node *node_read(struct json_in *in);

static bool node_add(struct node *node, struct node ***end, struct node *member)
{
    if (member == NULL) {
        return false;
    }
    **end = member;
    *end = &member->next;
    node->size++;
    return true;
}

static bool array_read(struct json_in *in, struct node *node)
{
    struct node **end = &node->first;
    int count = 0;
    node->value.type = JSON_ARRAY;
    if (!json_in_open(in, '[')) {
        return false;
    }
    while (json_in_next_item(in, &count)) {
        if (!node_add(node, &end, node_read(in))) {
            return false;
        }
    }
    return in->error == NULL;
}

static bool object_read(struct json_in *in, struct node *node)
{
    struct node **end = &node->first;
    char key[KEY_SIZE];
    int count = 0;
    node->value.type = JSON_OBJECT;
    if (!json_in_open(in, '{')) {
        return false;
    }
    while (json_in_next_key(in, &count, key, sizeof key)) {
        if (json_object_get(&node->value, key) != NULL) {
            in->error = "duplicate object key";
            return false;
        }
        struct node *member = node_read(in);
        if (!node_add(node, &end, member)) {
            return false;
        }
        member->key = arena_strdup(trees, key);
        if (member->key == NULL) {
            return false;
        }
    }
    return in->error == NULL;
}

static bool text_read(struct json_in *in, struct node *node)
{
    char text[TEXT_MAX];
    node->value.type = JSON_STRING;
    if (!json_in_text(in, text, sizeof text)) {
        return false;
    }
    node->size = strlen(text);
    node->text = arena_strndup(trees, text, node->size);
    return node->text != NULL;
}

static bool number_read(struct json_in *in, struct node *node)
{
    const size_t from = in->at;
    if (!json_in_number(in, &node->number)) {
        return false;
    }
    node->value.type = fabs(node->number) <= EXACT ? JSON_INTEGER : JSON_REAL;
    for (size_t i = from; i < in->at; i++) {
        if (strchr(".eE", in->text[i]) != NULL) {
            node->value.type = JSON_REAL;
        }
    }
    return true;
}

/* true, false or null. */
static bool other_read(struct json_in *in, struct node *node)
{
    const char first = in->text[in->at];
    node->value.type = first == 't' ? JSON_TRUE : first == 'f' ? JSON_FALSE : JSON_NULL;
    return json_in_skip(in);
}

static struct node *node_read(struct json_in *in)
{
    static bool (*const readers[])(struct json_in *, struct node *) = {
        [JSON_KIND_OBJECT] = object_read, [JSON_KIND_ARRAY] = array_read, [JSON_KIND_TEXT] = text_read,
        [JSON_KIND_NUMBER] = number_read, [JSON_KIND_OTHER] = other_read,
    };
    const enum json_kind kind = json_in_peek(in);
    struct node *node = kind == JSON_KIND_NONE ? NULL : arena_alloc(trees, sizeof *node);
    if (node == NULL) {
        return NULL;
    }
    node->value.refcount = (size_t)-1; /* jansson's sign of what is never freed */
    return readers[kind](in, node) ? node : NULL;
}

/* ---- the names of jansson ---- */

json_t *json_loadb(const char *buffer, size_t buflen, size_t flags, json_error_t *error)
{
    struct json_in in;
    (void)flags; /* keys given twice are always refused */
    json_in_start(&in, buffer, buflen);
    const enum json_kind kind = json_in_peek(&in);
    if (kind != JSON_KIND_OBJECT && kind != JSON_KIND_ARRAY && in.error == NULL) {
        in.error = "'[' or '{' expected";
    }
    struct node *root = in.error == NULL ? node_read(&in) : NULL;
    if (root != NULL && json_in_finish(&in)) {
        return &root->value;
    }
    json_in_where(&in, &error->line, &error->column);
    (void)snprintf(error->text, sizeof error->text, "%s", in.error == NULL ? "out of memory" : in.error);
    return NULL;
}

json_t *json_load(const char *text, size_t length, size_t flags, json_error_t *error)
{
    return json_loadb(text, length, flags, error);
}

void json_delete(json_t *json)
{
    (void)json;
}

json_t *json_object_get(const json_t *object, const char *key)
{
    struct node *member = json_is_object(object) ? node_of(object)->first : NULL;
    while (member != NULL && (member->key == NULL || strcmp(member->key, key) != 0)) {
        member = member->next;
    }
    return member == NULL ? NULL : &member->value;
}

void *json_object_iter(json_t *object)
{
    return json_is_object(object) ? node_of(object)->first : NULL;
}

void *json_object_iter_next(json_t *object, void *iter)
{
    (void)object;
    return ((struct node *)iter)->next;
}

const char *json_object_iter_key(void *iter)
{
    return ((const struct node *)iter)->key;
}

size_t json_array_size(const json_t *array)
{
    return json_is_array(array) ? node_of(array)->size : 0;
}

json_t *json_array_get(const json_t *array, size_t index)
{
    struct node *member = json_is_array(array) ? node_of(array)->first : NULL;
    while (member != NULL && index-- > 0) {
        member = member->next;
    }
    return member == NULL ? NULL : &member->value;
}

const char *json_string_value(const json_t *string)
{
    return json_is_string(string) ? node_of(string)->text : NULL;
}

size_t json_string_length(const json_t *string)
{
    return json_is_string(string) ? node_of(string)->size : 0;
}

json_int_t json_integer_value(const json_t *integer)
{
    return json_is_integer(integer) ? (json_int_t)node_of(integer)->number : 0;
}

double json_number_value(const json_t *json)
{
    return json_is_number(json) ? node_of(json)->number : 0.0;
}

/* How much memory requests hold, of each owner and in all. Small things are not counted: most requests never come here.
 * A body is counted before it is read, an answer when it is there; both until the request is over. */
#include <stdlib.h>
#include <string.h>

#include "http/connection.h"

void budget_init(struct budget *budget, size_t limit, size_t owner_limit)
{
    budget->limit = limit;
    budget->owner_limit = owner_limit;
    pthread_mutex_init(&budget->mutex, NULL);
}

void budget_free(struct budget *budget)
{
    pthread_mutex_destroy(&budget->mutex); /* the lists are empty: every exchange is over */
}

static struct budget_owner **list_of(struct budget *budget, const char *name)
{
    unsigned hash = 5381;
    for (const char *at = name; *at != '\0'; at++) {
        hash = hash * 33 + (unsigned char)*at;
    }
    return &budget->lists[hash % BUDGET_LISTS];
}

static struct budget_owner *find(struct budget *budget, const char *name)
{
    struct budget_owner *owner = *list_of(budget, name);
    while (owner != NULL && strcmp(owner->name, name) != 0) {
        owner = owner->next;
    }
    return owner;
}

/* With the mutex held. Without memory for an entry only the sum counts it. */
static void hold(struct budget *budget, struct exchange *exchange, size_t bytes)
{
    const size_t more = bytes - exchange->held;
    if (exchange->payer == NULL && exchange->held == 0 && exchange->owner[0] != '\0') {
        struct budget_owner *owner = find(budget, exchange->owner);
        if (owner == NULL && (owner = calloc(1, sizeof *owner)) != NULL) {
            struct budget_owner **list = list_of(budget, exchange->owner);
            memcpy(owner->name, exchange->owner, sizeof owner->name);
            owner->next = *list;
            *list = owner;
        }
        exchange->payer = owner;
        if (owner != NULL) {
            owner->exchanges++;
        }
    }
    if (exchange->payer != NULL) {
        exchange->payer->held += more;
    }
    exchange->held = bytes;
    atomic_fetch_add(&budget->held, more);
}

enum budget_answer budget_ask(struct exchange *exchange, size_t bytes)
{
    struct budget *budget = &exchange->server->budget;
    if (bytes <= HTTP_SMALL && atomic_load(&budget->held) == 0) {
        return BUDGET_FITS;
    }
    enum budget_answer answer = BUDGET_FITS;
    pthread_mutex_lock(&budget->mutex);
    const size_t more = bytes > exchange->held ? bytes - exchange->held : 0;
    const struct budget_owner *owner = exchange->owner[0] == '\0' ? NULL : find(budget, exchange->owner);
    if (owner != NULL && owner->held + more > budget->owner_limit) {
        answer = BUDGET_OWNER_FULL;
    } else if (more > 0 && atomic_load(&budget->held) + more > budget->limit) {
        answer = BUDGET_FULL;
    } else if (more > HTTP_SMALL || (more > 0 && exchange->held > 0)) {
        hold(budget, exchange, bytes);
    }
    pthread_mutex_unlock(&budget->mutex);
    return answer;
}

void budget_note(struct exchange *exchange, size_t bytes)
{
    struct budget *budget = &exchange->server->budget;
    if (bytes <= HTTP_SMALL || bytes <= exchange->held) {
        return;
    }
    pthread_mutex_lock(&budget->mutex);
    hold(budget, exchange, bytes);
    pthread_mutex_unlock(&budget->mutex);
}

void budget_note_held(struct exchange *exchange)
{
    budget_note(exchange, arena_held(exchange->arena) + exchange->body_room);
}

void budget_release(struct exchange *exchange)
{
    struct budget *budget = &exchange->server->budget;
    struct budget_owner *owner = exchange->payer;
    if (exchange->held == 0) {
        return;
    }
    pthread_mutex_lock(&budget->mutex);
    atomic_fetch_sub(&budget->held, exchange->held);
    if (owner != NULL) {
        owner->held -= exchange->held;
        if (--owner->exchanges == 0) {
            struct budget_owner **at = list_of(budget, owner->name);
            while (*at != owner) {
                at = &(*at)->next;
            }
            *at = owner->next;
            free(owner);
        }
    }
    pthread_mutex_unlock(&budget->mutex);
    exchange->payer = NULL;
    exchange->held = 0;
}

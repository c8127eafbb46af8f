/* leadside account: adds a coach or a head, gives somebody a new password or takes a second factor away, from the
 * machine itself. For the day when nobody can sign in any more. Works beside a running server. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "auth/password.h"
#include "auth/sign_in_name.h"
#include "command.h"
#include "options.h"
#include "prompt.h"
#include "store/club/audit.h"
#include "store/club/club.h"
#include "store/open.h"
#include "store/people/account.h"
#include "store/people/second_factor.h"
#include "store/people/session.h"

const char usage_account[] =
    "usage: leadside account add --data DIR --role head|coach --name NAME --sign-in NAME\n"
    "       leadside account password --data DIR --sign-in NAME\n"
    "       leadside account remove-second-factor --data DIR --sign-in NAME\n"
    "The password is asked for, or read from standard input. It is temporary: whoever signs in\n"
    "with it must change it. A new password ends every session of the account.\n";

enum deed { ADD, PASSWORD, REMOVE_FACTOR };
static const struct {
    const char *name, *action, *said;
} deeds[] = {
    [ADD] = {"add", "account.create", "was added. The password must be changed on signing in."},
    [PASSWORD] = {"password", "account.password", "has a new password. It must be changed on signing in."},
    [REMOVE_FACTOR] = {"remove-second-factor", "second_factor.off", "signs in without a second factor from now on."},
};
#define DEEDS (sizeof deeds / sizeof *deeds)

struct account_order {
    enum deed deed;
    const char *data, *name, *sign_in;
    enum store_role role;
    char key[SIGN_IN_KEY_TEXT];
    char hash[PASSWORD_HASH_TEXT];
    int64_t now;
    struct arena *arena;
};

static bool options_read(int argc, char **argv, struct account_order *order)
{
    *order = (struct account_order){.role = STORE_ROLE_COUNT};
    size_t deed = 0;
    while (argc >= 2 && deed < DEEDS && strcmp(argv[1], deeds[deed].name) != 0) {
        deed++;
    }
    if (argc < 2 || deed == DEEDS) {
        return false;
    }
    order->deed = (enum deed)deed;
    const bool adds = order->deed == ADD;
    const char *role = NULL;
    const struct option options[] = {{"--data", &order->data, NULL},
                                     {"--sign-in", &order->sign_in, NULL},
                                     {"--name", &order->name, NULL},
                                     {"--role", &role, NULL}};
    /* The last two are of a new account alone. */
    if (!options_take(argc, argv, 2, options, adds ? 4 : 2) ||
        (adds && !store_role_parse(role == NULL ? "" : role, &order->role))) {
        return false;
    }
    bool whole = !adds || (order->name != NULL && order->role <= STORE_COACH);
    return whole && order->data != NULL && order->sign_in != NULL && sign_in_name_key(order->sign_in, order->key);
}

static enum store_status add(struct store_db *db, const struct account_order *order, struct store_account *account)
{
    *account = (struct store_account){.role = order->role,
                                      .name = order->name,
                                      .sign_in = order->sign_in,
                                      .password_hash = order->hash,
                                      .password_temporary = true,
                                      .created = order->now};
    uuid7_new(account->id);
    return store_account_insert(db, account, order->key);
}

static enum store_status set_password(struct store_db *db, const struct account_order *order,
                                      struct store_account *account)
{
    enum store_status status = store_account_by_sign_in(db, order->key, order->arena, account);
    if (status == STORE_OK) {
        status = store_account_set_password(db, account->id, order->hash, true);
    }
    return status == STORE_OK ? store_session_revoke_all(db, account->id, NULL, order->now) : status;
}

static enum store_status remove_factor(struct store_db *db, const struct account_order *order,
                                       struct store_account *account)
{
    enum store_status status = store_account_by_sign_in(db, order->key, order->arena, account);
    if (status == STORE_OK && !account->second_factor) {
        return STORE_INVALID;
    }
    return status == STORE_OK ? store_second_factor_remove(db, account->id) : status;
}

static enum store_status run(struct store_db *db, void *argument)
{
    const struct account_order *order = argument;
    struct store_account account;
    enum store_status status = order->deed == ADD        ? add(db, order, &account)
                               : order->deed == PASSWORD ? set_password(db, order, &account)
                                                         : remove_factor(db, order, &account);
    if (status != STORE_OK) {
        return status;
    }
    struct store_audit audit = {.at = order->now, .action = deeds[order->deed].action, .object_kind = "account"};
    memcpy(audit.object_id, account.id, UUID_TEXT);
    memcpy(audit.student_id, account.student_id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

static const char *sentence(enum store_status status)
{
    return status == STORE_CONFLICT    ? "somebody has this sign-in name already"
           : status == STORE_NOT_FOUND ? "nobody has this sign-in name"
           : status == STORE_INVALID   ? "this account has no second factor"
                                       : store_status_name(status);
}

/* The new password, hashed; false with a sentence on standard error. */
static bool ask_password(struct store *store, struct account_order *order)
{
    char password[PASSWORD_LENGTH_MAX + 3];
    const struct password_cost cost = {0};
    struct password_about about = {.sign_in = order->sign_in, .name = order->name};
    struct store_db *db = store_reader(store);
    struct store_club club;
    if (db != NULL && store_club_get(db, order->arena, &club) == STORE_OK) {
        about.club = club.name;
    }
    if (!prompt_new_password("account", &about, password, sizeof password)) {
        return false;
    }
    bool hashed = password_hash(&cost, password, order->hash);
    sodium_memzero(password, sizeof password);
    if (!hashed) {
        (void)fputs("leadside account: memory is short\n", stderr);
    }
    return hashed;
}

/* Who forgot the name as well: the names of those whom only this machine can let in again. */
static void tell_heads(struct store *store, struct arena *arena)
{
    struct store_db *db = store_reader(store);
    struct store_page page = {.limit = STORE_PAGE_MAX, .archived = -1};
    struct store_account_list list = {.more = true};
    while (db != NULL && list.more && store_account_list(db, &page, arena, &list) == STORE_OK) {
        for (size_t i = 0; i < list.count; i++) {
            if (list.items[i].role == STORE_HEAD) {
                (void)fprintf(stderr, "leadside account: %s, head professional, signs in as %s\n", list.items[i].name,
                              list.items[i].sign_in);
            }
            page.after = list.items[i].id;
        }
    }
}

static int apply(struct account_order *order)
{
    char error[512] = "memory is short";
    const struct store_config config = {.directory = order->data, .must_exist = true, .shared = true};
    order->arena = arena_new(0);
    struct store *store = order->arena == NULL ? NULL : store_open(&config, error, sizeof error);
    if (store == NULL) {
        (void)fprintf(stderr, "leadside account: %s\n", error);
        arena_free(order->arena);
        return 1;
    }
    if (order->deed != REMOVE_FACTOR && !ask_password(store, order)) {
        store_close(store);
        arena_free(order->arena);
        return 1;
    }
    order->now = clock_now_ms();
    enum store_status status = store_run(store, run, order);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside account: %s\n", sentence(status));
    }
    if (status == STORE_NOT_FOUND) {
        tell_heads(store, order->arena);
    }
    store_close(store);
    arena_free(order->arena);
    if (status != STORE_OK) {
        return 1;
    }
    (void)printf("%s %s\n", order->sign_in, deeds[order->deed].said);
    return 0;
}

int command_account(int argc, char **argv)
{
    struct account_order order;
    if (!options_read(argc, argv, &order)) {
        (void)fputs(usage_account, stderr);
        return 2;
    }
    if (order.deed == ADD && (!prompt_name_fine("account", "--name", order.name) ||
                              !prompt_name_fine("account", "--sign-in", order.sign_in))) {
        return 1;
    }
    if (sodium_init() < 0) {
        (void)fputs("leadside account: no random numbers can be had\n", stderr);
        return 1;
    }
    return apply(&order);
}

/* leadside account: people, from the host itself (also beside a running server). For a forgotten head's password, and
 * for the first coaches. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "auth/sign_in_name.h"
#include "command.h"
#include "people.h"
#include "store/audit.h"
#include "store/session.h"

static const char usage[] =
    "usage: leadside account list --data DIR\n"
    "       leadside account add --data DIR --role head|coach --name NAME --sign-in NAME\n"
    "       leadside account password --data DIR --sign-in NAME\n"
    "       leadside account disable --data DIR --sign-in NAME\n"
    "A new password is asked for (or read from the first line of standard input); it ends the account's sessions.\n"
    "Students' and guardians' accounts are made over the interface, for they belong to a student.\n";

struct request {
    const char *data, *role_name, *name, *sign_in;
    enum store_role role;
    char key[SIGN_IN_NAME_TEXT];
    char hash[PASSWORD_HASH_TEXT];
    int64_t now;
    struct arena *arena;
    const char *refusal;
};

static bool options_read(int argc, char **argv, struct request *request)
{
    struct {
        const char *name;
        const char **value;
    } known[] = {{"--data", &request->data},
                 {"--role", &request->role_name},
                 {"--name", &request->name},
                 {"--sign-in", &request->sign_in}};
    for (int i = 2; i + 1 < argc; i += 2) {
        size_t k = 0;
        while (k < sizeof known / sizeof *known && strcmp(known[k].name, argv[i]) != 0) {
            k++;
        }
        if (k == sizeof known / sizeof *known) {
            return false;
        }
        *known[k].value = argv[i + 1];
    }
    return argc >= 2 && argc % 2 == 0 && request->data != NULL;
}

static enum store_status note(struct store_db *db, const struct request *request, const char *action, const char *id)
{
    struct store_audit audit = {.at = request->now, .action = action, .object_kind = "account"};
    memcpy(audit.object_id, id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

static enum store_status add(struct store_db *db, void *argument)
{
    struct request *request = argument;
    struct store_account account = {
        .role = request->role, .name = request->name, .sign_in = request->sign_in, .password_hash = request->hash};
    return people_add(db, &account, request->now);
}

static enum store_status set_password(struct store_db *db, void *argument)
{
    struct request *request = argument;
    struct store_account account;
    enum store_status status = store_account_by_sign_in(db, request->key, request->arena, &account);
    if (status == STORE_OK) {
        status = store_account_set_password(db, account.id, request->hash, false);
    }
    if (status == STORE_OK) {
        status = store_session_revoke_all(db, account.id, NULL, request->now);
    }
    return status == STORE_OK ? note(db, request, "account.password", account.id) : status;
}

static enum store_status disable(struct store_db *db, void *argument)
{
    struct request *request = argument;
    struct store_account account;
    int64_t heads = 0;
    enum store_status status = store_account_by_sign_in(db, request->key, request->arena, &account);
    if (status == STORE_OK) {
        status = store_account_count_heads(db, &heads);
    }
    if (status != STORE_OK) {
        return status;
    }
    if (account.role == STORE_HEAD && account.disabled == 0 && heads <= 1) {
        request->refusal = "the last head must stay";
        return STORE_CONFLICT;
    }
    account.disabled = request->now;
    status = store_account_update(db, &account);
    return status == STORE_OK ? note(db, request, "account.disable", account.id) : status;
}

static int list(struct store *store, struct arena *arena)
{
    struct store_db *db = store_reader(store);
    struct store_page page = {.after = "", .limit = STORE_PAGE_MAX};
    struct store_account_list accounts = {.more = true};
    while (accounts.more) {
        if (db == NULL || store_account_list(db, &page, arena, &accounts) != STORE_OK) {
            (void)fputs("leadside account: the accounts can't be read\n", stderr);
            return 1;
        }
        for (size_t i = 0; i < accounts.count; i++) {
            const struct store_account *a = &accounts.items[i];
            (void)printf("%-9s %-24s %s%s\n", store_role_name(a->role), a->sign_in, a->name,
                         a->disabled != 0 ? " (disabled)" : "");
        }
        page.after = accounts.count == 0 ? "" : accounts.items[accounts.count - 1].id;
    }
    return 0;
}

static int run(struct store *store, struct request *request, store_job_fn job)
{
    enum store_status status = store_run(store, job, request);
    if (status == STORE_OK) {
        (void)printf("done\n");
        return 0;
    }
    const char *why = request->refusal != NULL    ? request->refusal
                      : status == STORE_CONFLICT  ? "that sign-in name is taken"
                      : status == STORE_NOT_FOUND ? "nobody has that sign-in name"
                                                  : store_status_name(status);
    (void)fprintf(stderr, "leadside account: %s\n", why);
    return 1;
}

/* What must be known before the file is opened; false after saying what is missing. */
static bool prepare(struct request *request, store_job_fn job)
{
    if (request->sign_in == NULL || !sign_in_name_fold(request->sign_in, request->key)) {
        (void)fputs("leadside account: " SIGN_IN_NAME_RULE "\n", stderr);
        return false;
    }
    if (job == add && (request->name == NULL || request->role_name == NULL ||
                       !store_role_parse(request->role_name, &request->role) || request->role > STORE_COACH)) {
        (void)fputs(usage, stderr);
        return false;
    }
    if (job == disable) {
        return true;
    }
    char password[PEOPLE_PASSWORD_TEXT];
    const struct password_cost cost = {0};
    bool good = people_ask_password(request->sign_in, password) && password_hash(&cost, password, request->hash);
    sodium_memzero(password, sizeof password);
    return good;
}

int command_account(int argc, char **argv)
{
    static const struct {
        const char *name;
        store_job_fn job; /* NULL: the list */
    } verbs[] = {{"list", NULL}, {"add", add}, {"password", set_password}, {"disable", disable}};
    struct request request = {.now = clock_now_ms()};
    char error[512] = "";
    size_t verb = 0;
    while (argc > 1 && verb < sizeof verbs / sizeof *verbs && strcmp(verbs[verb].name, argv[1]) != 0) {
        verb++;
    }
    if (verb == sizeof verbs / sizeof *verbs || !options_read(argc, argv, &request)) {
        (void)fputs(usage, stderr);
        return 2;
    }
    if (sodium_init() < 0 || (verbs[verb].job != NULL && !prepare(&request, verbs[verb].job))) {
        return 1;
    }
    struct store *store = store_open(
        &(struct store_config){.directory = request.data, .must_exist = true, .shared = true}, error, sizeof error);
    if (store == NULL) {
        (void)fprintf(stderr, "leadside account: %s\n", error);
        return 1;
    }
    request.arena = arena_new(0);
    int result = verbs[verb].job == NULL ? list(store, request.arena) : run(store, &request, verbs[verb].job);
    store_close(store);
    arena_free(request.arena);
    return result;
}

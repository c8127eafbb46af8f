/* leadside init: a new club with its house standard, its drills and its head professional, all in one step. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "auth/password.h"
#include "auth/sign_in_name.h"
#include "command.h"
#include "options.h"
#include "prompt.h"
#include "seed.h"
#include "store/club/audit.h"
#include "store/club/club.h"
#include "store/open.h"
#include "store/people/account.h"

const char usage_init[] = "usage: leadside init --data DIR --club NAME --name NAME --sign-in NAME\n"
                          "  --data DIR      the club's folder; made when it is missing\n"
                          "  --club NAME     the club's name\n"
                          "  --name NAME     the head professional's name\n"
                          "  --sign-in NAME  what the head professional types to sign in\n"
                          "The password is asked for, or read from standard input (one line, or two equal ones).\n";

struct founding {
    const char *data, *club, *name, *sign_in;
    char key[SIGN_IN_KEY_TEXT];
    char hash[PASSWORD_HASH_TEXT];
    int64_t now;
};

static bool options_read(int argc, char **argv, struct founding *founding)
{
    *founding = (struct founding){0};
    const struct option options[] = {{"--data", &founding->data, NULL},
                                     {"--club", &founding->club, NULL},
                                     {"--name", &founding->name, NULL},
                                     {"--sign-in", &founding->sign_in, NULL}};
    return options_take(argc, argv, 1, options, sizeof options / sizeof *options) && founding->data != NULL &&
           founding->club != NULL && founding->name != NULL && founding->sign_in != NULL &&
           sign_in_name_key(founding->sign_in, founding->key);
}

static enum store_status found(struct store_db *db, void *argument)
{
    const struct founding *founding = argument;
    const struct store_club club = {.name = founding->club, .settings = "{}", .created = founding->now};
    int64_t number = 0;
    struct store_account head = {.role = STORE_HEAD,
                                 .name = founding->name,
                                 .sign_in = founding->sign_in,
                                 .password_hash = founding->hash,
                                 .created = founding->now};
    uuid7_new(head.id);
    enum store_status status = store_club_insert(db, &club);
    if (status == STORE_OK) {
        status = seed_standard_and_drills(db, founding->now, &number);
    }
    if (status == STORE_OK) {
        status = store_account_insert(db, &head, founding->key);
    }
    if (status != STORE_OK) {
        return status;
    }
    struct store_audit audit = {.at = founding->now, .action = "club.create", .object_kind = "account"};
    memcpy(audit.object_id, head.id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

int command_init(int argc, char **argv)
{
    struct founding founding;
    char password[PASSWORD_LENGTH_MAX + 3];
    char error[512] = "";
    const struct password_cost cost = {0};
    if (!options_read(argc, argv, &founding)) {
        (void)fputs(usage_init, stderr);
        return 2;
    }
    if (!prompt_name_fine("init", "--club", founding.club) || !prompt_name_fine("init", "--name", founding.name) ||
        !prompt_name_fine("init", "--sign-in", founding.sign_in)) {
        return 1;
    }
    founding.now = clock_now_ms();
    const struct password_about about = {.sign_in = founding.sign_in, .name = founding.name, .club = founding.club};
    if (sodium_init() < 0 || !prompt_new_password("init", &about, password, sizeof password)) {
        return 1;
    }
    bool hashed = password_hash(&cost, password, founding.hash);
    sodium_memzero(password, sizeof password);
    if (!hashed) {
        (void)fputs("leadside init: memory is short\n", stderr);
        return 1;
    }
    struct store *store = store_open(&(struct store_config){.directory = founding.data}, error, sizeof error);
    if (store == NULL) {
        (void)fprintf(stderr, "leadside init: %s\n", error);
        return 1;
    }
    enum store_status status = store_run(store, found, &founding);
    store_close(store);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside init: %s\n",
                      status == STORE_CONFLICT ? "there is a club in this folder already" : store_status_name(status));
        return 1;
    }
    (void)printf("%s is in %s. Start it with: leadside serve --data %s\n", founding.club, founding.data, founding.data);
    return 0;
}

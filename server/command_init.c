/* leadside init: makes a new club's file, with the built-in house standard and drills, and the head's account. */
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "auth/sign_in_name.h"
#include "command.h"
#include "people.h"
#include "seed.h"
#include "store/audit.h"
#include "store/club.h"

static const char usage[] = "usage: leadside init --data DIR --club NAME --name NAME --sign-in NAME\n"
                            "  --data DIR      where the club's file goes; made when missing\n"
                            "  --club NAME     the club\n"
                            "  --name NAME     the head professional, as shown\n"
                            "  --sign-in NAME  what the head types to sign in\n"
                            "The head's password is asked for (or read from the first line of standard input).\n";

struct options {
    const char *data, *club, *name, *sign_in;
};

struct founding {
    const struct options *options;
    const char *password_hash;
    int64_t now;
};

static bool options_read(int argc, char **argv, struct options *options)
{
    struct {
        const char *name;
        const char **value;
    } known[] = {{"--data", &options->data},
                 {"--club", &options->club},
                 {"--name", &options->name},
                 {"--sign-in", &options->sign_in}};
    *options = (struct options){0};
    for (int i = 1; i + 1 < argc; i += 2) {
        size_t k = 0;
        while (k < sizeof known / sizeof *known && strcmp(known[k].name, argv[i]) != 0) {
            k++;
        }
        if (k == sizeof known / sizeof *known) {
            return false;
        }
        *known[k].value = argv[i + 1];
    }
    return argc % 2 == 1 && options->data != NULL && options->club != NULL && options->name != NULL &&
           options->sign_in != NULL;
}

static enum store_status found(struct store_db *db, void *argument)
{
    const struct founding *founding = argument;
    const struct options *options = founding->options;
    int64_t standard = 0;
    struct store_club club = {.name = options->club, .settings = "{}", .created = founding->now};
    enum store_status status = store_club_insert(db, &club);
    if (status == STORE_OK) {
        struct store_audit audit = {
            .at = founding->now, .action = "club.create", .object_kind = "club", .object_id = "1"};
        status = store_audit_add(db, &audit);
    }
    if (status == STORE_OK) {
        status = seed_standard_and_drills(db, founding->now, &standard);
    }
    if (status == STORE_OK) {
        struct store_account head = {.role = STORE_HEAD,
                                     .name = options->name,
                                     .sign_in = options->sign_in,
                                     .password_hash = founding->password_hash};
        status = people_add(db, &head, founding->now);
    }
    return status;
}

int command_init(int argc, char **argv)
{
    struct options options;
    char password[PEOPLE_PASSWORD_TEXT];
    char hash[PASSWORD_HASH_TEXT];
    char key[SIGN_IN_NAME_TEXT];
    char error[512] = "";
    if (!options_read(argc, argv, &options)) {
        (void)fputs(usage, stderr);
        return 2;
    }
    if (!sign_in_name_fold(options.sign_in, key)) {
        (void)fputs("leadside init: " SIGN_IN_NAME_RULE "\n", stderr);
        return 2;
    }
    const struct password_cost cost = {0};
    if (sodium_init() < 0 || !people_ask_password(options.sign_in, password) || !password_hash(&cost, password, hash)) {
        return 1;
    }
    sodium_memzero(password, sizeof password);
    struct store *store = store_open(&(struct store_config){.directory = options.data}, error, sizeof error);
    if (store == NULL) {
        (void)fprintf(stderr, "leadside init: %s\n", error);
        return 1;
    }
    struct founding founding = {&options, hash, clock_now_ms()};
    enum store_status status = store_run(store, found, &founding);
    store_close(store);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside init: %s\n",
                      status == STORE_CONFLICT ? "there is a club in that directory already"
                                               : store_status_name(status));
        return 1;
    }
    (void)printf("%s is ready. Start it with: leadside serve --data %s\n", options.club, options.data);
    return 0;
}

/* leadside demo --data DIR: fills an empty directory with Larkfield Heath, an invented club, and prints how to sign in.
 */
#include <dirent.h>
#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "auth/password.h"
#include "command.h"
#include "demo/club.h"
#include "options.h"
#include "store/open.h"

const char usage_demo[] = "usage: leadside demo --data DIR [--seed N] [--password TEXT]\n"
                          "  --data DIR       an empty directory, or one that does not exist yet\n"
                          "  --seed N         another seed gives other swings; default 1\n"
                          "  --password TEXT  everybody's password; default: one made up and printed\n";

struct options {
    const char *data, *password;
    uint64_t seed;
};

static bool options_read(int argc, char **argv, struct options *options)
{
    *options = (struct options){0};
    const char *seed = NULL;
    char *end;
    const struct option known[] = {
        {"--data", &options->data, NULL}, {"--password", &options->password, NULL}, {"--seed", &seed, NULL}};
    if (!options_take(argc, argv, 1, known, sizeof known / sizeof *known)) {
        return false;
    }
    seed = seed == NULL ? "1" : seed;
    options->seed = strtoull(seed, &end, 10);
    return *seed >= '0' && *seed <= '9' && *end == '\0' && options->data != NULL;
}

/* True when the directory is missing or holds nothing. */
static bool directory_empty(const char *path)
{
    DIR *directory = opendir(path);
    if (directory == NULL) {
        return errno == ENOENT;
    }
    bool empty = true;
    for (struct dirent *entry = readdir(directory); entry != NULL; entry = readdir(directory)) {
        empty = empty && (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0);
    }
    closedir(directory);
    return empty;
}

static void password_invent(char out[17])
{
    static const char letters[] = "abcdefghjkmnpqrstuvwxyz23456789";
    for (int i = 0; i < 16; i++) {
        out[i] = letters[randombytes_uniform(sizeof letters - 1)];
    }
    out[16] = '\0';
}

static int fill(const struct options *options, const char *password)
{
    char error[256] = "";
    char hash[PASSWORD_HASH_TEXT];
    const struct password_cost cost = {0};
    struct demo_counts counts;
    if (!password_hash(&cost, password, hash)) {
        (void)fputs("leadside demo: the password could not be hashed\n", stderr);
        return 1;
    }
    struct store *store = store_open(&(struct store_config){.directory = options->data}, error, sizeof error);
    if (store == NULL) {
        (void)fprintf(stderr, "leadside demo: %s\n", error);
        return 1;
    }
    enum store_status status = demo_club_fill(store, options->seed, clock_now_ms(), hash, &counts);
    store_close(store);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside demo: %s\n", store_status_name(status));
        return 1;
    }
    (void)printf("Larkfield Heath, an invented club, is in %s: %d students, %d lessons, %d swings, %d fixes.\n"
                 "Sign in as head, coach1 ... coach%d, student01 ... student%02d, guardian01 ... guardian%02d.\n"
                 "Everybody's password: %s\n",
                 options->data, counts.students, counts.lessons, counts.swings, counts.fixes, DEMO_COACHES,
                 counts.students, counts.guardians, password);
    return 0;
}

int command_demo(int argc, char **argv)
{
    struct options options;
    char invented[17];
    if (!options_read(argc, argv, &options)) {
        (void)fputs(usage_demo, stderr);
        return 2;
    }
    if (!directory_empty(options.data)) {
        (void)fprintf(stderr, "leadside demo: %s is not empty; the demo never writes into a club's directory\n",
                      options.data);
        return 1;
    }
    if (sodium_init() < 0) {
        (void)fputs("leadside demo: no random numbers can be had\n", stderr);
        return 1;
    }
    if (options.password == NULL) {
        password_invent(invented);
        options.password = invented;
    }
    const struct password_about about = {.sign_in = "head", .club = "Larkfield Heath"};
    enum password_fault fault = password_check(options.password, &about);
    if (fault != PASSWORD_FINE) {
        (void)fprintf(stderr, "leadside demo: %s\n", password_fault_text(fault));
        return 1;
    }
    return fill(&options, options.password);
}

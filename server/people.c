/* Asks for passwords and adds accounts, for the commands that run on the host itself. */
#include "people.h"

#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "auth/sign_in_name.h"
#include "store/audit.h"

/* One line without its end; false at the end of input or when it is too long. */
static bool read_line(char *out, size_t size)
{
    if (fgets(out, (int)size, stdin) == NULL) {
        return false;
    }
    size_t length = strcspn(out, "\r\n");
    bool whole = out[length] != '\0' || feof(stdin);
    out[length] = '\0';
    return whole;
}

static bool ask_hidden(const char *prompt, char *out, size_t size)
{
    struct termios before;
    if (tcgetattr(STDIN_FILENO, &before) != 0) {
        return false;
    }
    struct termios quiet = before;
    quiet.c_lflag &= ~(tcflag_t)ECHO;
    (void)fputs(prompt, stderr);
    (void)tcsetattr(STDIN_FILENO, TCSAFLUSH, &quiet);
    bool got = read_line(out, size);
    (void)tcsetattr(STDIN_FILENO, TCSAFLUSH, &before);
    (void)fputs("\n", stderr);
    return got;
}

bool people_ask_password(const char *sign_in, char out[PEOPLE_PASSWORD_TEXT])
{
    char again[PEOPLE_PASSWORD_TEXT];
    bool terminal = isatty(STDIN_FILENO) == 1;
    if (!(terminal ? ask_hidden("Password: ", out, PEOPLE_PASSWORD_TEXT) : read_line(out, PEOPLE_PASSWORD_TEXT))) {
        (void)fputs("leadside: no password was given, or it is too long\n", stderr);
        return false;
    }
    if (terminal && (!ask_hidden("Once more: ", again, sizeof again) || strcmp(out, again) != 0)) {
        (void)fputs("leadside: the two passwords differ\n", stderr);
        return false;
    }
    enum password_fault fault = password_check(out, sign_in);
    if (fault != PASSWORD_FINE) {
        (void)fprintf(stderr, "leadside: %s\n", password_fault_text(fault));
        return false;
    }
    return true;
}

enum store_status people_add(struct store_db *db, struct store_account *account, int64_t now)
{
    char key[SIGN_IN_NAME_TEXT];
    if (!sign_in_name_fold(account->sign_in, key)) {
        return STORE_INVALID;
    }
    uuid7_new(account->id);
    account->created = now;
    enum store_status status = store_account_insert(db, account, key);
    if (status != STORE_OK) {
        return status;
    }
    struct store_audit audit = {.at = now, .action = "account.create", .object_kind = "account"};
    memcpy(audit.object_id, account->id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

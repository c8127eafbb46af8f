/* What stands in one header or one place of an address. The first byte chooses the reader, the rest is the text; each
 * reader beside a second, simple one that is written here. */
#include <arpa/inet.h>
#include <microhttpd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "api/frame/precondition.h"
#include "auth/principal.h"
#include "auth/second_factor.h"
#include "auth/sign_in_name.h"
#include "auth/token.h"
#include "base/network.h"
#include "fuzz.h"
#include "http/connection.h"
#include "words/words.h"

/* The library is not asked: the header is the input's, whatever its name. */
static const char *header;

const char *MHD_lookup_connection_value(struct MHD_Connection *connection, enum MHD_ValueKind kind, const char *key)
{
    (void)connection;
    (void)kind;
    (void)key;
    return header;
}

/* ---- ETags ---- */

/* One entry of a list without the blanks about it; false at its end. Commas within quotes part nothing. */
static bool entry_next(const char **at, const char **entry, size_t *length)
{
    bool quoted = false;
    if (**at == '\0') {
        return false;
    }
    *entry = *at;
    while (**at != '\0' && (quoted || **at != ',')) {
        quoted = quoted != (**at == '"');
        ++*at;
    }
    const char *end = *at;
    *at += **at == ',';
    while (*entry < end && (**entry == ' ' || **entry == '\t')) {
        ++*entry;
    }
    while (end > *entry && (end[-1] == ' ' || end[-1] == '\t')) {
        end--;
    }
    *length = (size_t)(end - *entry);
    return true;
}

static enum precondition judge(const char *field, const char *tag, bool weak, bool by_version)
{
    enum precondition answer = PRECONDITION_MALFORMED;
    const char *entry;
    size_t length;
    const size_t own = strcspn(tag + 1, "-\"");
    if (strcmp(field, "*") == 0) {
        return PRECONDITION_MATCHES;
    }
    while (entry_next(&field, &entry, &length)) {
        if (length == 0) {
            continue;
        }
        const bool is_weak = length > 2 && entry[0] == 'W' && entry[1] == '/';
        entry += is_weak ? 2 : 0;
        length -= is_weak ? 2 : 0;
        bool good = length >= 2 && entry[0] == '"' && entry[length - 1] == '"';
        for (size_t i = 1; good && i < length - 1; i++) {
            good = entry[i] != '"' && entry[i] != 0x7f && (unsigned char)entry[i] > 0x20;
        }
        if (!good) {
            return PRECONDITION_MALFORMED;
        }
        size_t theirs = 0;
        while (theirs < length - 2 && entry[1 + theirs] != '-') {
            theirs++;
        }
        const bool whole = length == strlen(tag) && memcmp(entry, tag, length) == 0;
        const bool version = by_version && theirs == own && memcmp(entry + 1, tag + 1, own) == 0;
        const bool matches = (weak || !is_weak) && (whole || version);
        answer = answer == PRECONDITION_MATCHES || matches ? PRECONDITION_MATCHES : PRECONDITION_DIFFERS;
    }
    return answer;
}

static bool check_tags(const char *text)
{
    static const char *const tags[] = {"\"3\"", "\"3-5f0c91aa5f0c91aa\"", "\"12\""};
    enum precondition answer = PRECONDITION_ABSENT;
    for (unsigned i = 0; i < 12; i++) {
        const bool weak = (i & 1U) != 0;
        const bool by_version = (i & 2U) != 0;
        answer = precondition_judge(text, tags[i / 4], weak, by_version);
        fuzz_require(answer == judge(text, tags[i / 4], weak, by_version), "an ETag, by both readings");
    }
    return answer != PRECONDITION_MALFORMED;
}

/* ---- weights ---- */

/* Thousandths of ";q=0.5" as RFC 9110, 12.4.2 writes them; 1000 of nothing; -1 of anything else. */
static int weight_of(const char *at, size_t length)
{
    static const int parts[] = {100, 10, 1};
    const char *end = at + length;
    at += strspn(at, " \t");
    if (at >= end) {
        return 1000;
    }
    at += 1 + strspn(at + 1, " \t");
    const size_t left = at < end ? (size_t)(end - at) : 0;
    if (left < 3 || left > 7 || strncasecmp(at, "q=", 2) != 0 || (at[2] != '0' && at[2] != '1')) {
        return -1;
    }
    int weight = at[2] == '1' ? 1000 : 0;
    for (size_t i = 3; i < left; i++) {
        if (i == 3 ? at[i] != '.' : at[i] < '0' || at[i] > '9') {
            return -1;
        }
        weight += i > 3 ? parts[i - 4] * (at[i] - '0') : 0;
    }
    return weight > 1000 ? -1 : weight;
}

/* The next entry's name and weight; false at the end, or (weight -1) when it is not written as it should be. */
static bool weighed_next(const char **at, const char **name, size_t *length, int *weight)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-";
    size_t whole = 0;
    do {
        if (!entry_next(at, name, &whole)) {
            return false;
        }
    } while (whole == 0);
    *length = **name == '*' ? 1 : strspn(*name, plain);
    const size_t mark = *length + strspn(*name + *length, " \t");
    const bool good = *length > 0 && (mark >= whole || (*name)[mark] == ';');
    *weight = good ? weight_of(*name + *length, whole - *length) : -1;
    return *weight >= 0;
}

static bool check_codings(const char *text)
{
    struct exchange exchange = {.id = ""};
    const char *name;
    size_t length;
    int weight = 0;
    int gzip = -1;
    int any = -1;
    header = text;
    const bool taken = exchange_takes_gzip(&exchange);
    while (weighed_next(&text, &name, &length, &weight)) {
        const bool ours =
            (length == 4 && strncasecmp(name, "gzip", 4) == 0) || (length == 6 && strncasecmp(name, "x-gzip", 6) == 0);
        gzip = ours ? weight : gzip;
        any = *name == '*' ? weight : any;
    }
    fuzz_require(weight < 0 || taken == ((gzip >= 0 ? gzip : any) > 0), "gzip, by both readings");
    return weight >= 0;
}

static bool check_languages(const char *text)
{
    static const char *const ours[] = {"en", "de", "he"};
    const char *tag = words_tag(words_language(text));
    const char *best = "en";
    const char *name;
    size_t length;
    int weight = 0;
    int most = 0;
    while (weighed_next(&text, &name, &length, &weight)) {
        const char *found = *name == '*' ? "en" : NULL;
        for (size_t i = 0; i < sizeof ours / sizeof *ours; i++) {
            const bool same = length >= 2 && (length == 2 || name[2] == '-') && strncasecmp(name, ours[i], 2) == 0;
            found = same ? ours[i] : found;
        }
        if (found != NULL && weight > most) {
            best = found;
            most = weight;
        }
    }
    fuzz_require(strlen(tag) == 2, "there is always a language");
    fuzz_require(weight < 0 || strcmp(tag, best) == 0, "a language, by both readings");
    return weight >= 0;
}

/* ---- addresses ---- */

static void check_network(const char *text, unsigned bits)
{
    char cut[NETWORK_TEXT];
    char twice[NETWORK_TEXT];
    uint8_t bytes[16];
    uint8_t kept[16];
    const size_t size = network_address(text, bytes);
    (bits == 64 ? network_of : network_site)(text, cut);
    char *slash = strrchr(cut, '/');
    fuzz_require(slash != NULL, "a network has a width");
    const unsigned width = (unsigned)atoi(slash + 1);
    fuzz_require(width == (size == 16 ? bits : bits == 64 ? 32 : 24), "of its kind");
    *slash = '\0';
    fuzz_require(network_address(cut, kept) == size, "and is an address");
    for (size_t i = 0; i < size; i++) {
        fuzz_require(kept[i] == (i < width / 8 ? bytes[i] : 0), "the first of its bytes, and zeros");
    }
    (bits == 64 ? network_of : network_site)(cut, twice);
    *slash = '/';
    fuzz_require(strcmp(cut, twice) == 0, "the network of a network is the same");
}

static bool check_address(const char *text)
{
    uint8_t bytes[16];
    uint8_t second[16];
    char cut[NETWORK_TEXT];
    const size_t size = network_address(text, bytes);
    char *plain = strdup(text);
    fuzz_require(plain != NULL, "memory");
    plain[strcspn(plain, "%")] = '\0';
    const bool is_4 = inet_pton(AF_INET, plain, second) == 1;
    const bool is_6 = !is_4 && inet_pton(AF_INET6, plain, second) == 1;
    const bool mapped = is_6 && IN6_IS_ADDR_V4MAPPED((const struct in6_addr *)(const void *)second);
    free(plain);
    fuzz_require(size == (is_4 || mapped ? 4 : is_6 ? 16 : 0), "an address, by both readings");
    fuzz_require(size == 0 || memcmp(bytes, second + (mapped ? 12 : 0), size) == 0, "and the same");
    if (size > 0) {
        check_network(text, 64);
        check_network(text, 48);
        return true;
    }
    network_of(text, cut);
    fuzz_require(strlen(cut) < NETWORK_TEXT && strncmp(cut, text, strlen(cut)) == 0, "anything else stays, cut to fit");
    return false;
}

/* ---- who ---- */

static bool check_token(const char *text)
{
    static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    uint8_t hash[TOKEN_HASH];
    const bool good = token_hash(text, hash);
    const bool sound = strlen(text) == TOKEN_TEXT - 1 && strspn(text, letters) == TOKEN_TEXT - 1 &&
                       strchr("AEIMQUYcgkosw048", text[TOKEN_TEXT - 2]) != NULL;
    fuzz_require(good == sound, "a token, by both readings");
    const char *bearer = auth_bearer(text);
    fuzz_require((bearer != NULL) == (strncasecmp(text, "bearer ", 7) == 0), "a bearer is named");
    fuzz_require(bearer == NULL || (*bearer != ' ' && strcmp(bearer, text + strlen(text) - strlen(bearer)) == 0),
                 "and what follows is the token");
    return good || bearer != NULL;
}

static bool check_code(const char *text)
{
    uint8_t hash[RECOVERY_HASH];
    uint8_t again[RECOVERY_HASH];
    char letters[RECOVERY_CODE_TEXT + 1] = "";
    size_t count = 0;
    bool plain = true;
    size_t digits = 0;
    for (const char *at = text; *at != '\0'; at++) {
        const bool digit = *at >= '0' && *at <= '9';
        const bool letter = digit || (*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z');
        plain = plain && (letter || *at == ' ' || *at == '-');
        digits += digit;
        if (letter && count < sizeof letters - 1) {
            letters[count++] = *at;
        }
    }
    const bool good = recovery_code_hash("account", text, hash);
    fuzz_require(good == (plain && count == 16), "a recovery code, by both readings");
    fuzz_require(!good || (recovery_code_hash("account", letters, again) && memcmp(hash, again, sizeof hash) == 0),
                 "which blanks and dashes don't change");
    const bool six = second_factor_is_digits(text);
    fuzz_require(six == (digits == 6 && strspn(text, " 0123456789") == strlen(text)), "a code, by both readings");
    fuzz_require(!(six && good), "and never both");
    return good || six;
}

static bool check_name(const char *text)
{
    char key[SIGN_IN_KEY_TEXT];
    char again[SIGN_IN_KEY_TEXT];
    const size_t length = strlen(text);
    bool sound = length > 0 && length <= SIGN_IN_NAME_MAX && text[0] != ' ' && text[length - 1] != ' ';
    for (size_t i = 0; i < length; i++) {
        sound = sound && (unsigned char)text[i] >= 0x20 && text[i] != 0x7f;
    }
    const bool good = sign_in_name_key(text, key);
    fuzz_require(good == sound, "a name to sign in with, by both readings");
    fuzz_require(!good || (strcasecmp(text, key) == 0 && strpbrk(key, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == NULL),
                 "in small");
    fuzz_require(!good || (sign_in_name_key(key, again) && strcmp(key, again) == 0), "and no smaller");
    return good;
}

static bool check_number(const char *text)
{
    char written[32];
    const int64_t number = call_number(text);
    (void)snprintf(written, sizeof written, "%lld", (long long)number);
    fuzz_require(number == 0 || strcmp(written, text) == 0, "a number is what it stands for");
    const bool sound =
        strlen(text) > 0 && strlen(text) < 10 && text[0] != '0' && strspn(text, "0123456789") == strlen(text);
    fuzz_require(sound == (number > 0), "and every such number is one");
    return sound;
}

/* "https://host", a line's end, the host: a page of ours, or not. */
static bool check_origin(char *text)
{
    char *host = strchr(text, '\n');
    if (host == NULL) {
        return false;
    }
    *host++ = '\0';
    const bool ours = auth_origin_ok(text, NULL, host, true);
    fuzz_require(ours == (*host != '\0' && strncasecmp(text, "https://", 8) == 0 && strcasecmp(text + 8, host) == 0),
                 "an origin, by both readings");
    fuzz_require(!auth_origin_ok(text, "cross-site", host, true), "what the browser calls foreign is");
    fuzz_require(auth_origin_ok(text, "same-origin", host, true) == ours, "its own word alone is not enough");
    return ours;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    bool good = false;
    if (size == 0 || memchr(data + 1, '\0', size - 1) != NULL) {
        return 0;
    }
    char *text = fuzz_text(data + 1, size - 1);
    switch (data[0] % 9) {
    case 0:
        good = check_tags(text);
        break;
    case 1:
        good = check_codings(text);
        break;
    case 2:
        good = check_languages(text);
        break;
    case 3:
        good = check_address(text);
        break;
    case 4:
        good = check_token(text);
        break;
    case 5:
        good = check_code(text);
        break;
    case 6:
        good = check_name(text);
        break;
    case 7:
        good = check_number(text);
        break;
    default:
        good = check_origin(text);
    }
    fuzz_count("fuzz_header", good);
    free(text);
    return 0;
}

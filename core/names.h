/* The names of an enum, from the one list that also makes the enum. Out of range is NULL, an unknown name is false.
 *
 * In a header:   #define SEX_NAMES(X) X(SEX_ANY, "any") X(SEX_FEMALE, "female") X(SEX_MALE, "male")
 *                enum sex { SEX_NAMES(NAMES_ENUM) SEX_COUNT };
 *                const char *sex_name(enum sex value);
 *                bool sex_parse(const char *name, enum sex *out);
 * In its source: NAMES(sex, enum sex, SEX_NAMES);
 *                NAMES_PARSE(sex, enum sex, SEX_NAMES);
 * Bits the same way: enum { KIT_NAMES(NAMES_INDEX) KIT_BITS }; enum kit { KIT_NAMES(NAMES_BIT) }; then NAMES_BITS and
 * NAMES_BITS_PARSE, where a name belongs to one bit. */
#ifndef LEADSIDE_CORE_NAMES_H
#define LEADSIDE_CORE_NAMES_H

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#define NAMES_ENUM(id, text) id,
#define NAMES_INDEX(id, text) id##_AT,
#define NAMES_BIT(id, text) id = 1 << id##_AT,
#define NAMES_ENTRY(id, text) [id] = (text),
#define NAMES_LENGTH(id, text) [id] = sizeof(text) - 1,
#define NAMES_LENGTH_AT(id, text) [id##_AT] = sizeof(text) - 1,
#define NAMES_ENTRY_AT(id, text) [id##_AT] = (text),

static inline const char *names_at(const char *const *names, size_t count, int index)
{
    return index >= 0 && (size_t)index < count ? names[index] : NULL;
}

/* Index of a name, -1 when it is none. */
static inline int names_index(const char *const *names, const unsigned char *lengths, size_t count, const char *name)
{
    const size_t length = name == NULL ? 0 : strlen(name);
    for (size_t i = 0; name != NULL && i < count; i++) {
        if (lengths[i] == length && memcmp(names[i], name, length) == 0) {
            return (int)i;
        }
    }
    return -1;
}

/* Index of the only bit that is set, -1 when none or several are. */
static inline int names_bit(unsigned bit)
{
    int index = 0;
    while (bit > 1 && (bit & 1U) == 0) {
        bit >>= 1;
        index++;
    }
    return bit == 1 ? index : -1;
}

#define NAMES(what, type, LIST)                                                                                        \
    const char *what##_name(type value)                                                                                \
    {                                                                                                                  \
        static const char *const names[] = {LIST(NAMES_ENTRY)};                                                        \
        return names_at(names, sizeof names / sizeof *names, (int)value);                                              \
    }                                                                                                                  \
    struct names_end /* takes the semicolon */

#define NAMES_PARSE(what, type, LIST)                                                                                  \
    bool what##_parse(const char *name, type *out) /* NOLINT(bugprone-macro-parentheses) */                            \
    {                                                                                                                  \
        static const char *const names[] = {LIST(NAMES_ENTRY)};                                                        \
        static const unsigned char lengths[] = {LIST(NAMES_LENGTH)};                                                   \
        int index = names_index(names, lengths, sizeof names / sizeof *names, name);                                   \
        if (index >= 0) {                                                                                              \
            *out = (type)index;                                                                                        \
        }                                                                                                              \
        return index >= 0;                                                                                             \
    }                                                                                                                  \
    struct names_end /* takes the semicolon */

#define NAMES_BITS(what, type, LIST)                                                                                   \
    const char *what##_name(type bit)                                                                                  \
    {                                                                                                                  \
        static const char *const names[] = {LIST(NAMES_ENTRY_AT)};                                                     \
        return names_at(names, sizeof names / sizeof *names, names_bit((unsigned)bit));                                \
    }                                                                                                                  \
    struct names_end /* takes the semicolon */

#define NAMES_BITS_PARSE(what, type, LIST)                                                                             \
    bool what##_parse(const char *name, unsigned *bit)                                                                 \
    {                                                                                                                  \
        static const char *const names[] = {LIST(NAMES_ENTRY_AT)};                                                     \
        static const unsigned char lengths[] = {LIST(NAMES_LENGTH_AT)};                                                \
        int index = names_index(names, lengths, sizeof names / sizeof *names, name);                                   \
        if (index >= 0) {                                                                                              \
            *bit = 1U << index;                                                                                        \
        }                                                                                                              \
        return index >= 0;                                                                                             \
    }                                                                                                                  \
    struct names_end /* takes the semicolon */

#endif

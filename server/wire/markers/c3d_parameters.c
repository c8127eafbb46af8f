/* The parameter section of a C3D file, within its bounds: every entry is checked before anything is read from it. */
#include "wire/markers/c3d_parts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define SECTION_HEAD 4
#define SECTION_BLOCKS_MAX 255 /* as many as the section's count could state */
#define DATA_BLOCK_AT 16       /* the header's ninth word */

uint16_t c3d_word(const struct c3d_file *file, size_t at)
{
    const unsigned char *b = file->bytes + at;
    return (uint16_t)(file->order == C3D_MIPS ? b[0] << 8 | b[1] : b[1] << 8 | b[0]);
}

/* Intel and MIPS hold IEEE 754 reals. A VAX real has its more significant word first, and stands for
 * 0.1fraction x 2^(exponent - 128); exponent 0 is zero, or with the sign bit a reserved operand. */
bool c3d_real(const struct c3d_file *file, size_t at, double *out)
{
    uint32_t first = c3d_word(file, at);
    uint32_t second = c3d_word(file, at + 2);
    uint32_t bits = file->order == C3D_INTEL ? second << 16 | first : first << 16 | second;
    int exponent = (int)(bits >> 23 & 255);
    double sign = bits >> 31 != 0 ? -1.0 : 1.0;
    double fraction = (double)(bits & 0x7fffff) / 8388608.0;
    if (file->order == C3D_DEC) {
        *out = exponent == 0 ? 0.0 : sign * ldexp(1.0 + fraction, exponent - 129);
        return exponent != 0 || bits >> 31 == 0;
    }
    *out = exponent == 0 ? sign * ldexp(fraction, -126) : sign * ldexp(1.0 + fraction, exponent - 127);
    return exponent != 255;
}

bool c3d_refuse(const struct c3d_file *file, const char *group, const char *name, const char *format, ...)
{
    struct wire_at top = wire_key(NULL, "parameters");
    struct wire_at in = wire_key(&top, group);
    struct wire_at here = wire_key(&in, name);
    char what[sizeof file->error->what];
    va_list args;
    va_start(args, format);
    int wrote = vsnprintf(what, sizeof what, format, args);
    va_end(args);
    return wire_fail(file->error, &here, "%s", wrote < 0 ? "" : what);
}

/* One entry of the section: a group (id below zero) or a parameter. */
struct entry {
    int id;
    const char *name;
    size_t name_length;
    size_t body; /* behind the link: a group's description, a parameter's type */
    size_t next; /* the next entry, or the section's end after the last */
};

static size_t name_length(unsigned char byte)
{
    return byte < 128 ? byte : 256U - byte; /* negative = locked */
}

/* The entry at `at`. False at the section's end, or with *broken saying what is wrong. */
static bool entry_read(const struct c3d_file *file, size_t at, struct entry *out, const char **broken)
{
    size_t left = file->section_end - at;
    if (left < 2 || file->bytes[at] == 0 || file->bytes[at + 1] == 0) {
        return false;
    }
    size_t length = name_length(file->bytes[at]);
    if (left < length + 4) {
        *broken = "reaches past the section's end";
        return false;
    }
    size_t link = at + 2 + length;
    size_t offset = c3d_word(file, link);
    *out = (struct entry){.id = file->bytes[at + 1] < 128 ? file->bytes[at + 1] : (int)file->bytes[at + 1] - 256,
                          .name = (const char *)file->bytes + at + 2,
                          .name_length = length,
                          .body = link + 2,
                          .next = offset == 0 ? file->section_end : link + offset};
    if (offset > 32767) {
        *broken = "links back to what stands before it";
    } else if (out->next > file->section_end) {
        *broken = "links to outside the section";
    } else if (out->next < out->body) {
        *broken = "links into itself";
    }
    return *broken == NULL;
}

static size_t type_size(int type)
{
    return type == C3D_CHAR || type == C3D_BYTE ? 1 : type == C3D_INTEGER ? 2 : type == C3D_REAL ? 4 : 0;
}

/* A parameter's body. NULL, or what is wrong with it. */
static const char *parameter_read(const struct c3d_file *file, const struct entry *entry, struct c3d_parameter *out)
{
    size_t at = entry->body;
    if (entry->next - at < 2) {
        return "has no room for its type";
    }
    out->type = file->bytes[at] < 128 ? file->bytes[at] : (int)file->bytes[at] - 256;
    out->dims = file->bytes[at + 1];
    if (type_size(out->type) == 0) {
        return "is of a type that the format doesn't know";
    }
    if (out->dims > 7 || entry->next - at - 2 < (size_t)out->dims) {
        return "has more dimensions than it has room for";
    }
    size_t room = entry->next - at - 2 - (size_t)out->dims;
    out->count = 1;
    for (int i = 0; i < out->dims; i++) {
        out->dim[i] = file->bytes[at + 2 + (size_t)i];
        out->count *= (size_t)out->dim[i];
        if (out->count > (size_t)SECTION_BLOCKS_MAX * C3D_BLOCK) { /* also keeps the product from running over */
            return "has more data than a section can hold";
        }
    }
    out->data = file->bytes + at + 2 + out->dims;
    return out->count * type_size(out->type) > room ? "has data that reach past the next entry" : NULL;
}

static bool refuse_entry(const struct c3d_file *file, size_t at, const char *what)
{
    struct wire_at here = wire_key(NULL, "parameters");
    return wire_fail(file->error, &here, "the entry at byte %zu of the file %s", at, what);
}

/* Every link goes forward, so the walk ends. */
static bool section_walk(const struct c3d_file *file)
{
    size_t at = file->section + SECTION_HEAD;
    struct entry entry;
    const char *broken = NULL;
    while (entry_read(file, at, &entry, &broken)) {
        struct c3d_parameter parameter;
        broken = entry.id > 0 ? parameter_read(file, &entry, &parameter) : NULL;
        if (broken != NULL) {
            break;
        }
        at = entry.next;
    }
    return broken == NULL || refuse_entry(file, at, broken);
}

/* How far the chain of entries may reach: what the section states, or up to the data where they stand behind it; there
 * are files about that state fewer blocks than they use. The chain itself says where it ends. */
static size_t chain_limit(const struct c3d_file *file, size_t stated)
{
    size_t most = file->section + (size_t)SECTION_BLOCKS_MAX * C3D_BLOCK;
    size_t data = (size_t)c3d_word(file, DATA_BLOCK_AT) * C3D_BLOCK;
    data = data < C3D_BLOCK ? 0 : data - C3D_BLOCK;
    if (data > file->length || data <= stated) {
        return stated;
    }
    return data < most ? data : most;
}

bool c3d_section_check(struct c3d_file *file)
{
    struct wire_at here = wire_key(NULL, "parameters");
    size_t block = file->bytes[0];
    file->section = (block - 1) * C3D_BLOCK;
    if (block < 2 || file->section + SECTION_HEAD > file->length) {
        struct wire_at header = wire_key(NULL, "header");
        return wire_fail(file->error, &header,
                         "the parameter section would begin at block %zu; the file has %zu blocks", block,
                         file->length / C3D_BLOCK);
    }
    size_t blocks = file->bytes[file->section + 2];
    int processor = file->bytes[file->section + 3];
    file->section_end = file->section + blocks * C3D_BLOCK;
    if (processor < C3D_INTEL || processor > C3D_MIPS) {
        return wire_fail(file->error, &here, "the processor type must be 84, 85 or 86, not %d", processor);
    }
    file->order = (enum c3d_order)processor;
    if (blocks == 0 || file->section_end > file->length) {
        return wire_fail(file->error, &here, "says it has %zu blocks from block %zu on; the file has %zu blocks",
                         blocks, block, file->length / C3D_BLOCK);
    }
    file->section_end = chain_limit(file, file->section_end);
    return section_walk(file);
}

static bool name_is(const struct entry *entry, const char *name)
{
    return strlen(name) == entry->name_length && strncasecmp(entry->name, name, entry->name_length) == 0;
}

/* The group's number; 0 when there is none of the name. */
static int group_find(const struct c3d_file *file, const char *group)
{
    struct entry entry;
    const char *broken = NULL;
    for (size_t at = file->section + SECTION_HEAD; entry_read(file, at, &entry, &broken); at = entry.next) {
        if (entry.id < 0 && name_is(&entry, group)) {
            return -entry.id;
        }
    }
    return 0;
}

enum c3d_found c3d_find(const struct c3d_file *file, const char *group, const char *name, struct c3d_parameter *out)
{
    enum c3d_found found = C3D_ABSENT;
    struct entry entry;
    const char *broken = NULL;
    int id = group_find(file, group);
    for (size_t at = file->section + SECTION_HEAD; id != 0 && entry_read(file, at, &entry, &broken); at = entry.next) {
        if (entry.id != id || !name_is(&entry, name)) {
            continue;
        }
        if (found == C3D_FOUND) {
            c3d_refuse(file, group, name, "is given twice");
            return C3D_WRONG;
        }
        if (parameter_read(file, &entry, out) != NULL) {
            return C3D_WRONG; /* c3d_section_check has seen to it that none is */
        }
        found = C3D_FOUND;
    }
    return found;
}

enum c3d_found c3d_number(const struct c3d_file *file, const char *group, const char *name, size_t index, double *out)
{
    struct c3d_parameter parameter;
    enum c3d_found found = c3d_find(file, group, name, &parameter);
    if (found != C3D_FOUND) {
        return found;
    }
    size_t at = (size_t)(parameter.data - file->bytes) + index * type_size(parameter.type);
    bool good = parameter.type != C3D_CHAR && index < parameter.count;
    if (good && parameter.type == C3D_REAL) {
        good = c3d_real(file, at, out);
    } else if (good) {
        *out = parameter.type == C3D_BYTE ? file->bytes[at] : c3d_word(file, at);
    }
    if (!good) {
        c3d_refuse(file, group, name, "must be a number");
        return C3D_WRONG;
    }
    return C3D_FOUND;
}

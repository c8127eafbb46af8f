/* The parts of a C3D file that its readers share: numbers in the three byte orders, and the parameter section. After
 * the public specification (c3d.org): 512-byte blocks, 16-bit words, 32-bit reals. Private to c3d_*.c. */
#ifndef LEADSIDE_WIRE_MARKERS_C3D_PARTS_H
#define LEADSIDE_WIRE_MARKERS_C3D_PARTS_H

#include <stdint.h>

#include "wire/markers/parts.h"

#define C3D_BLOCK 512

enum c3d_order { C3D_INTEL = 84, C3D_DEC = 85, C3D_MIPS = 86 }; /* as the parameter section's fourth byte says */

enum c3d_type { C3D_CHAR = -1, C3D_BYTE = 1, C3D_INTEGER = 2, C3D_REAL = 4 };

struct c3d_file {
    const unsigned char *bytes; /* borrowed */
    size_t length;
    enum c3d_order order;
    size_t section, section_end; /* of the parameters, from the file's start; section_end is behind the last byte that
                                  * the chain of entries may reach */
    struct wire_error *error;
};

/* One parameter. Lies within the section. */
struct c3d_parameter {
    int type, dims;
    int dim[7];
    size_t count; /* elements: the product of dim, 1 when there are none */
    const unsigned char *data;
};

uint16_t c3d_word(const struct c3d_file *file, size_t at);
/* False for what is no number: NaN, infinity, a reserved VAX operand. */
bool c3d_real(const struct c3d_file *file, size_t at, double *out);

/* Finds the section from the file's first byte and walks it once from end to end; false with the error of the first
 * entry that points outside, back or into another. */
bool c3d_section_check(struct c3d_file *file) __attribute__((warn_unused_result));

enum c3d_found { C3D_ABSENT, C3D_FOUND, C3D_WRONG }; /* wrong: the error is set */

/* Names in capitals. Twice the same parameter is an error. */
enum c3d_found c3d_find(const struct c3d_file *file, const char *group, const char *name, struct c3d_parameter *out);
/* The index-th number of a parameter (integers unsigned, as counts are). */
enum c3d_found c3d_number(const struct c3d_file *file, const char *group, const char *name, size_t index, double *out);
/* False, with the error at "parameters.GROUP.NAME". */
bool c3d_refuse(const struct c3d_file *file, const char *group, const char *name, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#endif

/* The club's map of marker names, for whoever reads a marker file. */
#ifndef LEADSIDE_API_LESSONS_MARKERS_H
#define LEADSIDE_API_LESSONS_MARKERS_H

#include "api/frame/call.h"
#include "wire/markers/map.h"

/* The map in force, in the call's arena; the one that comes with the program when the club has none. *out = NULL unless
 * STORE_OK. */
enum store_status markers_current(struct call *call, const struct marker_map **out) __attribute__((warn_unused_result));

#endif

/* The SQL function name_has(name, part): is the part in the name, whatever is capital? */
#ifndef LEADSIDE_STORE_ENGINE_NAME_SEARCH_H
#define LEADSIDE_STORE_ENGINE_NAME_SEARCH_H

#include <sqlite3.h>
#include <stdbool.h>

/* False when SQLite has no memory for it. */
bool name_search_install(sqlite3 *handle);

#endif

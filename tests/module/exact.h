/* For tests: the report's numbers as they are before they are rounded for writing. Linked with --wrap=json_out_number.
 */
#ifndef TESTS_MODULE_EXACT_H
#define TESTS_MODULE_EXACT_H

#ifdef __wasm__
__attribute__((export_name("exact_set")))
#endif
void exact_set(int on);

#endif

/* The core as one WebAssembly module without imports (/core.wasm), so that a page scores a swing where there is no
 * network, by the code that the server runs. How it is called:
 *
 *     at = module_room(bytes)            where so many bytes of input are to be written; 0: more than is ever taken
 *     good = module_standard(bytes, n)   the input as text: the club's standard, its number at the server (0: none)
 *     good = module_drills(bytes)        {"schema": "leadside.drills/1", "drills": [...]}
 *     good = module_student(bytes, now)  a student as the server answers one, ms since 1970; 0 bytes: nobody
 *     good = module_swing(bytes)         a swing document of a lesson, to be judged together with the next one scored
 *     good = module_score(bytes)         a swing document, the last of its lesson: the report, as the server writes it
 *     module_output(), module_output_length()
 *
 * A film is read in four steps (core/finder/finder.h); one film at a time, module_film("") ends it:
 *
 *     good = module_film(bytes)            what is known of it, as JSON (film.c)
 *     good = module_ground(bytes)          some pictures spread over it, before the first frame: what stands still
 *     good = module_frame(bytes, frame)    a picture, grey or RGBA by its size: how many rays it has, as {"rays": n}
 *     good = module_path()                 the shaft of every frame and the instants of the swing
 *
 * Each takes what was written last and gives 1, or 0 and as output the problem that the server would answer, without
 * its "instance". The output lasts until the next call. Standard, drills and student are kept until they are given
 * anew, a lesson's swings until it is scored or one is refused; a student's own spread over earlier swings is not known
 * here. One thread; memory is bounded and given back. */
#ifndef LEADSIDE_MODULE_MODULE_H
#define LEADSIDE_MODULE_MODULE_H

#include <stddef.h>

#ifdef __wasm__
#define MODULE_EXPORT(name) __attribute__((export_name(#name))) name
#else
#define MODULE_EXPORT(name) name
#endif

char *MODULE_EXPORT(module_room)(size_t bytes);
int MODULE_EXPORT(module_standard)(size_t bytes, double number);
int MODULE_EXPORT(module_drills)(size_t bytes);
int MODULE_EXPORT(module_student)(size_t bytes, double now);
int MODULE_EXPORT(module_swing)(size_t bytes);
int MODULE_EXPORT(module_score)(size_t bytes);
int MODULE_EXPORT(module_film)(size_t bytes);
int MODULE_EXPORT(module_ground)(size_t bytes);
int MODULE_EXPORT(module_frame)(size_t bytes, int frame);
int MODULE_EXPORT(module_path)(void);
const char *MODULE_EXPORT(module_output)(void);
size_t MODULE_EXPORT(module_output_length)(void);

#endif

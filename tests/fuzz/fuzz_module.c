/* The module's calls with one text as everything it may be: standard, drills, student, film and swing. What is refused
 * says why, as JSON; what is taken is followed: a film by pictures, a standard by a score. The trees are
 * jansson_part.c's, so this target shares no code with those that build trees of jansson. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "module/module.h"
#include "wire/json/in.h"

#define FRAMES 4
#define SIDE_MAX 512 /* of a picture that is drawn here */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerInitialize(int *argc, char ***argv);

static long inputs, taken;

static void require(int held, const char *what)
{
    if (!held) {
        (void)fprintf(stderr, "fuzz_module: does not hold: %s\n", what);
        abort();
    }
}

static void tell(void)
{
    (void)fprintf(stderr, "fuzz_module: %ld inputs, %ld read\n", inputs, taken);
}

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    return atexit(tell);
}

static size_t give(const void *data, size_t size)
{
    char *room = module_room(size);
    require(room != NULL, "there is room");
    memcpy(room, data, size);
    return size;
}

/* The outcome of a call: its output is JSON, or nothing of what only changes what stays. */
static int ended(int good)
{
    struct json_in in;
    const size_t length = module_output_length();
    require(good == 0 || good == 1, "a call is taken or not");
    require(good == 1 || length > 0, "a refusal says why");
    json_in_start(&in, module_output(), length);
    require(length == 0 || (json_in_skip(&in) && json_in_finish(&in)), "the output is JSON");
    return good;
}

static int number_after(const uint8_t *data, size_t size, const char *key)
{
    const size_t length = strlen(key);
    for (size_t i = 0; i + length + 4 < size; i++) {
        if (memcmp(data + i, key, length) == 0) {
            int number = 0;
            for (size_t at = i + length; at < size && data[at] >= '0' && data[at] <= '9' && number < 10000; at++) {
                number = 10 * number + data[at] - '0';
            }
            return number;
        }
    }
    return 0;
}

static void look(const uint8_t *data, size_t size)
{
    const int width = number_after(data, size, "\"width\":");
    const int height = number_after(data, size, "\"height\":");
    if (width < 1 || height < 1 || width > SIDE_MAX || height > SIDE_MAX) {
        return;
    }
    const size_t pixels = (size_t)width * (size_t)height;
    unsigned char *picture = malloc(pixels);
    require(picture != NULL, "memory");
    for (int frame = -1; frame < FRAMES; frame++) {
        for (size_t i = 0; i < pixels; i++) {
            picture[i] = (unsigned char)(data[(i * 7 + (size_t)(frame + 1) * 13) % size] * 5);
        }
        const size_t given = give(picture, pixels);
        (void)ended(frame < 0 ? module_ground(given) : module_frame(given, frame));
    }
    free(picture);
    (void)ended(module_path());
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const int as_standard = ended(module_standard(give(data, size), 3));
    const int as_drills = ended(module_drills(give(data, size)));
    const int as_student = ended(module_student(give(data, size), 1.7e12));
    const int as_film = ended(module_film(give(data, size)));
    if (as_film && size > 0) {
        look(data, size);
    }
    const int as_swing = ended(module_score(give(data, size)));
    const int as_lesson = ended(module_swing(give(data, size))) && ended(module_score(give(data, size)));
    require(as_lesson == as_swing, "what is scored alone is scored twice in a lesson, and nothing else");
    inputs++;
    taken += as_standard || as_drills || (as_student && size > 2) || as_film || as_swing;
    (void)ended(module_film(give("", 0)));
    return 0;
}

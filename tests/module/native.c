/* The module's own calls, compiled for this machine: reads lines of "standard FILE NUMBER", "drills FILE", "student
 * FILE NOW", "swing FILE", "score FILE", "film FILE", "ground FILE", "frame FILE N", "path -", "time FILE COUNT",
 * "exact 0|1" (FILE
 * "-": nothing); answers each by a line "1 OUTPUT" or "0 OUTPUT" ("time": nanoseconds a call). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/times.h"
#include "module/exact.h"
#include "module/module.h"

/* The file as the module's input; its bytes, 0 for "-". */
static size_t input(const char *path)
{
    FILE *file = strcmp(path, "-") == 0 ? NULL : fopen(path, "rb");
    if (file == NULL) {
        (void)module_room(0);
        return 0;
    }
    (void)fseek(file, 0, SEEK_END);
    const size_t bytes = (size_t)ftell(file);
    rewind(file);
    char *room = module_room(bytes);
    const size_t got = room == NULL ? 0 : fread(room, 1, bytes, file);
    (void)fclose(file);
    return got;
}

static int timed(const char *path, int count)
{
    const int64_t from = clock_monotonic_ns();
    int good = 1;
    for (int i = 0; i < count; i++) {
        good = module_score(input(path)) && good;
    }
    (void)printf("%d %.0f\n", good, (double)(clock_monotonic_ns() - from) / count);
    return good;
}

static int asked(const char *what, size_t bytes, double number)
{
    return strcmp(what, "standard") == 0  ? module_standard(bytes, number)
           : strcmp(what, "drills") == 0  ? module_drills(bytes)
           : strcmp(what, "student") == 0 ? module_student(bytes, number)
           : strcmp(what, "swing") == 0   ? module_swing(bytes)
           : strcmp(what, "film") == 0    ? module_film(bytes)
           : strcmp(what, "ground") == 0  ? module_ground(bytes)
           : strcmp(what, "frame") == 0   ? module_frame(bytes, (int)number)
           : strcmp(what, "path") == 0    ? module_path()
                                          : module_score(bytes);
}

int main(void)
{
    char line[4096], what[16], path[4000];
    double number;
    while (fgets(line, sizeof line, stdin) != NULL) {
        number = 0;
        if (sscanf(line, "%15s %3999s %lf", what, path, &number) < 2) {
            return 2;
        }
        int good;
        if (strcmp(what, "exact") == 0) {
            exact_set(atoi(path));
            continue;
        }
        if (strcmp(what, "time") == 0) {
            (void)timed(path, (int)number);
            continue;
        }
        good = asked(what, input(path), number);
        (void)printf("%d %.*s\n", good, (int)module_output_length(), module_output());
        (void)fflush(stdout);
    }
    return 0;
}

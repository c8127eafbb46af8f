/* Driver of check_c3d.py. Names of marker files on standard input, one a line -> rate, frames, markers, upright; a line
 * of names; a line a frame, "-" for a gap. Or "refused: ...". */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/markers/file.h"

static void file_print(const struct marker_file *file)
{
    printf("%.17g %d %d %s\n", file->rate_hz, file->frames, file->markers,
           file->up_given ? lab_axis_name(file->up) : "-");
    for (int m = 0; m < file->markers; m++) {
        printf("%s%s", m > 0 ? "\t" : "", file->names[m]);
    }
    printf("\n");
    for (int f = 0; f < file->frames; f++) {
        for (int m = 0; m < file->markers; m++) {
            size_t i = (size_t)m * (size_t)file->frames + (size_t)f;
            if (file->seen[i]) {
                printf("%.17g %.17g %.17g ", file->at[i].x, file->at[i].y, file->at[i].z);
            } else {
                printf("- - - ");
            }
        }
        printf("\n");
    }
}

int main(void)
{
    static char path[4096];
    static char bytes[1 << 24];
    while (fgets(path, sizeof path, stdin) != NULL) {
        path[strcspn(path, "\n")] = '\0';
        FILE *in = fopen(path, "rb");
        if (in == NULL) {
            return 1;
        }
        size_t length = fread(bytes, 1, sizeof bytes, in);
        (void)fclose(in);
        struct arena *arena = arena_new(0);
        struct marker_file file;
        struct wire_error error = {"", ""};
        bool good = marker_file_is_c3d(bytes, length) ? marker_file_read_c3d(bytes, length, arena, &file, &error)
                                                      : marker_file_read_trc(bytes, length, arena, &file, &error);
        if (good) {
            file_print(&file);
        } else {
            printf("refused: %s: %s\n", error.path, error.what);
        }
        arena_free(arena);
    }
    return 0;
}

/* Driver of check_still.py: reads pictures, "SIZE\n" and that many bytes each; answers "TYPE WIDTH HEIGHT SIZE\n" and
 * the stripped picture, or "refused WHY\n". */
#include <stdio.h>
#include <stdlib.h>

#include "still/read.h"

int main(void)
{
    size_t size;
    while (scanf("%zu", &size) == 1 && getchar() == '\n') {
        struct arena *arena = arena_new(0);
        struct still still;
        const char *why;
        unsigned char *bytes = malloc(size + 1);
        if (bytes == NULL || fread(bytes, 1, size, stdin) != size) {
            return 1;
        }
        if (still_read(bytes, size, arena, &still, &why)) {
            printf("%s %d %d %zu\n", still_type_name(still.type), still.width, still.height, still.size);
            fwrite(still.data, 1, still.size, stdout);
        } else {
            printf("refused %s\n", why);
        }
        fflush(stdout);
        free(bytes);
        arena_free(arena);
    }
    return 0;
}

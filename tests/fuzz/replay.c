/* Runs a fuzz target over files, without a fuzzer: what was found once stays mended.
 *
 *     fuzz_NAME FILE... */
#include "hold.h"

#include <stdio.h>
#include <stdlib.h>

#define MOST_BYTES ((size_t)4 << 20)

static int replay(const char *path, uint8_t *bytes)
{
    FILE *from = fopen(path, "rb");
    if (from == NULL) {
        printf("not ok %s cannot be read\n", path);
        return 1;
    }
    const size_t length = fread(bytes, 1, MOST_BYTES, from);
    fclose(from);
    printf("%s\n", path); /* the last one named is the one that fell */
    fflush(stdout);
    /* A copy of its very size, so that a sanitizer sees a byte read beyond. */
    uint8_t *exact = malloc(length == 0 ? 1 : length);
    if (exact == NULL) {
        return 1;
    }
    for (size_t i = 0; i < length; i++) {
        exact[i] = bytes[i];
    }
    LLVMFuzzerTestOneInput(exact, length);
    free(exact);
    return 0;
}

int main(int count, char **names)
{
    uint8_t *bytes = malloc(MOST_BYTES);
    int failed = bytes == NULL;
    for (int i = 1; i < count && bytes != NULL; i++) {
        failed += replay(names[i], bytes);
    }
    free(bytes);
    if (failed == 0 && count > 1) {
        printf("ok %d files replayed\n", count - 1);
    }
    return failed > 0 || count < 2;
}

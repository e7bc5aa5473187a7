/* Makes an allocation fail: loaded before the program (LD_PRELOAD), it counts what is asked of
 * malloc, calloc, realloc and the aligned ones from the first call of setlocale on, which is how
 * the program begins, and answers the one of number STARVE_AT with NULL, or with STARVE_ON=1
 * that one and all after it. STARVE_COUNT names a file that gets the count in the end. What the
 * libraries named in STARVE_SPARE (words of their files' names, parted by colons) ask for is
 * neither counted nor refused. Nothing here allocates. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct {
    void *(*malloc)(size_t);
    void *(*calloc)(size_t, size_t);
    void *(*realloc)(void *, size_t);
    void (*free)(void *);
    int (*posix_memalign)(void **, size_t, size_t);
    void *(*aligned_alloc)(size_t, size_t);
    char *(*setlocale)(int, const char *);
} next;

/* dlsym itself may allocate, before the real functions are known. */
static union {
    max_align_t align;
    unsigned char bytes[1 << 16];
} early;
static size_t early_used;
static bool finding, armed, on;
static unsigned long asked, at;
static const char *spare;

static void find(void)
{
    finding = true;
    *(void **)&next.malloc = dlsym(RTLD_NEXT, "malloc");
    *(void **)&next.calloc = dlsym(RTLD_NEXT, "calloc");
    *(void **)&next.realloc = dlsym(RTLD_NEXT, "realloc");
    *(void **)&next.posix_memalign = dlsym(RTLD_NEXT, "posix_memalign");
    *(void **)&next.aligned_alloc = dlsym(RTLD_NEXT, "aligned_alloc");
    *(void **)&next.setlocale = dlsym(RTLD_NEXT, "setlocale");
    *(void **)&next.free = dlsym(RTLD_NEXT, "free");
    finding = false;
}

static void *early_bytes(size_t size)
{
    const size_t rounded =
        (size + sizeof(max_align_t) - 1) / sizeof(max_align_t) * sizeof(max_align_t);
    if (rounded > sizeof early.bytes - early_used) {
        _exit(99);
    }
    early_used += rounded;
    return early.bytes + early_used - rounded;
}

static bool is_early(const void *bytes)
{
    return (const unsigned char *)bytes >= early.bytes &&
           (const unsigned char *)bytes < early.bytes + sizeof early.bytes;
}

/* Is this place in a library that is spared? */
static bool spared(const void *from)
{
    Dl_info about;
    char word[64];
    if (spare == NULL || dladdr(from, &about) == 0 || about.dli_fname == NULL) {
        return false;
    }
    for (const char *start = spare; *start != '\0';) {
        const size_t length = strcspn(start, ":");
        if (length > 0 && length < sizeof word) {
            memcpy(word, start, length);
            word[length] = '\0';
            if (strstr(about.dli_fname, word) != NULL) {
                return true;
            }
        }
        start += length + (start[length] == ':');
    }
    return false;
}

static bool refused(const void *from)
{
    if (!armed || spared(from)) {
        return false;
    }
    const unsigned long number = ++asked;
    if (at == 0 || number < at || (number > at && !on)) {
        return false;
    }
    errno = ENOMEM;
    return true;
}

static bool ready(void)
{
    if (next.free == NULL && !finding) {
        find();
    }
    return next.free != NULL;
}

char *setlocale(int category, const char *locale)
{
    const char *number = getenv("STARVE_AT");
    (void)ready();
    if (!armed) {
        spare = getenv("STARVE_SPARE");
        at = number == NULL ? 0 : strtoul(number, NULL, 10);
        on = getenv("STARVE_ON") != NULL;
        armed = true;
    }
    return next.setlocale(category, locale);
}

void *malloc(size_t size)
{
    if (!ready()) {
        return early_bytes(size);
    }
    return refused(__builtin_return_address(0)) ? NULL : next.malloc(size);
}

void *calloc(size_t count, size_t size)
{
    if (!ready()) {
        return early_bytes(count * size);
    }
    return refused(__builtin_return_address(0)) ? NULL : next.calloc(count, size);
}

void *realloc(void *old, size_t size)
{
    if (!ready() || is_early(old)) {
        void *moved = malloc(size);
        const size_t most =
            old == NULL ? 0 : (size_t)(early.bytes + sizeof early.bytes - (unsigned char *)old);
        return moved == NULL || old == NULL ? moved : memcpy(moved, old, size < most ? size : most);
    }
    return refused(__builtin_return_address(0)) ? NULL : next.realloc(old, size);
}

int posix_memalign(void **out, size_t align, size_t size)
{
    (void)ready();
    return refused(__builtin_return_address(0)) ? ENOMEM : next.posix_memalign(out, align, size);
}

void *aligned_alloc(size_t align, size_t size)
{
    (void)ready();
    return refused(__builtin_return_address(0)) ? NULL : next.aligned_alloc(align, size);
}

void free(void *bytes)
{
    if (bytes != NULL && !is_early(bytes) && ready()) {
        next.free(bytes);
    }
}

__attribute__((destructor)) static void tell(void)
{
    const char *path = getenv("STARVE_COUNT");
    char text[32];
    const int fd = path == NULL ? -1 : open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (fd >= 0) {
        const int length = snprintf(text, sizeof text, "%lu\n", asked);
        if (write(fd, text, (size_t)length) < 0) {
            _exit(98);
        }
        close(fd);
    }
}

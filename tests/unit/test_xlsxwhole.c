/* Workbooks that lost something on the way: archives laid out by the form of APPNOTE.TXT 6.3, as
 * the workbook library leaves them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "papers/xlsxwhole.h"

enum { PARTS = 3, MOST_BYTES = 1024 };

/* What goes wrong with one part, and with the file. */
typedef struct harm {
    int part;
    size_t lost;   /* bytes of it that were counted and not written */
    bool empty;    /* it was read back as nothing */
    bool headless; /* another word stands where its header begins */
    size_t cut;    /* bytes that the end of the file lacks */
} harm;

typedef struct archive {
    unsigned char bytes[MOST_BYTES];
    size_t length;
} archive;

static void put(archive *a, uint32_t number, int bytes)
{
    for (int i = 0; i < bytes; i++) {
        a->bytes[a->length++] = (unsigned char)(number >> (8 * i) & 0xffu);
    }
}

static void put_text(archive *a, const char *text, size_t length)
{
    memcpy(a->bytes + a->length, text, length);
    a->length += length;
}

static const char *const names[PARTS] = {"[Content_Types].xml", "xl/workbook.xml", "a.png"};
static const char *const texts[PARTS] = {"<Types/>", "<workbook><sheets/></workbook>",
                                         "\x89PNG....."};

/* Version, flags, method, time, date and sum: nothing that is looked at. */
static void put_common(archive *a, uint32_t packed, uint32_t size, const char *name)
{
    put(a, 20, 2);
    put(a, 0, 2);
    put(a, 0, 2);
    put(a, 0, 4);
    put(a, 0, 4);
    put(a, packed, 4);
    put(a, size, 4);
    put(a, (uint32_t)strlen(name), 2);
    put(a, 0, 2); /* extra field */
}

static void lay_out(archive *a, harm done)
{
    uint32_t offsets[PARTS];
    for (int i = 0; i < PARTS; i++) {
        const bool harmed = i == done.part;
        const uint32_t length = harmed && done.empty ? 0 : (uint32_t)strlen(texts[i]);
        offsets[i] = (uint32_t)a->length;
        put_text(a, harmed && done.headless ? "PK\1\2" : "PK\3\4", 4);
        put_common(a, length, length, names[i]);
        put_text(a, names[i], strlen(names[i]));
        put_text(a, texts[i], length - (harmed ? done.lost : 0));
    }
    const uint32_t directory = (uint32_t)a->length;
    for (int i = 0; i < PARTS; i++) {
        const uint32_t length = i == done.part && done.empty ? 0 : (uint32_t)strlen(texts[i]);
        put_text(a, "PK\1\2", 4);
        put(a, 20, 2);
        put_common(a, length, length, names[i]);
        put(a, 0, 2); /* comment */
        put(a, 0, 4); /* disk, attributes inside */
        put(a, 0, 4); /* and outside */
        put(a, offsets[i], 4);
        put_text(a, names[i], strlen(names[i]));
    }
    const uint32_t end = (uint32_t)a->length;
    put_text(a, "PK\5\6", 4);
    put(a, 0, 4);
    put(a, PARTS, 2);
    put(a, PARTS, 2);
    put(a, end - directory, 4);
    put(a, directory, 4);
    put(a, 0, 2);
    a->length -= done.cut;
}

static bool is_whole_after(harm done)
{
    archive a = {.length = 0};
    char path[4096];
    const char *folder = getenv("TMPDIR");
    snprintf(path, sizeof path, "%s/xlsxwhole-XXXXXX", folder == NULL ? "build" : folder);
    const int file = mkstemp(path);
    assert_true(file >= 0);
    lay_out(&a, done);
    assert_int_equal(write(file, a.bytes, a.length), (ssize_t)a.length);
    close(file);
    const bool whole = ts_xlsx_is_whole(path);
    unlink(path);
    return whole;
}

static void what_was_written_whole_is_whole(void **state)
{
    (void)state;
    assert_true(is_whole_after((harm){.part = -1}));
}

static void a_part_that_lost_a_byte_shows_wherever_it_stands(void **state)
{
    (void)state;
    for (int part = 0; part < PARTS; part++) {
        for (size_t lost = 1; lost <= strlen(texts[part]); lost++) {
            assert_false(is_whole_after((harm){.part = part, .lost = lost}));
        }
    }
}

static void a_part_of_no_bytes_shows(void **state)
{
    (void)state;
    for (int part = 0; part < PARTS; part++) {
        assert_false(is_whole_after((harm){.part = part, .empty = true}));
    }
}

static void a_part_without_its_header_shows(void **state)
{
    (void)state;
    for (int part = 0; part < PARTS; part++) {
        assert_false(is_whole_after((harm){.part = part, .headless = true}));
    }
}

static void a_file_cut_short_shows(void **state)
{
    (void)state;
    for (size_t cut = 1; cut < 300; cut++) {
        assert_false(is_whole_after((harm){.part = -1, .cut = cut}));
    }
    assert_false(ts_xlsx_is_whole("/nowhere/at all.xlsx"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_written_whole_is_whole),
        cmocka_unit_test(a_part_that_lost_a_byte_shows_wherever_it_stands),
        cmocka_unit_test(a_part_of_no_bytes_shows),
        cmocka_unit_test(a_part_without_its_header_shows),
        cmocka_unit_test(a_file_cut_short_shows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "papers/xlsxwhole.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* The workbook library writes each part of a workbook to a temporary file first and does not ask
 * whether that went well: on a full disk the part lacks a piece, and the workbook is closed
 * without an error. Before it reads a part back it calls rewind(), which forgets the file's
 * error. Ours does not: a part that was written with an error is read back as nothing, and a
 * part of no bytes, which no workbook has, is what ts_xlsx_is_whole looks for.
 *
 * The packer it comes with forgets an error, too: of a write inside the last of a part's packing
 * (a picture's: all of it). The bytes are counted and not there, and what follows stands where
 * they should be. So each part must end where the next begins. */

/* Stands before the C library's for this program and the libraries it is linked with; without
 * an error on the stream it does what that does. */
void rewind(FILE *stream)
{
    if (ferror(stream) != 0) {
        const int none = fileno(stream);
        if (none < 0 || ftruncate(none, 0) != 0) {
            return; /* at its end, with its error: nothing more is read */
        }
    }
    (void)fseek(stream, 0, SEEK_SET);
    clearerr(stream);
}

/* The end of a ZIP archive, an entry of its directory, and the header before a part (APPNOTE.TXT
 * 6.3, 4.3.16, 4.3.12 and 4.3.7). */
enum {
    END_BYTES = 22,
    END_COUNT = 10,
    END_OFFSET = 16,
    ENTRY_BYTES = 46,
    ENTRY_PACKED = 20,
    ENTRY_SIZE = 24,
    ENTRY_NAME = 28, /* lengths of name, extra field and comment */
    ENTRY_OFFSET = 42,
    HEADER_BYTES = 30,
    HEADER_NAME = 26, /* lengths of name and extra field */
};

static uint32_t number_at(const unsigned char *at, int bytes)
{
    uint32_t number = 0;
    for (int i = bytes; i-- > 0;) {
        number = number << 8 | at[i];
    }
    return number;
}

/* Whether the part of this entry begins at `*end`, and where it ends. */
static bool follows(int file, const unsigned char *entry, uint64_t *end)
{
    unsigned char header[HEADER_BYTES];
    const uint32_t offset = number_at(entry + ENTRY_OFFSET, 4);
    if (offset != *end || pread(file, header, HEADER_BYTES, (off_t)offset) != HEADER_BYTES ||
        memcmp(header, "PK\3\4", 4) != 0) {
        return false;
    }
    *end += (uint64_t)HEADER_BYTES + number_at(header + HEADER_NAME, 2) +
            number_at(header + HEADER_NAME + 2, 2) + number_at(entry + ENTRY_PACKED, 4);
    return true;
}

static bool has_every_part(FILE *from)
{
    uint64_t place = 0;
    unsigned char end[END_BYTES], entry[ENTRY_BYTES];
    if (fseek(from, -END_BYTES, SEEK_END) != 0 || fread(end, 1, END_BYTES, from) != END_BYTES ||
        memcmp(end, "PK\5\6", 4) != 0 ||
        fseek(from, (long)number_at(end + END_OFFSET, 4), SEEK_SET) != 0) {
        return false;
    }
    for (uint32_t i = number_at(end + END_COUNT, 2); i > 0; i--) {
        if (fread(entry, 1, ENTRY_BYTES, from) != ENTRY_BYTES || memcmp(entry, "PK\1\2", 4) != 0 ||
            number_at(entry + ENTRY_SIZE, 4) == 0 || !follows(fileno(from), entry, &place)) {
            return false;
        }
        long skipped = 0;
        for (int k = 0; k < 3; k++) {
            skipped += (long)number_at(entry + ENTRY_NAME + (ptrdiff_t)2 * k, 2);
        }
        if (fseek(from, skipped, SEEK_CUR) != 0) {
            return false;
        }
    }
    return place == number_at(end + END_OFFSET, 4);
}

bool ts_xlsx_is_whole(const char *path)
{
    FILE *from = fopen(path, "rb");
    if (from == NULL) {
        return false;
    }
    const bool whole = has_every_part(from);
    fclose(from);
    return whole;
}

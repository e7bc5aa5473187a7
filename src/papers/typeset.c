#include "papers/typeset.h"

#include <stddef.h>

/* Why this file exists: see typeset.h. Advance widths, in thousandths of the type size, of
 * the characters from blank to tilde: read from the hmtx tables of Liberation Sans 2.1
 * Regular and Bold, which are metric-compatible with the family that sheets name. Other
 * characters count as a wide lower-case letter, ideographs and the like as a full square. */

#define FIRST ' '
#define LAST '~'

static const short regular[LAST - FIRST + 1] = {
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333,  278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667,  611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278,  556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500,  500, 334, 260, 334, 584};

static const short heavy[LAST - FIRST + 1] = {
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667,
    611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556,
    278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584};

/* What our own sentences hold besides: the same in both weights, or the wider of them. */
static const struct {
    unsigned code;
    int width;
} others[] = {{0xa0, 278},   {0xb7, 333},   {0xd7, 584},   {0x2013, 556},
              {0x201c, 500}, {0x201d, 500}, {0x25a1, 604}, {0x2264, 549}};

#define OTHER 611
#define SQUARE 1000
#define DASHES 0x2014u
#define ELLIPSIS 0x2026u
#define WIDE_FROM 0x1100u

/* One character of well-formed UTF-8; moves the pointer past it. */
static unsigned next(const char **at)
{
    const unsigned char *p = (const unsigned char *)*at;
    int more = p[0] >= 0xf0 ? 3 : p[0] >= 0xe0 ? 2 : p[0] >= 0xc0 ? 1 : 0;
    unsigned code = more == 0 ? p[0] : p[0] & (0x3fu >> more);
    int taken = 1;
    for (; taken <= more && (p[taken] & 0xc0u) == 0x80u; taken++) {
        code = code << 6 | (p[taken] & 0x3fu);
    }
    *at += taken;
    return code;
}

static int thousandths(unsigned code, bool bold)
{
    if (code >= FIRST && code <= LAST) {
        return (bold ? heavy : regular)[code - FIRST];
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        if (others[i].code == code) {
            return others[i].width;
        }
    }
    bool wide = code == DASHES || code == ELLIPSIS || (code >= WIDE_FROM && code < 0x2000u) ||
                code >= 0x2e80u;
    return wide ? SQUARE : OTHER;
}

double ts_typeset_width_pt(const char *text, int size_pt, bool bold)
{
    int sum = 0;
    while (*text != '\0') {
        sum += thousandths(next(&text), bold);
    }
    return sum * size_pt / 1000.0;
}

/* The line being filled, in thousandths of the type size. */
typedef struct line {
    int room;
    int used;  /* up to and with the last whole word */
    int blank; /* after it */
    int count;
} line;

static void place_word(line *l, int word)
{
    if (word == 0) {
        return;
    }
    if (l->used > 0 && l->used + l->blank + word > l->room) {
        l->count++;
        l->used = 0;
        l->blank = 0;
    }
    l->used += l->blank + word;
    l->blank = 0;
    while (l->used > l->room) {
        l->count++;
        l->used -= l->room;
    }
}

int ts_typeset_lines(const char *text, int size_pt, bool bold, double width_mm)
{
    /* Programs differ by a few per cent in how wide they set a cell; 2 % are kept back. */
    double room_pt = (width_mm - 1.6) * 72 / 25.4 * 0.98;
    line l = {.room = (int)(room_pt * 1000 / size_pt), .count = 1};
    if (l.room < SQUARE) {
        l.room = SQUARE;
    }
    int word = 0;
    while (*text != '\0') {
        unsigned code = next(&text);
        if (code == '\n') {
            place_word(&l, word);
            word = 0;
            l = (line){.room = l.room, .count = l.count + 1};
        } else if (code == ' ' || code == '\t') {
            place_word(&l, word);
            word = 0;
            l.blank += regular[0];
        } else {
            word += thousandths(code, bold);
            if (code == '-') {
                place_word(&l, word);
                word = 0;
            }
        }
    }
    place_word(&l, word);
    return l.count;
}

double ts_typeset_height_pt(int lines, int size_pt)
{
    /* What spreadsheet programs give a line of the family by themselves: 12.75 points at 10,
     * and much the same share of other sizes. */
    return lines * (size_pt * 1.2 + 0.75);
}

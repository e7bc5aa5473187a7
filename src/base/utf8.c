#include "base/utf8.h"

/* One decoder for the whole program. It accepts exactly the well-formed sequences of
 * RFC 3629 section 4 (no overlong forms, no surrogates, nothing over U+10FFFF), so what
 * is let in here means the same to every program that reads our papers. Widths follow
 * the wide and fullwidth ranges of Unicode Standard Annex 11 and the combining blocks,
 * in ranges coarse enough to be read; they only place the mark under a cell. */

typedef struct range {
    uint32_t first;
    uint32_t last;
} range;

static bool within(uint32_t code, const range *ranges, size_t count)
{
    for (size_t i = 0; i < count && ranges[i].first <= code; i++) {
        if (code <= ranges[i].last) {
            return true;
        }
    }
    return false;
}

static size_t broken(uint32_t *code)
{
    *code = TS_UTF8_BROKEN;
    return 1;
}

size_t ts_utf8_next(uint32_t *code, const char *text, size_t length)
{
    static const uint32_t least_of[5] = {0, 0, 0x80, 0x800, 0x10000};
    const unsigned char lead = (unsigned char)text[0];
    if (lead < 0x80) {
        *code = lead;
        return 1;
    }
    const size_t bytes = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4 || bytes > length) {
        return broken(code);
    }
    uint32_t value = lead & (0x7Fu >> bytes);
    for (size_t i = 1; i < bytes; i++) {
        const unsigned char next = (unsigned char)text[i];
        if ((next & 0xC0) != 0x80) {
            return broken(code);
        }
        value = value << 6 | (next & 0x3Fu);
    }
    if (value < least_of[bytes] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF)) {
        return broken(code);
    }
    *code = value;
    return bytes;
}

bool ts_utf8_refused(uint32_t code)
{
    if (code < 0x20) {
        return code != '\t' && code != '\n' && code != '\r';
    }
    return code == TS_UTF8_BROKEN || (code >= 0x7F && code <= 0x9F) ||
           (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069) ||
           (code >= 0xFDD0 && code <= 0xFDEF) || (code & 0xFFFE) == 0xFFFE;
}

bool ts_utf8_unseen(uint32_t code)
{
    return ts_utf8_refused(code) || code == 0x00AD || code == 0x180E || code == 0x200B ||
           (code >= 0x2060 && code <= 0x2064) || code == 0xFEFF ||
           (code >= 0xE0000 && code <= 0xE007F);
}

int ts_utf8_width(uint32_t code)
{
    static const range none[] = {
        {0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD}, {0x05BF, 0x05BF}, {0x05C1, 0x05C2},
        {0x05C4, 0x05C5}, {0x05C7, 0x05C7}, {0x0610, 0x061A}, {0x064B, 0x065F}, {0x0670, 0x0670},
        {0x06D6, 0x06DC}, {0x06DF, 0x06E4}, {0x06E7, 0x06E8}, {0x06EA, 0x06ED}, {0x0900, 0x0902},
        {0x093A, 0x093A}, {0x093C, 0x093C}, {0x0941, 0x0948}, {0x094D, 0x094D}, {0x0951, 0x0957},
        {0x0E31, 0x0E31}, {0x0E34, 0x0E3A}, {0x0E47, 0x0E4E}, {0x1AB0, 0x1ACE}, {0x1DC0, 0x1DFF},
        {0x200B, 0x200F}, {0x202A, 0x202E}, {0x2060, 0x206F}, {0x20D0, 0x20F0}, {0x302A, 0x302D},
        {0x3099, 0x309A}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF}, {0xE0100, 0xE01EF},
    };
    static const range wide[] = {
        {0x1100, 0x115F},   {0x2329, 0x232A},   {0x2E80, 0x303E},   {0x3041, 0x4DBF},
        {0x4E00, 0xA4CF},   {0xA960, 0xA97C},   {0xAC00, 0xD7A3},   {0xF900, 0xFAFF},
        {0xFE10, 0xFE19},   {0xFE30, 0xFE6B},   {0xFF01, 0xFF60},   {0xFFE0, 0xFFE6},
        {0x16FE0, 0x18CD5}, {0x1B000, 0x1B2FB}, {0x1F300, 0x1F320}, {0x1F32D, 0x1F335},
        {0x1F337, 0x1F37C}, {0x1F37E, 0x1F393}, {0x1F3A0, 0x1F3CA}, {0x1F3E0, 0x1F3F0},
        {0x1F400, 0x1F43E}, {0x1F442, 0x1F4FC}, {0x1F4FF, 0x1F53D}, {0x1F550, 0x1F567},
        {0x1F5FB, 0x1F64F}, {0x1F680, 0x1F6C5}, {0x1F90C, 0x1F93A}, {0x1F93C, 0x1F945},
        {0x1F947, 0x1F9FF}, {0x20000, 0x2FFFD}, {0x30000, 0x3FFFD},
    };
    if (code < 0x0300) {
        return 1;
    }
    if (within(code, none, sizeof none / sizeof none[0])) {
        return 0;
    }
    return within(code, wide, sizeof wide / sizeof wide[0]) ? 2 : 1;
}

size_t ts_utf8_blank(const char *text)
{
    const unsigned char *at = (const unsigned char *)text;
    if (at[0] == ' ' || at[0] == '\t') {
        return 1;
    }
    if (at[0] == 0xC2 && at[1] == 0xA0) {
        return 2; /* U+00A0 no-break space */
    }
    if (at[0] == 0xE2 && at[1] == 0x80 && (at[2] == 0x87 || at[2] == 0xAF)) {
        return 3; /* U+2007 figure space, U+202F narrow no-break space */
    }
    return 0;
}

/* No blank's bytes end like those of another, and none begins inside another character. */
size_t ts_utf8_blank_before(const char *text, size_t length)
{
    for (size_t bytes = 1; bytes <= 3 && bytes <= length; bytes++) {
        if (ts_utf8_blank(text + length - bytes) == bytes) {
            return bytes;
        }
    }
    return 0;
}

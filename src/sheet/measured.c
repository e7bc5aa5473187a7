#include "sheet/reading.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include <string.h>

/* The measured half of a cell: its number, its unit, and whether it can be meant.
 *
 * Numbers go through the exact decimal reader; a unit is turned into the field's own by
 * whole numbers and rounded once, to a millionth. Each fault is said here once, with the
 * file's own decimal mark, so that what it advises can be typed as it stands. */

#define MOST_SHOWN 60

const char *ts_reading_name(const ts_reading *r)
{
    const char *subject = r->subject == NULL ? "" : r->subject;

    return ts_text_joined(r->arena, subject, " ", r->field->word);
}

char ts_reading_point(const ts_reading *r)
{
    return r->at != NULL && r->at->csv != NULL && r->at->csv->point == ',' ? ',' : '.';
}

const char *ts_reading_shown(const ts_reading *r, const char *text)
{
    return ts_text_show(r->arena, text, MOST_SHOWN);
}

/* A decimal with the file's own mark. */
const char *ts_reading_mark(const ts_reading *r, const char *number)
{
    char *copy = ts_arena_text(r->arena, number);
    char *mark = strchr(copy, '.');

    if (mark != NULL) {
        *mark = ts_reading_point(r);
    }
    return copy;
}

const char *ts_reading_units(const ts_reading *r)
{
    char units[160];

    ts_kind_units(r->field->kind, units, sizeof units);
    return ts_arena_text(r->arena, units);
}

void ts_reading_suggest(const ts_reading *r, const char *typed, const char *const *words,
                        size_t count)
{
    const int nearest = ts_nearest(typed, words, count);

    if (nearest >= 0) {
        ts_diag_hint(r->diag, "did you mean \"%s\"?", words[nearest]);
    }
}

/* ---- numbers ---- */

static const char *example_of(ts_kind kind)
{
    static const char *const examples[TS_KIND_COUNT_OF] = {
        [TS_KIND_LENGTH] = "1.8",    [TS_KIND_FIT] = "1.8",      [TS_KIND_ANGLE] = "45",
        [TS_KIND_GRAMS] = "3.25",    [TS_KIND_CARATS] = "0.52",  [TS_KIND_VOLUME] = "120.5",
        [TS_KIND_MINUTES] = "30",    [TS_KIND_PERCENT] = "12.5", [TS_KIND_NUMBER] = "2.5",
        [TS_KIND_AMOUNT] = "250.00", [TS_KIND_COUNT] = "4",
    };

    return examples[kind] != NULL ? examples[kind] : "1";
}

/* "1,234": both readings, and how each is written so that it is the only one. */
void ts_reading_unclear(const ts_reading *r, const ts_place *place)
{
    char *whole = ts_text_trim(r->arena, r->value);
    char *parted = ts_arena_text(r->arena, whole);
    char *mark = strpbrk(whole, ",.");

    parted[mark - whole] = ts_reading_point(r);
    memmove(mark, mark + 1, strlen(mark));
    ts_diag_add(r->diag, TS_FAULT_NUMBER_UNCLEAR, place,
                "\"%s\" can be read as %s or as %s; write %s or %s0", ts_reading_shown(r, r->value),
                whole, parted, whole, parted);
}

/* Why the text may have been no number: the other decimal mark, or a unit behind it. */
static void hint_number(const ts_reading *r, size_t where)
{
    const char other = ts_reading_point(r) == '.' ? ',' : '.';
    ts_dec number;

    if (ts_dec_read(&number, r->value, other, NULL) == TS_NUMBER_OK) {
        char text[TS_DECIMAL_TEXT];

        ts_diag_hint(r->diag, "the decimal mark of this file is a %s: write %s",
                     ts_reading_point(r) == '.' ? "point" : "comma",
                     ts_reading_mark(r, ts_dec_text(text, number)));
        return;
    }
    if (where > 0 && ts_unit_find(r->value + where) != TS_UNIT_NONE) {
        ts_diag_hint(r->diag, "a unit stands in a column of its own, `unit`");
    }
}

static bool add_number_fault(const ts_reading *r, ts_number_fault fault, size_t where)
{
    const ts_place place = ts_cell_place(r->at, r->arena, false);
    const char *wrong = "is not a plain number";

    if (fault == TS_NUMBER_AMBIGUOUS) {
        ts_reading_unclear(r, &place);
        return false;
    }
    if (fault == TS_NUMBER_DECIMALS) {
        wrong = "has more than six decimals";
    } else if (fault == TS_NUMBER_RANGE) {
        wrong = "has more than twelve digits before the decimal mark";
    }
    ts_diag_add(r->diag, TS_FAULT_NUMBER, &place, "\"%s\" %s; %s is expected, such as %s",
                ts_reading_shown(r, r->value), wrong, ts_kind_says(r->field->kind),
                ts_reading_mark(r, example_of(r->field->kind)));
    if (fault == TS_NUMBER_BAD) {
        hint_number(r, where);
    }
    return false;
}

bool ts_reading_number(const ts_reading *r, ts_dec *out)
{
    size_t where = 0;
    const ts_number_fault fault = ts_dec_read(out, r->value, ts_reading_point(r), &where);

    return fault == TS_NUMBER_OK || add_number_fault(r, fault, where);
}

/* ---- units ---- */

bool ts_reading_unit_fault(const ts_reading *r, ts_unit known)
{
    const ts_place place = ts_cell_place(r->at, r->arena, true);
    const char *units = ts_reading_units(r);
    const char *words[TS_UNIT_COUNT] = {NULL};

    if (*units == '\0') {
        ts_diag_add(r->diag, TS_FAULT_UNIT_WRONG, &place, "%s takes no unit, \"%s\" stands there",
                    ts_reading_name(r), ts_reading_shown(r, r->unit));
        return false;
    }
    if (known != TS_UNIT_NONE) {
        ts_diag_add(r->diag, TS_FAULT_UNIT_WRONG, &place, "%s is not counted in %s; it takes %s",
                    ts_reading_name(r), ts_unit_word(known), units);
        return false;
    }
    ts_diag_add(r->diag, TS_FAULT_UNIT_UNKNOWN, &place, "\"%s\" is no unit; %s takes %s",
                ts_reading_shown(r, r->unit), ts_reading_name(r), units);
    for (int i = 1; i < TS_UNIT_COUNT; i++) {
        words[i] = ts_unit_word((ts_unit)i);
    }
    ts_reading_suggest(r, r->unit, words, TS_UNIT_COUNT);
    return false;
}

/* The kind whose units serve this one. */
static ts_kind measured_as(ts_kind kind)
{
    if (kind == TS_KIND_CARATS) {
        return TS_KIND_GRAMS;
    }
    return kind == TS_KIND_FIT ? TS_KIND_LENGTH : kind;
}

bool ts_reading_serves(const ts_reading *r, ts_unit unit)
{
    return unit != TS_UNIT_NONE && ts_unit_kind(unit) == measured_as(r->field->kind);
}

/* The unit named, or the kind's own where none is. */
bool ts_reading_unit(const ts_reading *r, ts_unit *out)
{
    *out = ts_unit_find(ts_text_empty(r->unit) ? ts_kind_unit(r->field->kind) : r->unit);
    return ts_reading_serves(r, *out) || ts_reading_unit_fault(r, *out);
}

/* For kinds that are counted in nothing. */
bool ts_reading_no_unit(const ts_reading *r)
{
    return ts_text_empty(r->unit) || ts_reading_unit_fault(r, ts_unit_find(r->unit));
}

/* Turns a number of `unit` into the field's base unit; false where it grows too large. */
bool ts_reading_to_base(const ts_reading *r, ts_unit unit, ts_dec *value)
{
    int64_t num;
    int64_t den;

    ts_unit_ratio(unit, &num, &den);
    if (r->field->kind == TS_KIND_CARATS) { /* a carat is 0.2 g */
        num *= 5;
    }
    return ts_div_round(&value->e6, (ts_i128)value->e6 * num, den, TS_HALF_AWAY);
}

/* ---- ranges ---- */

static const char *limits_of(const ts_reading *r, const char *unit)
{
    const char *gap = *unit == '\0' ? "" : " ";
    const bool has_least = r->field->least[0] != '\0';

    if (has_least && r->field->most[0] != '\0') {
        return ts_arena_format(r->arena, "from %s to %s%s%s", ts_reading_mark(r, r->field->least),
                               ts_reading_mark(r, r->field->most), gap, unit);
    }
    return ts_arena_format(r->arena, "%s %s%s%s", has_least ? "at least" : "at most",
                           ts_reading_mark(r, has_least ? r->field->least : r->field->most), gap,
                           unit);
}

/* "45 mm", or "2 in (50.8 mm)" where another unit was typed. */
static const char *measured_text(const ts_reading *r, ts_dec value, const char *unit)
{
    char number[TS_DECIMAL_TEXT];
    const char *typed = ts_text_empty(r->unit) ? unit : r->unit;
    const char *gap = *typed == '\0' ? "" : " ";
    const char *as_typed = ts_arena_format(r->arena, "%s%s%s", ts_reading_shown(r, r->value), gap,
                                           ts_reading_shown(r, typed));

    if (*unit == '\0' || ts_unit_find(typed) == ts_unit_find(unit)) {
        return as_typed;
    }
    return ts_arena_format(r->arena, "%s (%s %s)", as_typed,
                           ts_reading_mark(r, ts_dec_text(number, value)), unit);
}

bool ts_reading_in_range(const ts_reading *r, ts_dec value)
{
    const char *unit = ts_kind_unit(r->field->kind);
    ts_dec limit;
    const char *side = NULL;

    if (ts_dec_read(&limit, r->field->most, '.', NULL) == TS_NUMBER_OK && value.e6 > limit.e6) {
        side = "over";
    } else if (ts_dec_read(&limit, r->field->least, '.', NULL) == TS_NUMBER_OK &&
               value.e6 < limit.e6) {
        side = "under";
    }
    if (side == NULL) {
        return true;
    }
    const ts_place place = ts_cell_place(r->at, r->arena, false);
    const char *edge = *side == 'o' ? r->field->most : r->field->least;
    ts_diag_add(r->diag, TS_FAULT_RANGE, &place, "%s %s is %s %s%s%s: %s is expected",
                ts_reading_name(r), measured_text(r, value, unit), side, ts_reading_mark(r, edge),
                *unit == '\0' ? "" : " ", unit, limits_of(r, unit));
    return false;
}

bool ts_reading_too_large(const ts_reading *r)
{
    const ts_place place = ts_cell_place(r->at, r->arena, false);

    ts_diag_add(r->diag, TS_FAULT_RANGE, &place, "%s %s is more than can be reckoned with",
                ts_reading_name(r), ts_reading_shown(r, r->value));
    return false;
}

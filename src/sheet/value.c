#include <tallystone/sheet/value.h>

#include <tallystone/base/date.h>
#include <tallystone/base/text.h>

#include "sheet/amount.h"
#include "sheet/reading.h"
#include "sheet/sizetext.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* The reader of cells: one function a kind.
 *
 * Sheets, books, defaults and variants all come through here, so that a number, a word or
 * a date is read in one way only and its fault is said in one way only. Numbers go through
 * the exact decimal reader; a unit is turned into the field's own by whole numbers and
 * rounded once, to a millionth. */

#define ONE 1000000
#define MOST_LISTED 12

ts_place ts_cell_place(const ts_cell_at *at, ts_arena *arena, bool unit)
{
    if (at == NULL || at->csv == NULL || at->row == NULL) {
        return (ts_place){0};
    }
    return ts_csv_place(at->csv, arena, at->row, unit ? at->unit_cell : at->value_cell);
}

static bool read_measure(const ts_reading *r, ts_dec *out)
{
    ts_dec value = {0};
    ts_unit unit = TS_UNIT_NONE;
    const bool has_unit = ts_reading_unit(r, &unit);

    if (r->field->kind == TS_KIND_FIT && ts_text_same(r->value, "fit")) {
        out->e6 = 0;
        return has_unit;
    }
    if (!ts_reading_number(r, &value) || !has_unit) {
        return false;
    }
    if (!ts_reading_to_base(r, unit, &value)) {
        return ts_reading_too_large(r);
    }
    if (!ts_reading_in_range(r, value)) {
        return false;
    }
    *out = value;
    return true;
}

static bool read_number(const ts_reading *r, ts_dec *out)
{
    ts_dec value = {0};
    const bool bare = ts_reading_no_unit(r);

    if (!ts_reading_number(r, &value) || !ts_reading_in_range(r, value) || !bare) {
        return false;
    }
    *out = value;
    return true;
}

static bool read_count(const ts_reading *r, int32_t *out)
{
    ts_dec value = {0};
    const bool bare = ts_reading_no_unit(r);

    if (!ts_reading_number(r, &value)) {
        return false;
    }
    if (value.e6 % ONE != 0) {
        const ts_place place = ts_cell_place(r->at, r->arena, false);

        ts_diag_add(r->diag, TS_FAULT_NUMBER, &place,
                    "%s \"%s\" is not a whole number; a whole number is expected, such as 4",
                    ts_reading_name(r), ts_reading_shown(r, r->value));
        return false;
    }
    if (!ts_reading_in_range(r, value) || !bare) {
        return false;
    }
    if (value.e6 / ONE > INT32_MAX || value.e6 / ONE < INT32_MIN) {
        return ts_reading_too_large(r);
    }
    *out = (int32_t)(value.e6 / ONE);
    return true;
}

static bool read_amount_unit(const ts_reading *r, ts_amount *out)
{
    const ts_amount_fault fault = ts_amount_unit_read(out, r->arena, r->unit);
    if (fault == TS_AMOUNT_OK) {
        return true;
    }
    const ts_place place = ts_cell_place(r->at, r->arena, true);
    size_t count = 0;
    const char *const *words = ts_amount_words(&count);

    if (fault == TS_AMOUNT_NO_CURRENCY) {
        ts_diag_add(r->diag, TS_FAULT_CURRENCY, &place,
                    "\"%s\" names no ISO 4217 currency that can be priced in; "
                    "three letters such as EUR are expected",
                    ts_reading_shown(r, r->unit));
    } else if (ts_unit_find(r->unit) != TS_UNIT_NONE) {
        ts_reading_unit_fault(r, ts_unit_find(r->unit));
    } else {
        ts_diag_add(r->diag, TS_FAULT_UNIT_UNKNOWN, &place, "\"%s\" is no unit; %s takes %s",
                    ts_reading_shown(r, r->unit), ts_reading_name(r), ts_reading_units(r));
        ts_reading_suggest(r, r->unit, words, count);
    }
    return false;
}

static bool read_amount(const ts_reading *r, ts_amount *out)
{
    ts_amount amount = {.of = TS_AMOUNT_NONE};
    const bool has_unit = read_amount_unit(r, &amount);

    if (!ts_reading_number(r, &amount.value) || !ts_reading_in_range(r, amount.value) ||
        !has_unit) {
        return false;
    }
    *out = amount;
    return true;
}

/* A unit that is no size system: none, one of another kind, or an unknown word. */
static bool add_system_fault(const ts_reading *r)
{
    const ts_place place = ts_cell_place(r->at, r->arena, true);
    size_t count = 0;
    const char *const *words = ts_list_words(TS_LIST_SIZE, &count);

    if (ts_text_empty(r->unit)) {
        ts_diag_add(r->diag, TS_FAULT_UNIT_MISSING, &place,
                    "%s has no unit of its own; name one of %s", ts_reading_name(r),
                    ts_reading_units(r));
        return false;
    }
    if (ts_unit_find(r->unit) != TS_UNIT_NONE) {
        ts_reading_unit_fault(r, ts_unit_find(r->unit));
    } else {
        ts_diag_add(r->diag, TS_FAULT_UNIT_UNKNOWN, &place,
                    "\"%s\" is no system of ring sizes; %s takes %s", ts_reading_shown(r, r->unit),
                    ts_reading_name(r), ts_reading_units(r));
    }
    ts_reading_suggest(r, r->unit, words, count);
    return false;
}

static bool read_size(const ts_reading *r, ts_ring_size *out)
{
    const int system = ts_list_find(TS_LIST_SIZE, r->unit);
    ts_dec number;

    if (system == TS_SIZE_NONE) {
        return add_system_fault(r);
    }
    if (ts_ring_size_read(out, r->value, (ts_size_system)system, ts_reading_point(r))) {
        return true;
    }
    const ts_place place = ts_cell_place(r->at, r->arena, false);
    if (system != TS_SIZE_UK &&
        ts_dec_read(&number, r->value, ts_reading_point(r), NULL) == TS_NUMBER_AMBIGUOUS) {
        ts_reading_unclear(r, &place);
        return false;
    }
    ts_diag_add(r->diag, TS_FAULT_NUMBER, &place, "\"%s\" is no %s size; %s is expected",
                ts_reading_shown(r, r->value), ts_list_word(TS_LIST_SIZE, system),
                ts_reading_mark(r, ts_size_example((ts_size_system)system)));
    return false;
}

static bool read_word(const ts_reading *r, int32_t *out)
{
    const bool bare = ts_reading_no_unit(r);
    const int found = ts_list_find(r->field->list, r->value);

    if (found != 0) {
        *out = bare ? found : *out;
        return bare;
    }
    const ts_place place = ts_cell_place(r->at, r->arena, false);
    size_t count = 0;
    const char *const *words = ts_list_words(r->field->list, &count);
    char list[400] = "a word of the list";
    if (count - 1 <= MOST_LISTED) {
        ts_list_sentence(r->field->list, list, sizeof list);
    }
    ts_diag_add(r->diag, TS_FAULT_WORD_UNKNOWN, &place, "%s \"%s\" is not known; %s is expected",
                ts_reading_name(r), ts_reading_shown(r, r->value), list);
    ts_reading_suggest(r, r->value, words, count);
    return false;
}

/* Line breaks of every kind; what no text may hold the reader of files has refused. */
static bool holds_break(const char *text)
{
    return strpbrk(text, "\n\r") != NULL || strstr(text, "\xe2\x80\xa8") != NULL ||
           strstr(text, "\xe2\x80\xa9") != NULL;
}

static bool read_text(const ts_reading *r, const char **out)
{
    const bool bare = ts_reading_no_unit(r);

    if (r->field->kind != TS_KIND_TEXT && holds_break(r->value)) {
        const ts_place place = ts_cell_place(r->at, r->arena, false);

        ts_diag_add(r->diag, TS_FAULT_TEXT, &place,
                    "%s holds a line break; %s is expected, without one", ts_reading_name(r),
                    ts_kind_says(r->field->kind));
        return false;
    }
    if (bare) {
        *out = r->field->kind == TS_KIND_NAME ? ts_text_fold(r->arena, r->value)
                                              : ts_text_trim(r->arena, r->value);
    }
    return bare;
}

/* True for four digits, two and two, parted by hyphens. */
static bool looks_like_date(const char *text)
{
    static const char form[] = "0000-00-00";

    for (size_t i = 0; i < sizeof form; i++) {
        const bool digit = text[i] >= '0' && text[i] <= '9';

        if (form[i] == '0' ? !digit : text[i] != form[i]) {
            return false;
        }
    }
    return true;
}

static bool read_date(const ts_reading *r, ts_date *out)
{
    const bool bare = ts_reading_no_unit(r);
    const char *text = ts_text_trim(r->arena, r->value);
    ts_date date;

    if (ts_date_read(&date, text)) {
        *out = bare ? date : *out;
        return bare;
    }
    const ts_place place = ts_cell_place(r->at, r->arena, false);
    if (!looks_like_date(text)) {
        ts_diag_add(r->diag, TS_FAULT_DATE, &place,
                    "\"%s\" is no date; dates are written YYYY-MM-DD, such as 2026-03-09",
                    ts_reading_shown(r, text));
    } else if (strncmp(text, "1900", 4) < 0 || strncmp(text, "2200", 4) > 0) {
        ts_diag_add(r->diag, TS_FAULT_DATE, &place,
                    "\"%s\" lies outside the years 1900 to 2200; dates are written YYYY-MM-DD",
                    text);
    } else {
        ts_diag_add(r->diag, TS_FAULT_DATE, &place,
                    "\"%s\" is no day of the calendar; dates are written YYYY-MM-DD", text);
    }
    return false;
}

static bool read_currency(const ts_reading *r, const char **out)
{
    const bool bare = ts_reading_no_unit(r);
    const char *code = ts_currency_code(r->arena, r->value);

    if (code == NULL) {
        const ts_place place = ts_cell_place(r->at, r->arena, false);

        ts_diag_add(r->diag, TS_FAULT_CURRENCY, &place,
                    "\"%s\" is no ISO 4217 currency that can be priced in; "
                    "three letters such as EUR are expected",
                    ts_reading_shown(r, r->value));
        return false;
    }
    *out = bare ? code : *out;
    return bare;
}

static bool read_kind(const ts_reading *r, void *member)
{
    switch (r->field->kind) {
    case TS_KIND_LENGTH:
    case TS_KIND_FIT:
    case TS_KIND_ANGLE:
    case TS_KIND_GRAMS:
    case TS_KIND_CARATS:
    case TS_KIND_VOLUME:
    case TS_KIND_MINUTES:
    case TS_KIND_PERCENT:
        return read_measure(r, member);
    case TS_KIND_NUMBER:
        return read_number(r, member);
    case TS_KIND_COUNT:
        return read_count(r, member);
    case TS_KIND_AMOUNT:
        return read_amount(r, member);
    case TS_KIND_SIZE:
        return read_size(r, member);
    case TS_KIND_WORD:
        return read_word(r, member);
    case TS_KIND_NAME:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
        return read_text(r, member);
    case TS_KIND_DATE:
        return read_date(r, member);
    case TS_KIND_CURRENCY:
        return read_currency(r, member);
    case TS_KIND_NONE:
    case TS_KIND_COUNT_OF:
        break;
    }
    return false;
}

/* A cell, its field, and where both stand. NOLINTNEXTLINE(readability-function-size) */
bool ts_value_read(void *object, const ts_field *field, const char *value, const char *unit,
                   const char *subject, const ts_cell_at *at, ts_arena *arena, ts_diag *diag)
{
    const ts_reading r = {
        .field = field,
        .value = value == NULL ? "" : value,
        .unit = unit == NULL ? "" : unit,
        .subject = subject,
        .at = at,
        .arena = arena,
        .diag = diag,
    };

    if (ts_text_empty(r.value)) {
        const ts_place place = ts_cell_place(at, arena, false);

        ts_diag_add(diag, TS_FAULT_CELL_EMPTY, &place, "%s is empty; %s is expected",
                    ts_reading_name(&r), ts_kind_says(field->kind));
        return false;
    }
    return read_kind(&r, (char *)object + field->offset);
}

bool ts_value_takes_unit(const ts_field *field, const char *unit, ts_arena *arena)
{
    const ts_reading r = {.field = field, .unit = unit, .arena = arena};
    ts_amount amount = {.of = TS_AMOUNT_NONE};

    switch (field->kind) {
    case TS_KIND_LENGTH:
    case TS_KIND_FIT:
    case TS_KIND_ANGLE:
    case TS_KIND_GRAMS:
    case TS_KIND_CARATS:
    case TS_KIND_VOLUME:
    case TS_KIND_MINUTES:
    case TS_KIND_PERCENT:
        return ts_reading_serves(&r, ts_unit_find(unit));
    case TS_KIND_AMOUNT:
        return ts_amount_unit_read(&amount, arena, unit) != TS_AMOUNT_NO_UNIT;
    case TS_KIND_SIZE:
        return ts_list_find(TS_LIST_SIZE, unit) != TS_SIZE_NONE;
    case TS_KIND_NUMBER:
    case TS_KIND_COUNT:
    case TS_KIND_WORD:
    case TS_KIND_NAME:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
    case TS_KIND_DATE:
    case TS_KIND_CURRENCY:
    case TS_KIND_NONE:
    case TS_KIND_COUNT_OF:
        break;
    }
    return false;
}

/* ---- the way back ---- */

static const void *member_of(const void *object, const ts_field *field)
{
    return (const char *)object + field->offset;
}

static void text_of_dec(char *value, size_t size, const void *member)
{
    char number[TS_DECIMAL_TEXT];

    snprintf(value, size, "%s", ts_dec_text(number, *(const ts_dec *)member));
}

static void text_of_amount(char *value, size_t value_size, char *unit, size_t unit_size,
                           const ts_amount *amount)
{
    text_of_dec(value, value_size, &amount->value);
    ts_amount_unit_text(unit, unit_size, amount);
}

static void text_of_size(char *value, size_t value_size, char *unit, size_t unit_size,
                         const ts_ring_size *ring)
{
    char text[TS_SIZE_TEXT];

    snprintf(value, value_size, "%s", ts_ring_size_text(text, *ring));
    snprintf(unit, unit_size, "%s", ts_list_word(TS_LIST_SIZE, (int)ring->system));
}

static void text_of_date(char *value, size_t size, ts_date date)
{
    char text[TS_DATE_TEXT];

    snprintf(value, size, "%s", ts_date_given(date) ? ts_date_text(text, date) : "");
}

static void text_of_word(char *value, size_t size, const void *member, const ts_field *field)
{
    const int32_t word = *(const int32_t *)member;

    snprintf(value, size, "%s", ts_list_word(field->list, word));
}

static void text_of_text(char *value, size_t size, const char *const *text)
{
    snprintf(value, size, "%s", *text == NULL ? "" : *text);
}

void ts_value_text(char *value, size_t value_size, char *unit, size_t unit_size, const void *object,
                   const ts_field *field)
{
    const void *member = member_of(object, field);

    snprintf(value, value_size, "%s", "");
    snprintf(unit, unit_size, "%s", ts_kind_unit(field->kind));
    switch (field->kind) {
    case TS_KIND_FIT:
        if (((const ts_dec *)member)->e6 == 0) {
            snprintf(value, value_size, "fit");
            snprintf(unit, unit_size, "%s", "");
            return;
        }
        text_of_dec(value, value_size, member);
        return;
    case TS_KIND_LENGTH:
    case TS_KIND_ANGLE:
    case TS_KIND_GRAMS:
    case TS_KIND_CARATS:
    case TS_KIND_VOLUME:
    case TS_KIND_MINUTES:
    case TS_KIND_PERCENT:
    case TS_KIND_NUMBER:
        text_of_dec(value, value_size, member);
        return;
    case TS_KIND_COUNT:
        snprintf(value, value_size, "%ld", (long)*(const int32_t *)member);
        return;
    case TS_KIND_AMOUNT:
        text_of_amount(value, value_size, unit, unit_size, member);
        return;
    case TS_KIND_SIZE:
        text_of_size(value, value_size, unit, unit_size, member);
        return;
    case TS_KIND_WORD:
        text_of_word(value, value_size, member, field);
        return;
    case TS_KIND_DATE:
        text_of_date(value, value_size, *(const ts_date *)member);
        return;
    case TS_KIND_NAME:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
    case TS_KIND_CURRENCY:
        text_of_text(value, value_size, member);
        return;
    case TS_KIND_NONE:
    case TS_KIND_COUNT_OF:
        return;
    }
}

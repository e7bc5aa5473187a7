#include "papers/margin.h"
#include "papers/typeset.h"

#include <tallystone/base/text.h>

#include <math.h>

/* The sheet Sensitivity: what moves the margin most, at which metal price it misses the
 * floor, how sure it is and when the piece can be ready. A measurement that is moved changes
 * the whole piece, which no formula follows: all of it is the engine's, and says so. */

enum { NAME, VALUE, WHERE, LESS, MORE, LESS_MOVES, MORE_MOVES, COLUMNS };

#define MOST_DRIVERS 25
#define MOST_BARS 15
#define PX_A_MM (96 / 25.4)

static const double widths_mm[COLUMNS] = {54, 23, 41, 21, 21, 20, 20};

typedef struct writer {
    ts_margin_paper *m;
    ts_xlsx_sheet *sheet;
    double margin_pct; /* as it stands, unrounded; NaN: there is none */
    int row, count;    /* drivers shown */
} writer;

static double all_mm(void)
{
    double sum = 0;
    for (int c = 0; c < COLUMNS; c++) {
        sum += widths_mm[c];
    }
    return sum;
}

static void question(writer *w, const char *text)
{
    ts_xlsx_height(w->sheet, w->row++, 8);
    ts_xlsx_merged(w->sheet, w->row, 0, COLUMNS - 1, text, (ts_xlsx_style){.bold = true});
    ts_xlsx_height(w->sheet, w->row++, 16);
}

/* Answers the row that the sentence stands in. */
static int sentence(writer *w, const char *text)
{
    int lines = ts_typeset_lines(text, 10, false, all_mm());
    ts_xlsx_merged(w->sheet, w->row, 0, COLUMNS - 1, text, (ts_xlsx_style){.wrap = true});
    ts_xlsx_height(w->sheet, w->row, ts_typeset_height_pt(lines, 10) + 1);
    return w->row++;
}

static void put_sentences(writer *w)
{
    ts_margin_paper *m = w->m;
    question(w, "At which metal price does it miss the floor?");
    m->metal_row = w->row;
    for (int i = 0; i < m->outlook.metal_count; i++) {
        sentence(w, m->outlook.metals[i]);
    }
    question(w, "How sure is it?");
    m->range_row = sentence(w, m->outlook.range);
    question(w, "What is bought before it is paid?");
    m->cash_row = sentence(w, m->outlook.cash);
    question(w, "When can it be ready?");
    m->ready_row = sentence(w, m->outlook.ready);
}

/* ---- what moves it ---- */

/* Hundredths of a per cent; false where it cannot be made so. */
static bool hundredths(ts_dec *out, double pct)
{
    ts_dec exact;
    int64_t whole;
    if (isnan(pct) || !ts_dec_from_double(&exact, pct) ||
        !ts_div_round(&whole, exact.e6, 10000, TS_HALF_AWAY)) {
        return false;
    }
    out->e6 = whole * 10000;
    return true;
}

/* The difference of two rounded margins, so that a reader finds the same. */
static bool move_of(ts_dec *out, const writer *w, double pct)
{
    ts_dec there, here;
    return hundredths(&there, pct) && hundredths(&here, w->margin_pct) &&
           ts_dec_sub(out, there, here);
}

static void put_number(writer *w, int column, bool known, ts_dec value, const char *format)
{
    ts_xlsx_style style = {.align = TS_ALIGN_RIGHT, .format = format};
    if (known) {
        ts_xlsx_number(w->sheet, w->row, column, value, style);
    } else {
        ts_xlsx_text(w->sheet, w->row, column, column <= MORE ? "cannot be made" : "", style);
    }
}

/* Its name; with its value where another has the same name, as tiers of one rule have. */
static const char *name_of(const writer *w, const ts_driver *driver)
{
    const ts_commission_paper *paper = w->m->paper;
    for (size_t i = 0; i < paper->driver_count; i++) {
        if (&paper->drivers[i] != driver && ts_text_same(paper->drivers[i].name, driver->name)) {
            return ts_arena_format(w->m->arena, "%s, %s", driver->name, driver->value);
        }
    }
    return driver->name;
}

static void put_driver(writer *w, const ts_driver *driver)
{
    ts_dec value = {0};
    const char *texts[] = {name_of(w, driver), driver->value, driver->origin};
    int most = 1;
    for (int c = 0; c <= WHERE; c++) {
        int size = c == WHERE ? TS_MARGIN_SMALL_PT : 10;
        const char *text = ts_text_show(w->m->arena, texts[c] == NULL ? "" : texts[c], 200);
        int lines = ts_typeset_lines(text, size, false, widths_mm[c] - (c > NAME ? 2.5 : 0));
        most = lines > most ? lines : most;
        ts_xlsx_text(w->sheet, w->row, c, text,
                     (ts_xlsx_style){.size_pt = size, .wrap = true, .indent = c > NAME ? 1 : 0});
    }
    put_number(w, LESS, hundredths(&value, driver->less_pct), value, "0.00");
    put_number(w, MORE, hundredths(&value, driver->more_pct), value, "0.00");
    put_number(w, LESS_MOVES, move_of(&value, w, driver->less_pct), value,
               ts_xlsx_change_format(2));
    put_number(w, MORE_MOVES, move_of(&value, w, driver->more_pct), value,
               ts_xlsx_change_format(2));
    ts_xlsx_height(w->sheet, w->row++, ts_typeset_height_pt(most, 10) + 1);
}

static void put_headings(writer *w)
{
    static const char *const texts[COLUMNS] = {"What",
                                               "As it stands",
                                               "Where it comes from",
                                               "Margin, %, 10\xc2\xa0%\xc2\xa0"
                                               "less",
                                               "Margin, %, 10\xc2\xa0%\xc2\xa0"
                                               "more",
                                               "Change, 10\xc2\xa0%\xc2\xa0"
                                               "less",
                                               "Change, 10\xc2\xa0%\xc2\xa0"
                                               "more"};
    for (int c = 0; c < COLUMNS; c++) {
        ts_xlsx_text(w->sheet, w->row, c, texts[c],
                     (ts_xlsx_style){.bold = true,
                                     .wrap = true,
                                     .bottom = true,
                                     .rule_below = true,
                                     .align = c > WHERE ? TS_ALIGN_RIGHT : TS_ALIGN_LEFT,
                                     .indent = c == VALUE || c == WHERE ? 1 : 0});
    }
    ts_xlsx_height(w->sheet, w->row++, ts_typeset_height_pt(2, 10) + 3);
}

/* "+1.08", "-0.74", or that it cannot be made. */
static const char *signed_words(const writer *w, double pct)
{
    char text[TS_DECIMAL_TEXT];
    ts_dec value;
    if (!move_of(&value, w, pct)) {
        return "cannot be made";
    }
    const char *sign = value.e6 > 0 ? "+" : value.e6 < 0 ? "\xe2\x88\x92" : "";
    value.e6 = value.e6 < 0 ? -value.e6 : value.e6; /* a hyphen would let the line break */
    return ts_arena_format(w->m->arena, "%s%s", sign, ts_dec_fixed(text, value, 2));
}

/* "markup on labour (10 % less: -1.11, more: +1.08)" */
static const char *move_words(const writer *w, const ts_driver *driver)
{
    return ts_arena_format(w->m->arena, "%s (10 %% less: %s, more: %s)",
                           ts_text_show(w->m->arena, name_of(w, driver), 60),
                           signed_words(w, driver->less_pct), signed_words(w, driver->more_pct));
}

/* The finding, for who cannot see the chart; also said in words above it. */
static const char *finding(const writer *w)
{
    const ts_commission_paper *paper = w->m->paper;
    const char *text = "";
    for (size_t i = 0; i < paper->driver_count && i < 3; i++) {
        text = ts_text_joined(w->m->arena, text, "; ", move_words(w, &paper->drivers[i]));
    }
    return ts_arena_format(w->m->arena, "It hangs most, in points of the margin, on %s.", text);
}

static void put_chart(writer *w, int table_row)
{
    int bars_shown = w->count < MOST_BARS ? w->count : MOST_BARS;
    int height_px = 64 + bars_shown * 19;
    ts_xlsx_bars bars = {
        .first_row = table_row + 1,
        .last_row = table_row + bars_shown,
        .label_column = NAME,
        .value_column = LESS_MOVES,
        .other_column = MORE_MOVES,
        .names = {"10 % less", "10 % more"},
        .row = w->row,
        .column = NAME,
        .width_px = (int)(all_mm() * PX_A_MM),
        .height_px = height_px,
        .title = "Change of the margin, in points",
        .format = ts_xlsx_change_format(2),
        .description = finding(w),
    };
    ts_xlsx_bar_chart(w->sheet, &bars);
    ts_xlsx_height(w->sheet, w->row++, height_px * 0.75 + 6);
}

static void put_drivers(writer *w)
{
    char margin[TS_DECIMAL_TEXT];
    ts_dec now = {0};
    const ts_commission_paper *paper = w->m->paper;
    question(w, "What moves it most?");
    if (!hundredths(&now, w->margin_pct) || paper->driver_count == 0) {
        sentence(w, "Nothing can be said: there is no margin to move.");
        return;
    }
    w->count = paper->driver_count < MOST_DRIVERS ? (int)paper->driver_count : MOST_DRIVERS;
    sentence(w,
             ts_arena_format(
                 w->m->arena,
                 "Each rate and each measurement alone, a tenth less and a tenth more, the piece "
                 "measured and costed anew: the first %d of %d. The margin as it stands is %s "
                 "%% before anything is rounded.",
                 w->count, (int)paper->driver_count, ts_dec_fixed(margin, now, 2)));
    sentence(w, finding(w));
    int chart_row = w->row;
    int table_row = chart_row + 1;
    put_chart(w, table_row);
    put_headings(w);
    for (int i = 0; i < w->count; i++) {
        put_driver(w, &paper->drivers[i]);
    }
}

void ts_margin_sensitivity(ts_margin_paper *m)
{
    writer w = {.m = m,
                .sheet = m->sensitivity,
                .margin_pct = ts_margin_unrounded(m->arena, m->first),
                .row = 3};
    const char *note = "Worked out by the engine, geometry too, not by formulas: it does not "
                       "follow changed cells.";
    ts_margin_title(m, m->sensitivity,
                    m->paper->option_count > 1
                        ? ts_arena_format(m->arena, "Sensitivity (%s)", ts_margin_option(m, 0))
                        : "Sensitivity",
                    note, COLUMNS, all_mm());
    ts_xlsx_formula_text(m->sensitivity, 1, 0,
                         ts_margin_unchanged(m, ts_arena_format(m->arena, "\"%s\"", note)), note,
                         (ts_xlsx_style){.size_pt = TS_MARGIN_SMALL_PT, .colour = 0x404040});
    for (int c = 0; c < COLUMNS; c++) {
        ts_xlsx_width(m->sensitivity, c, widths_mm[c]);
    }
    put_sentences(&w);
    put_drivers(&w);
    ts_margin_page(m, m->sensitivity, "Sensitivity", 0, TS_MARGIN_UPRIGHT, 0);
    ts_xlsx_guard(m->sensitivity);
}

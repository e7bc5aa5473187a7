#include "desk/commission.h"
#include "desk/release.h"

#include <tallystone/base/text.h>
#include <tallystone/costing/insight.h>

#include <string.h>

/* `price`: every sheet priced, its papers written, and a summary said. A bad sheet is
 * named and the rest are done; bad books stop everything. */

enum { RANGE_DRAWS = 4000, RANGE_SEED = 1 };

typedef struct priced {
    ts_commission_run run;
    ts_status status;
    const char *file_name; /* the reference as a file name */
} priced;

/* Two references that make one file name: neither is written. */
static void judge_names(const ts_request *request, priced *all)
{
    for (int i = 0; i < request->operand_count; i++) {
        for (int k = 0; k < i; k++) {
            if (all[i].file_name == NULL || all[k].file_name == NULL ||
                strcmp(all[i].file_name, all[k].file_name) != 0) {
                continue;
            }
            ts_diag_add(request->diag, TS_FAULT_REFERENCE_TWICE, NULL,
                        "%s and %s would both write %s-draft-quote.xlsx; give one another "
                        "reference",
                        ts_text_show(request->arena, all[k].run.path, 200),
                        ts_text_show(request->arena, all[i].run.path, 200), all[i].file_name);
            all[i].status = TS_FAULTY;
            all[k].status = TS_FAULTY;
        }
    }
}

static const ts_costing *first_of(const priced *one)
{
    return one->run.options[0].costing;
}

static void say_lines(const ts_request *request, const priced *one)
{
    const ts_costing *costing = first_of(one);
    const ts_terms *terms = &costing->needs->terms;
    fprintf(request->result, "%s  %s\n", ts_text_show(request->arena, terms->reference, 64),
            ts_text_show(request->arena, terms->title, 90));
    ts_table *table = ts_table_new(request->arena, TS_TABLE_PRICE, costing->exponent);
    ts_price_rows(table, costing, false);
    ts_table_print(table, request->result, &request->screen);
    fputc('\n', request->result);
}

static void say_break_evens(const ts_request *request, const ts_costing *costing)
{
    const ts_break_even *list = NULL;
    size_t count = ts_break_evens_of(&list, request->arena, costing);
    char price[TS_DECIMAL_TEXT], now[TS_DECIMAL_TEXT], floor[TS_DECIMAL_TEXT];
    bool exact;
    for (size_t i = 0; i < count; i++) {
        const ts_break_even *one = &list[i];
        const char *metal = ts_list_word(TS_LIST_METAL, (int)one->metal);
        ts_dec_text(floor, costing->floor_pct);
        if (!one->found) {
            fprintf(request->result,
                    "No price of %s alone brings the margin to the floor of %s %%.\n", metal,
                    floor);
            continue;
        }
        fprintf(request->result,
                "The margin meets the floor of %s %% with %s at %s %s a %s (now %s).\n", floor,
                metal, ts_dec_fixed(price, one->price, 2), one->market->unit, one->per,
                ts_figure_text(now, one->market, &exact));
    }
}

/* What the owner learns beyond the price, in sentences. */
static void say_insight(const ts_request *request, const ts_costing *costing)
{
    char day[32], due[32];
    say_break_evens(request, costing);
    ts_range range = ts_range_of(request->arena, costing, RANGE_DRAWS, RANGE_SEED);
    if (range.known) {
        fprintf(
            request->result,
            "While the price stands, the margin lies between %.1f and %.1f %% in eight cases of "
            "ten.\n",
            range.low_pct, range.high_pct);
    }
    ts_ready ready = ts_ready_of(costing);
    if (ready.known) {
        fprintf(request->result, "Ready at the earliest in %d week%s, by %s.\n", ready.weeks,
                ready.weeks == 1 ? "" : "s", ts_date_words(day, ready.by));
    }
    if (ready.late) {
        fprintf(request->result, "caution: that is after %s, the day the client needs it.\n",
                ts_date_words(due, costing->needs->terms.deliver_by));
    }
    fputc('\n', request->result);
}

static void say_summary(const ts_request *request, const priced *all)
{
    for (int i = 0; i < request->operand_count; i++) {
        if (all[i].status != TS_OK) {
            continue;
        }
        ts_table *table =
            ts_table_new(request->arena, TS_TABLE_SUMMARY, first_of(&all[i])->exponent);
        for (int o = 0; o < all[i].run.option_count; o++) {
            ts_summary_row(table, all[i].run.options[o].costing);
        }
        ts_table_print(table, request->result, &request->screen);
        fputc('\n', request->result);
    }
}

static void say_part(const ts_request *request, const char *word, ts_money amount, int exponent)
{
    char text[TS_DECIMAL_TEXT];
    if (amount.minor != 0) {
        fprintf(request->result, "%s %s%s", word, amount.minor > 0 ? "+" : "",
                ts_money_text(text, amount, exponent));
    }
}

/* Why an option costs more or less than the first: the parts add up to the cent. */
static void say_difference(const ts_request *request, const ts_costing *first,
                           const ts_costing *other)
{
    ts_difference difference;
    const ts_terms *terms = &other->needs->terms;
    int exponent = first->exponent;
    if (!ts_costing_difference(&difference, first, other)) {
        return;
    }
    const char *name = terms->option_label != NULL ? terms->option_label : terms->option_name;
    fputs(ts_text_show(request->arena, name, 60), request->result);
    say_part(request, ":", difference.total, exponent);
    fputs(difference.total.minor == 0 ? ": no difference" : ", of it", request->result);
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        say_part(request, ts_arena_format(request->arena, " %s", ts_list_word(TS_LIST_SECTION, s)),
                 difference.section[s], exponent);
    }
    say_part(request, " adjustments", difference.adjustments, exponent);
    say_part(request, " tax", difference.tax, exponent);
    fputc('\n', request->result);
}

static void say_differences(const ts_request *request, const priced *one)
{
    for (int o = 1; o < one->run.option_count; o++) {
        say_difference(request, first_of(one), one->run.options[o].costing);
    }
    if (one->run.option_count > 1) {
        fputc('\n', request->result);
    }
}

static void say_cautions(const ts_request *request, const priced *one)
{
    for (int o = 0; o < one->run.option_count; o++) {
        const ts_quantities *quantities = one->run.options[o].quantities;
        for (int i = 0; i < quantities->caution_count; i++) {
            const ts_caution *caution = &quantities->cautions[i];
            bool said = false;
            for (int k = 0; o > 0 && k < one->run.options[0].quantities->caution_count; k++) {
                said = said || strcmp(one->run.options[0].quantities->cautions[k].sentence,
                                      caution->sentence) == 0;
            }
            if (!said) {
                fprintf(request->said, "%s%s%s: caution: %s\n", one->run.path,
                        o > 0 ? ", option " : "", o > 0 ? quantities->terms.option_name : "",
                        caution->sentence);
            }
        }
    }
}

static void write_csv(const ts_request *request, const priced *all)
{
    bool header = true;
    for (int i = 0; i < request->operand_count; i++) {
        if (all[i].status != TS_OK) {
            continue;
        }
        ts_table *table = ts_table_new(request->arena, TS_TABLE_PRICE, first_of(&all[i])->exponent);
        for (int o = 0; o < all[i].run.option_count; o++) {
            ts_price_rows(table, all[i].run.options[o].costing, true);
        }
        ts_table_csv(table, request->result, header);
        header = false;
    }
}

static void say(const ts_request *request, const priced *all)
{
    if (request->csv) {
        write_csv(request, all);
        return;
    }
    if (request->operand_count == 1 && all[0].status == TS_OK) {
        say_lines(request, &all[0]);
        say_insight(request, first_of(&all[0]));
    }
    say_summary(request, all);
    if (request->operand_count == 1 && all[0].status == TS_OK) {
        say_differences(request, &all[0]);
    }
    for (int i = 0; i < request->operand_count; i++) {
        if (all[i].status == TS_OK) {
            say_cautions(request, &all[i]);
        }
    }
}

static void show_progress(const ts_request *request, int done)
{
    if (request->progress && request->operand_count > 20) {
        fprintf(request->said, "\r%d of %d sheets", done, request->operand_count);
        if (done == request->operand_count) {
            fputs("\r\033[K", request->said);
        }
        fflush(request->said);
    }
}

ts_status ts_errand_price(const ts_request *request)
{
    const ts_book *book = NULL;
    ts_status books = ts_book_load(&book, request->arena, request->books, request->diag);
    priced *all = TS_ARRAY(request->arena, priced, (size_t)request->operand_count);
    for (int i = 0; i < request->operand_count; i++) {
        priced *one = &all[i];
        one->status = ts_commission_of(&one->run, request->arena, request->operands[i], book,
                                       request->as_of, TS_DEPTH_COSTING, request->diag);
        if (one->status == TS_OK && books == TS_OK) {
            one->file_name =
                ts_text_file_name(request->arena, first_of(one)->needs->terms.reference);
        }
        show_progress(request, i + 1);
    }
    ts_status status = books;
    if (books == TS_OK) {
        judge_names(request, all);
        for (int i = 0; i < request->operand_count; i++) {
            if (all[i].status == TS_OK && request->out != NULL) {
                all[i].status = ts_release_draft(request, &all[i].run, all[i].file_name);
            }
        }
        say(request, all);
    }
    for (int i = 0; i < request->operand_count; i++) {
        status = ts_status_worse(status, all[i].status);
    }
    return status;
}

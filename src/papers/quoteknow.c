#include "papers/piece.h"
#include "papers/quotepage.h"

#include <tallystone/base/text.h>

#include <string.h>

/* What a client should know before saying yes: how firm the price is, when to expect the
 * piece, what else is offered, what stays theirs, what is kept, how to wear it. */

static const ts_xlsx_style small_style = {.size_pt = TS_QUOTE_SMALL_PT};

static const ts_terms *terms_of(const ts_quote_page *page)
{
    return &page->first->needs->terms;
}

/* ---- the promise ---- */

static void say_promise(ts_quote_page *page)
{
    char tolerance[TS_DECIMAL_TEXT];
    const ts_costing *c = page->first;
    const char *until = ts_quote_date(page->arena, c->valid_until);
    if (c->weight_adjusts) {
        ts_quote_pair(
            page, "Price",
            ts_arena_format(page->arena,
                            "Accepted by %s, the price holds, except that the metal follows the "
                            "finished weight where it differs by more than %s %% from the weight "
                            "named above. All else changes only if the design does.",
                            until, ts_dec_text(tolerance, c->weight_tolerance_pct)));
    } else {
        ts_quote_pair(page, "Price",
                      ts_arena_format(page->arena,
                                      "Fixed until %s: accepted by then, it changes only if the "
                                      "design does.",
                                      until));
    }
    if (ts_date_given(terms_of(page)->deliver_by)) {
        ts_quote_pair(page, "Expected by",
                      ts_arena_format(page->arena, "%s; the time runs from the deposit.",
                                      ts_quote_date(page->arena, terms_of(page)->deliver_by)));
    }
}

/* ---- services ---- */

/* Services in the price, where the price table does not list them line by line. */
static void say_included(ts_quote_page *page)
{
    const char *text = "";
    for (int i = 0; i < page->first->line_count; i++) {
        const ts_line *line = &page->first->lines[i];
        if (line->section == TS_SECTION_SERVICES) {
            text = ts_text_joined(page->arena, text, ", ", line->key);
        }
    }
    if (text[0] != '\0') {
        ts_quote_small_pair(
            page, "Included",
            ts_arena_format(page->arena, "%s.", ts_piece_capital(page->arena, text)));
    }
}

static void say_offered(ts_quote_page *page)
{
    const char *text = "";
    for (int i = 0; i < page->first->offered_count; i++) {
        const ts_offered *offered = &page->first->offered[i];
        ts_money price;
        if (!ts_figure_money(&price, offered->price, page->first->exponent)) {
            continue;
        }
        text = ts_arena_format(
            page->arena, "%s%s%s %s", text, text[0] == '\0' ? "" : "; ", offered->service,
            ts_quote_money(page->arena, price, page->first->exponent, page->first->currency));
    }
    if (text[0] != '\0') {
        ts_quote_small_pair(page, "On request",
                            ts_arena_format(page->arena, "Extra, before tax: %s.", text));
    }
}

/* ---- what is the client's ---- */

static const char *amount_text(ts_quote_page *page, ts_dec amount, const char *currency)
{
    ts_money money = {0};
    int exponent = ts_currency_exponent(currency);
    exponent = exponent < 0 ? 2 : exponent;
    if (!ts_money_from_dec(&money, amount, exponent, TS_HALF_AWAY)) {
        return "";
    }
    return ts_quote_money(page->arena, money, exponent, currency);
}

static void say_client_stone(ts_quote_page *page, const ts_stone_need *need)
{
    const char *text = ts_piece_capital(page->arena, need->item);
    if (!ts_text_empty(need->report)) {
        text = ts_arena_format(page->arena, "%s, report %s", text, need->report);
    }
    if (!ts_text_empty(need->condition)) {
        text = ts_arena_format(page->arena, "%s; condition as received: %s", text, need->condition);
    }
    if (need->declared.of != TS_AMOUNT_NONE || need->declared.value.e6 > 0) {
        const char *currency =
            need->declared.currency == NULL ? page->first->currency : need->declared.currency;
        text = ts_arena_format(page->arena, "%s; declared value %s%s", text,
                               amount_text(page, need->declared.value, currency),
                               need->count > 1 ? " each" : "");
    }
    ts_quote_pair(page, "Your stones",
                  ts_arena_format(page->arena, "%s. Yours; not part of the price.", text));
}

static void say_yours(ts_quote_page *page)
{
    char grams[TS_DECIMAL_TEXT], size[TS_DECIMAL_TEXT];
    const ts_quantities *q = page->first->needs;
    for (int i = 0; i < q->stone_count; i++) {
        if (q->stones[i].client) {
            say_client_stone(page, &q->stones[i]);
        }
    }
    for (int i = 0; i < q->melee_count; i++) {
        if (q->melee[i].client) {
            ts_quote_pair(
                page, "Your stones",
                ts_arena_format(page->arena,
                                "%d small stones of %s\u00a0mm. Yours; not part of the price.",
                                q->melee[i].set, ts_dec_fixed(size, q->melee[i].diameter_mm, 2)));
        }
    }
    for (int i = 0; i < q->trade_in_count; i++) {
        const ts_trade_in_need *need = &q->trade_ins[i];
        if (need->used_g.e6 > 0) {
            ts_quote_pair(
                page, "Your metal",
                ts_arena_format(page->arena,
                                "%s\u00a0g of your %s go into the piece; the price of the "
                                "metal is less by as much.",
                                ts_dec_fixed(grams, need->used_g, 2),
                                need->row == NULL ? need->alloy : need->row->name));
        }
    }
}

/* ---- cancellation ---- */

static const char *kept_after(ts_quote_page *page, const ts_kept *kept)
{
    char value[TS_DECIMAL_TEXT];
    ts_money money;
    const ts_policy_row *row = kept->row;
    const char *amount =
        kept->amount == NULL ? ts_arena_format(page->arena, "%s\u00a0%% of what is to pay",
                                               ts_dec_text(value, row->amount.value))
        : ts_figure_money(&money, kept->amount, page->first->exponent)
            ? ts_quote_money(page->arena, money, page->first->exponent, page->first->currency)
            : "";
    return ts_arena_format(page->arena, "%s after the stage \xe2\x80\x9c%s\xe2\x80\x9d", amount,
                           row->subject);
}

static void say_kept(ts_quote_page *page)
{
    const char *text = "";
    for (int i = 0; i < page->first->kept_count; i++) {
        text = ts_text_joined(page->arena, text, ", ", kept_after(page, &page->first->kept[i]));
    }
    if (text[0] != '\0') {
        ts_quote_small_pair(page, "If you cancel",
                            ts_arena_format(page->arena, "We keep %s.", text));
    }
}

/* ---- wear, disclosures ---- */

static bool cautioned_before(const ts_commission_paper *paper, int option, int caution)
{
    const char *sentence = paper->options[option]->needs->cautions[caution].sentence;
    for (int o = 0; o <= option; o++) {
        const ts_quantities *q = paper->options[o]->needs;
        int most = o == option ? caution : q->caution_count;
        for (int i = 0; i < most; i++) {
            if (q->cautions[i].who == TS_CAUTION_WEAR &&
                strcmp(q->cautions[i].sentence, sentence) == 0) {
                return true;
            }
        }
    }
    return false;
}

/* With a capital at its beginning and a stop at its end. */
static const char *whole_sentence(ts_arena *arena, const char *text)
{
    size_t length = strlen(text);
    bool stopped = length > 0 && strchr(".!?", text[length - 1]) != NULL;
    return ts_arena_format(arena, "%s%s", ts_piece_capital(arena, text), stopped ? "" : ".");
}

static void say_cautions(ts_quote_page *page)
{
    const ts_commission_paper *paper = page->paper;
    for (int o = 0; o < paper->option_count; o++) {
        const ts_quantities *q = paper->options[o]->needs;
        for (int i = 0; i < q->caution_count; i++) {
            if (q->cautions[i].who != TS_CAUTION_WEAR || cautioned_before(paper, o, i)) {
                continue;
            }
            const char *sentence = whole_sentence(page->arena, q->cautions[i].sentence);
            if (o > 0) {
                sentence = ts_arena_format(page->arena, "%s: %s",
                                           ts_piece_option(page->arena, q, false), sentence);
            }
            ts_quote_pair(page, "Wear and care", sentence);
        }
    }
}

typedef struct facts {
    bool grown, estimated, treatment_unsaid;
} facts;

static void look_at(facts *f, const ts_quantities *q)
{
    for (int i = 0; i < q->stone_count; i++) {
        f->grown = f->grown || q->stones[i].origin == TS_ORIGIN_LABORATORY;
        f->estimated = f->estimated || !q->stones[i].weight_stated;
        f->treatment_unsaid = f->treatment_unsaid || ts_text_empty(q->stones[i].treatment);
    }
    for (int i = 0; i < q->melee_count; i++) {
        f->grown = f->grown ||
                   (q->melee[i].step != NULL && q->melee[i].step->origin == TS_ORIGIN_LABORATORY);
        f->estimated = true;
        f->treatment_unsaid = true;
    }
}

static void say_disclosures(ts_quote_page *page)
{
    facts f = {false, false, false};
    for (int i = 0; i < page->paper->option_count; i++) {
        look_at(&f, page->paper->options[i]->needs);
    }
    const char *text =
        "The weight of metal is the finished piece\xe2\x80\x99s, worked out from its measurements.";
    if (f.estimated) {
        text = ts_arena_format(page->arena,
                               "%s Weights of stones marked \xe2\x80\x9c"
                               "about\xe2\x80\x9d are "
                               "estimated from measurements, the others as weighed or reported.",
                               text);
    }
    if (f.grown) {
        text = ts_arena_format(page->arena,
                               "%s Laboratory-grown stones are made by people, not mined; "
                               "physically, chemically and optically they are as natural ones.",
                               text);
    }
    if (f.treatment_unsaid) {
        text = ts_arena_format(
            page->arena, "%s Where no treatment is named, none has been made known to us.", text);
    }
    ts_quote_small_pair(page, "Disclosures", text);
}

static void say_price(ts_quote_page *page)
{
    const char *detail = ts_book_studio(page->paper->book, "quote detail", terms_of(page)->as_of);
    say_promise(page);
    if (detail != NULL && ts_list_find(TS_LIST_DETAIL, detail) != TS_DETAIL_LINES) {
        say_included(page);
    }
    say_offered(page);
}

static void say_rest(ts_quote_page *page)
{
    say_yours(page);
    say_kept(page);
    say_cautions(page);
    say_disclosures(page);
}

ts_piece_words ts_quote_words(ts_arena *arena, const ts_commission_paper *paper)
{
    ts_piece_words said = {0};
    ts_quote_page page = {
        .arena = arena, .paper = paper, .first = paper->options[0], .said = &said};
    say_price(&page);
    say_rest(&page);
    return said;
}

void ts_quote_know(ts_quote_page *page)
{
    ts_quote_begin(page);
    ts_quote_heading(page, "What you should know");
    say_price(page);
    ts_quote_end(page);
    ts_quote_begin(page);
    say_rest(page);
    ts_quote_end(page);
}

bool ts_quote_terms(ts_quote_page *page)
{
    enum { HEADING_PT = 24, AIR_PT = 10 };
    const char *terms = page->paper->terms;
    if (ts_text_empty(terms)) {
        return true;
    }
    double takes_pt = ts_quote_text_pt(page, 0, TS_QUOTE_LAST, terms, small_style);
    if (!ts_quote_fits(page, takes_pt + HEADING_PT + AIR_PT)) {
        return false;
    }
    ts_quote_gap(page, AIR_PT);
    ts_quote_heading(page, "Our terms");
    ts_quote_text(page, 0, TS_QUOTE_LAST, terms, small_style);
    return true;
}

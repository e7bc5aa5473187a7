#include <tallystone/papers/quotation.h>

#include "papers/clientprice.h"
#include "papers/piece.h"
#include "papers/quotepage.h"

#include <tallystone/base/text.h>
#include <tallystone/base/xmlout.h>

#include <string.h>

/* The order of elements is that of UBL-Quotation-2.1.xsd; the schema knows no other. Amounts are
 * those of the client's paper, written with the decimals of their currency. */

#define NAMESPACES                                                                                 \
    "xmlns=\"urn:oasis:names:specification:ubl:schema:xsd:Quotation-2\"\n"                         \
    "  xmlns:cac=\"urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2\"\n"   \
    "  xmlns:cbc=\"urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2\""

typedef struct scribe {
    ts_xml_out xml;
    ts_arena *arena;
    const ts_commission_paper *paper;
    const ts_costing *first;
    ts_client_price price;
    bool whole;
} scribe;

/* ---- amounts ---- */

static ts_money money_of(scribe *s, const ts_figure *figure)
{
    ts_money money = {0};
    if (figure != NULL && !ts_figure_money(&money, figure, s->first->exponent)) {
        s->whole = false;
    }
    return money;
}

static void put_amount(scribe *s, const char *name, int64_t minor)
{
    char text[TS_DECIMAL_TEXT];
    ts_xml_with(&s->xml, name, "currencyID", s->first->currency,
                ts_money_text(text, (ts_money){minor}, s->first->exponent));
}

static const char *said_amount(scribe *s, ts_money money)
{
    return ts_quote_money(s->arena, money, s->first->exponent, s->first->currency);
}

/* ---- who ---- */

static const char *studio(const scribe *s, const char *field)
{
    const char *value = ts_book_studio(s->paper->book, field, s->first->needs->terms.as_of);
    return value == NULL ? "" : value;
}

static void put_if(scribe *s, const char *name, const char *text)
{
    if (!ts_text_empty(text)) {
        ts_xml_text(&s->xml, name, text);
    }
}

static void put_address(scribe *s)
{
    const char *lines[] = {studio(s, "address"), studio(s, "place")};
    if (ts_text_empty(lines[0]) && ts_text_empty(lines[1])) {
        return;
    }
    ts_xml_open(&s->xml, "cac:PostalAddress");
    for (int i = 0; i < 2; i++) {
        if (!ts_text_empty(lines[i])) {
            ts_xml_open(&s->xml, "cac:AddressLine");
            ts_xml_text(&s->xml, "cbc:Line", lines[i]);
            ts_xml_close(&s->xml, "cac:AddressLine");
        }
    }
    ts_xml_close(&s->xml, "cac:PostalAddress");
}

static void put_numbers(scribe *s)
{
    if (!ts_text_empty(studio(s, "tax number"))) {
        ts_xml_open(&s->xml, "cac:PartyTaxScheme");
        ts_xml_text(&s->xml, "cbc:CompanyID", studio(s, "tax number"));
        ts_xml_open(&s->xml, "cac:TaxScheme");
        ts_xml_text(&s->xml, "cbc:Name", "tax number");
        ts_xml_close(&s->xml, "cac:TaxScheme");
        ts_xml_close(&s->xml, "cac:PartyTaxScheme");
    }
    if (!ts_text_empty(studio(s, "registration number"))) {
        ts_xml_open(&s->xml, "cac:PartyLegalEntity");
        put_if(s, "cbc:RegistrationName", studio(s, "name"));
        ts_xml_text(&s->xml, "cbc:CompanyID", studio(s, "registration number"));
        ts_xml_close(&s->xml, "cac:PartyLegalEntity");
    }
}

static void put_seller(scribe *s)
{
    ts_xml_open(&s->xml, "cac:SellerSupplierParty");
    ts_xml_open(&s->xml, "cac:Party");
    if (!ts_text_empty(studio(s, "name"))) {
        ts_xml_open(&s->xml, "cac:PartyName");
        ts_xml_text(&s->xml, "cbc:Name", studio(s, "name"));
        ts_xml_close(&s->xml, "cac:PartyName");
    }
    put_address(s);
    put_numbers(s);
    if (!ts_text_empty(studio(s, "telephone")) || !ts_text_empty(studio(s, "email"))) {
        ts_xml_open(&s->xml, "cac:Contact");
        put_if(s, "cbc:Telephone", studio(s, "telephone"));
        put_if(s, "cbc:ElectronicMail", studio(s, "email"));
        ts_xml_close(&s->xml, "cac:Contact");
    }
    ts_xml_close(&s->xml, "cac:Party");
    ts_xml_close(&s->xml, "cac:SellerSupplierParty");
}

static void put_buyer(scribe *s)
{
    const char *client = s->first->needs->terms.client;
    if (ts_text_empty(client)) {
        return;
    }
    ts_xml_open(&s->xml, "cac:BuyerCustomerParty");
    ts_xml_open(&s->xml, "cac:Party");
    ts_xml_open(&s->xml, "cac:PartyName");
    ts_xml_text(&s->xml, "cbc:Name", client);
    ts_xml_close(&s->xml, "cac:PartyName");
    ts_xml_close(&s->xml, "cac:Party");
    ts_xml_close(&s->xml, "cac:BuyerCustomerParty");
}

/* ---- what is said ---- */

static void note(scribe *s, const char *label, const char *text)
{
    ts_xml_text(&s->xml, "cbc:Note",
                label[0] == '\0' ? text : ts_arena_format(s->arena, "%s: %s", label, text));
}

/* Old metal above the price turns the payment round: it is said, not signed. */
static bool is_turned(scribe *s, const ts_costing *costing)
{
    return money_of(s, costing->to_pay).minor < 0;
}

static const char *said_due(scribe *s, const ts_costing *costing, const ts_figure *figure)
{
    ts_money due = money_of(s, figure);
    due.minor = is_turned(s, costing) ? -due.minor : due.minor;
    return said_amount(s, due);
}

static const char *label_due(scribe *s, const ts_costing *costing)
{
    return is_turned(s, costing) ? "What we owe you" : "To pay";
}

static const char *stage_said(scribe *s, const ts_costing *costing, int index)
{
    const ts_stage *stage = &costing->stages[index];
    const char *name = ts_piece_capital(s->arena, stage->name);
    if (is_turned(s, costing)) {
        name = ts_arena_format(s->arena, "%s, we pay you", name);
    }
    if (!ts_text_empty(stage->when)) {
        name = ts_arena_format(s->arena, "%s: %s", name, stage->when);
    }
    return ts_arena_format(s->arena, "%s: %s", name, said_due(s, costing, stage->amount));
}

static void note_stages(scribe *s, const ts_costing *costing)
{
    for (int i = 0; i < costing->stage_count; i++) {
        note(s, label_due(s, costing), stage_said(s, costing, i));
    }
}

static void note_old_metal(scribe *s)
{
    char grams[TS_DECIMAL_TEXT];
    const ts_costing *c = s->first;
    for (int i = 0; i < c->trade_in_count; i++) {
        const ts_trade_in_need *need = &c->needs->trade_ins[c->trade_ins[i].need];
        const char *name = need->row == NULL ? need->alloy : need->row->name;
        note(s, "Your old metal, taken in",
             ts_arena_format(s->arena, "%s g of %s, %s", ts_dec_fixed(grams, need->weight_g, 2),
                             name, said_amount(s, money_of(s, c->trade_ins[i].amount))));
    }
}

static void put_notes(scribe *s)
{
    const ts_terms *terms = &s->first->needs->terms;
    const ts_piece_words know = ts_quote_words(s->arena, s->paper);
    note(s, "", "Quotation, not an invoice");
    if (!ts_text_empty(terms->pays_by)) {
        note(s, "Payment by", terms->pays_by);
    }
    note_old_metal(s);
    note_stages(s, s->first);
    for (int i = 0; i < know.count; i++) {
        note(s, know.lines[i].label, know.lines[i].text);
    }
    if (!ts_text_empty(s->paper->terms)) {
        note(s, "Our terms", s->paper->terms);
    }
}

static void put_conditions(scribe *s)
{
    if (s->first->stage_count == 0) {
        return;
    }
    ts_xml_open(&s->xml, "cac:TransactionConditions");
    for (int i = 0; i < s->first->stage_count; i++) {
        ts_xml_text(&s->xml, "cbc:Description", stage_said(s, s->first, i));
    }
    ts_xml_close(&s->xml, "cac:TransactionConditions");
}

/* ---- tax ---- */

/* UNCL5305 knows S for whatever is taxed; why something is not is the law's to say. */
static void put_tax_category(scribe *s, const char *name, const ts_tax_row *row)
{
    char rate[TS_DECIMAL_TEXT];
    ts_xml_open(&s->xml, name);
    if (row->rate.e6 > 0) {
        ts_xml_text(&s->xml, "cbc:ID", "S");
    }
    ts_xml_text(&s->xml, "cbc:Name", ts_text_empty(row->name) ? row->category : row->name);
    ts_xml_text(&s->xml, "cbc:Percent", ts_dec_text(rate, row->rate));
    ts_xml_open(&s->xml, "cac:TaxScheme");
    put_if(s, "cbc:Name", row->name);
    ts_xml_close(&s->xml, "cac:TaxScheme");
    ts_xml_close(&s->xml, name);
}

static void put_taxes(scribe *s, const ts_costing *c)
{
    char rate[TS_DECIMAL_TEXT];
    ts_xml_open(&s->xml, "cac:TaxTotal");
    put_amount(s, "cbc:TaxAmount", money_of(s, c->tax).minor);
    for (int i = 0; i < c->tax_count; i++) {
        const ts_tax *tax = &c->taxes[i];
        ts_xml_open(&s->xml, "cac:TaxSubtotal");
        put_amount(s, "cbc:TaxableAmount", money_of(s, tax->base).minor);
        put_amount(s, "cbc:TaxAmount", money_of(s, tax->amount).minor);
        ts_xml_text(&s->xml, "cbc:Percent", ts_dec_text(rate, tax->row->rate));
        put_tax_category(s, "cac:TaxCategory", tax->row);
        ts_xml_close(&s->xml, "cac:TaxSubtotal");
    }
    ts_xml_close(&s->xml, "cac:TaxTotal");
}

/* ---- allowances and charges ---- */

static const char *reason_of(scribe *s, const ts_costing *c)
{
    const struct {
        const ts_figure *figure;
        const char *word;
    } parts[] = {{c->discount, "discount"},
                 {c->surcharge, "fee for the way of paying"},
                 {c->minimum, "raised to our least price"},
                 {c->net_rounding, "rounding"}};
    const char *text = "";
    for (size_t i = 0; i < TS_COUNT_OF(parts); i++) {
        if (parts[i].figure != NULL) {
            text = ts_text_joined(s->arena, text, ", ", parts[i].word);
        }
    }
    return ts_piece_capital(s->arena, text);
}

/* Writes the taxes that a group's lines bear: the rows for the service, else for the section,
 * else for all, as the engine looked them up. */
static void put_group_taxes(scribe *s, const ts_costing *c, const ts_tax_group *group,
                            const char *name)
{
    const ts_line *line = &c->lines[group->first_line];
    const ts_terms *terms = &c->needs->terms;
    const char *categories[] = {line->section == TS_SECTION_SERVICES ? line->key : "",
                                ts_list_word(TS_LIST_SECTION, (int)line->section), "all"};
    bool found = false;
    for (size_t k = 0; k < TS_COUNT_OF(categories) && !found; k++) {
        for (size_t i = 0; i < c->book->taxes.count; i++) {
            const ts_tax_row *row = &c->book->taxes.at[i];
            if (ts_text_same(row->region, terms->region) &&
                ts_text_same(row->category, categories[k]) &&
                ts_book_current(c->book, &row->head, terms->as_of)) {
                put_tax_category(s, name, row);
                found = true;
            }
        }
    }
}

static void put_adjustment(scribe *s, const ts_costing *c, const ts_tax_group *group)
{
    const int64_t share = money_of(s, group->share).minor; /* below nothing: taken off */
    if (share == 0) {
        return;
    }
    ts_xml_open(&s->xml, "cac:AllowanceCharge");
    ts_xml_text(&s->xml, "cbc:ChargeIndicator", share < 0 ? "false" : "true");
    ts_xml_text(&s->xml, "cbc:AllowanceChargeReason", reason_of(s, c));
    put_amount(s, "cbc:Amount", share < 0 ? -share : share);
    put_amount(s, "cbc:BaseAmount", money_of(s, group->lines).minor);
    put_group_taxes(s, c, group, "cac:TaxCategory");
    ts_xml_close(&s->xml, "cac:AllowanceCharge");
}

static void put_adjustments(scribe *s, const ts_costing *c)
{
    for (int g = 0; g < c->group_count; g++) {
        put_adjustment(s, c, &c->groups[g]);
    }
}

/* ---- the piece and its alternatives ---- */

static void put_row(scribe *s, const ts_client_row *row, int option, int number)
{
    ts_xml_open(&s->xml, "cac:SubLineItem");
    ts_xml_text(&s->xml, "cbc:ID", ts_arena_format(s->arena, "%d.%d", option + 1, number));
    if (row->cells[option] == TS_CLIENT_YOURS) {
        ts_xml_text(&s->xml, "cbc:Note", "Yours; not part of the price");
    }
    ts_xml_with(&s->xml, "cbc:Quantity", "unitCode", "C62", "1");
    put_amount(s, "cbc:LineExtensionAmount", row->amounts[option].minor);
    ts_xml_open(&s->xml, "cac:Item");
    ts_xml_text(&s->xml, "cbc:Name", row->label);
    ts_xml_close(&s->xml, "cac:Item");
    ts_xml_close(&s->xml, "cac:SubLineItem");
}

static void put_item(scribe *s, const ts_costing *c, int option)
{
    const ts_piece_words piece = ts_piece_of(s->arena, c->needs);
    const char *title = s->first->needs->terms.title;
    const char *name = s->paper->option_count > 1 ? ts_piece_option(s->arena, c->needs, option == 0)
                       : ts_text_empty(title)     ? s->first->needs->terms.reference
                                                  : title;
    ts_xml_open(&s->xml, "cac:Item");
    if (s->paper->option_count > 1 && !ts_text_empty(title)) {
        ts_xml_text(&s->xml, "cbc:Description", title);
    }
    for (int i = 0; i < piece.count; i++) {
        ts_xml_text(&s->xml, "cbc:Description",
                    ts_arena_format(s->arena, "%s: %s", piece.lines[i].label, piece.lines[i].text));
    }
    ts_xml_text(&s->xml, "cbc:Name", name);
    if (c->group_count == 1) {
        put_group_taxes(s, c, &c->groups[0], "cac:ClassifiedTaxCategory");
    }
    ts_xml_close(&s->xml, "cac:Item");
}

/* What an alternative says for itself: its total, its way of paying if it has its own, its stages.
 */
static void note_other(scribe *s, const ts_costing *c)
{
    const char *way = c->needs->terms.pays_by;
    note(s, "Total with tax", said_amount(s, money_of(s, c->total)));
    if (c->trade_in != NULL) {
        note(s, label_due(s, c), said_due(s, c, c->to_pay));
    }
    if (!ts_text_empty(way) && !ts_text_same(way, s->first->needs->terms.pays_by)) {
        note(s, "Payment by", way);
    }
    note_stages(s, c);
}

/* An alternative stands alone: its amount is its net. */
static void put_line(scribe *s, int option)
{
    const ts_costing *c = s->paper->options[option];
    const bool other = option > 0;
    const int64_t amount = money_of(s, other ? c->net : c->lines_price).minor;
    int number = 0;
    ts_xml_text(&s->xml, "cbc:ID", ts_arena_format(s->arena, "%d", option + 1));
    if (other) {
        note_other(s, c);
    }
    ts_xml_with(&s->xml, "cbc:Quantity", "unitCode", "C62", "1");
    put_amount(s, "cbc:LineExtensionAmount", amount);
    put_amount(s, "cbc:TotalTaxAmount", money_of(s, c->tax).minor);
    if (other) {
        put_adjustments(s, c);
    }
    ts_xml_open(&s->xml, "cac:Price");
    put_amount(s, "cbc:PriceAmount", money_of(s, c->lines_price).minor);
    ts_xml_close(&s->xml, "cac:Price");
    put_item(s, c, option);
    for (int i = 0; i < s->price.count; i++) {
        if (s->price.rows[i].cells[option] != TS_CLIENT_NONE) {
            put_row(s, &s->price.rows[i], option, ++number);
        }
    }
    if (other) {
        put_taxes(s, c);
    }
}

static void put_lines(scribe *s)
{
    ts_xml_open(&s->xml, "cac:QuotationLine");
    ts_xml_text(&s->xml, "cbc:ID", "1");
    ts_xml_open(&s->xml, "cac:LineItem");
    put_line(s, 0);
    ts_xml_close(&s->xml, "cac:LineItem");
    for (int option = 1; option < s->paper->option_count; option++) {
        ts_xml_open(&s->xml, "cac:AlternativeLineItem");
        put_line(s, option);
        ts_xml_close(&s->xml, "cac:AlternativeLineItem");
    }
    ts_xml_close(&s->xml, "cac:QuotationLine");
}

/* ---- the document ---- */

/* EN 16931, BR-CO-10 to BR-CO-16: lines - allowances + charges = net; net + tax = gross; gross -
 * prepaid + rounding = payable. */
static void put_totals(scribe *s)
{
    const ts_costing *c = s->first;
    int64_t allowances = 0, charges = 0;
    for (int g = 0; g < c->group_count; g++) {
        const int64_t share = money_of(s, c->groups[g].share).minor;
        allowances += share < 0 ? -share : 0;
        charges += share > 0 ? share : 0;
    }
    const int64_t net = money_of(s, c->net).minor;
    ts_xml_open(&s->xml, "cac:QuotedMonetaryTotal");
    put_amount(s, "cbc:LineExtensionAmount", money_of(s, c->lines_price).minor);
    put_amount(s, "cbc:TaxExclusiveAmount", net);
    put_amount(s, "cbc:TaxInclusiveAmount", net + money_of(s, c->tax).minor);
    if (allowances != 0) {
        put_amount(s, "cbc:AllowanceTotalAmount", allowances);
    }
    if (charges != 0) {
        put_amount(s, "cbc:ChargeTotalAmount", charges);
    }
    if (c->trade_in != NULL) {
        put_amount(s, "cbc:PrepaidAmount", money_of(s, c->trade_in).minor);
    }
    if (c->total_rounding != NULL) {
        put_amount(s, "cbc:PayableRoundingAmount", money_of(s, c->total_rounding).minor);
    }
    put_amount(s, "cbc:PayableAmount", money_of(s, c->to_pay).minor);
    ts_xml_close(&s->xml, "cac:QuotedMonetaryTotal");
}

static void put_period(scribe *s, const char *name, ts_date from, ts_date to)
{
    char text[TS_DATE_TEXT];
    ts_xml_open(&s->xml, name);
    if (ts_date_given(from)) {
        ts_xml_text(&s->xml, "cbc:StartDate", ts_date_text(text, from));
    }
    ts_xml_text(&s->xml, "cbc:EndDate", ts_date_text(text, to));
    ts_xml_close(&s->xml, name);
}

static void put_document(scribe *s)
{
    char day[TS_DATE_TEXT];
    const ts_terms *terms = &s->first->needs->terms;
    ts_xml_begin(&s->xml, "Quotation", NAMESPACES);
    ts_xml_text(&s->xml, "cbc:UBLVersionID", "2.1");
    ts_xml_text(&s->xml, "cbc:ID",
                ts_arena_format(s->arena, "%s-r%d", terms->reference, s->paper->revision));
    ts_xml_text(&s->xml, "cbc:IssueDate", ts_date_text(day, terms->date));
    put_notes(s);
    ts_xml_text(&s->xml, "cbc:PricingCurrencyCode", s->first->currency);
    ts_xml_text(&s->xml, "cbc:LineCountNumeric", "1");
    put_period(s, "cac:ValidityPeriod", terms->date, s->first->valid_until);
    put_seller(s);
    put_buyer(s);
    if (ts_date_given(terms->deliver_by)) {
        ts_xml_open(&s->xml, "cac:Delivery");
        put_period(s, "cac:EstimatedDeliveryPeriod", TS_DATE_NONE, terms->deliver_by);
        ts_xml_close(&s->xml, "cac:Delivery");
    }
    put_conditions(s);
    put_adjustments(s, s->first);
    put_taxes(s, s->first);
    put_totals(s);
    put_lines(s);
    ts_xml_close(&s->xml, "Quotation");
}

static ts_status too_large(ts_diag *diag)
{
    ts_diag_add(diag, TS_FAULT_FIGURE, NULL,
                "an amount of the quotation is past what exact arithmetic holds");
    return TS_OVERFLOW;
}

ts_status ts_quotation_write(FILE *to, ts_arena *arena, const ts_commission_paper *paper,
                             ts_diag *diag)
{
    scribe s = {.xml = {.to = to},
                .arena = arena,
                .paper = paper,
                .first = paper->options[0],
                .whole = true};
    const char *word = studio(&s, "quote detail");
    const int detail = ts_list_find(TS_LIST_DETAIL, word);
    if (!ts_client_price_of(&s.price, arena, paper,
                            detail == 0 ? TS_DETAIL_LINES : (ts_detail)detail)) {
        return too_large(diag);
    }
    put_document(&s);
    return s.whole ? TS_OK : too_large(diag);
}

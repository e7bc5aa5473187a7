#include "register/holding.h"

#include "register/footing.h"
#include "register/needs.h"

#include <tallystone/base/sha256.h>
#include <tallystone/base/text.h>

#include <inttypes.h>
#include <string.h>

/* Writing a quote: all that it was worked out from, so that it can be shown, costed again and
 * its papers made again without the sheet, the books or the mesh being there. */

typedef struct recording {
    ts_register *reg;
    const ts_issue *issue;
    ts_arena *arena;
    int64_t quote;
    int option;
    const ts_costing *costing; /* of that option */
    int total_no;
} recording;

static const char *or_nothing(const char *text)
{
    return text == NULL ? "" : text;
}

static const char *day_text(ts_arena *arena, ts_date date)
{
    char text[TS_DATE_TEXT];
    return ts_date_given(date) ? ts_arena_text(arena, ts_date_text(text, date)) : "";
}

static int64_t minor_of(const recording *r, const ts_figure *figure)
{
    ts_money money = {0};
    if (figure != NULL && !ts_figure_money(&money, figure, r->costing->exponent)) {
        ts_db_damaged(r->reg->db, "was given an amount that is not rounded to the minor unit");
    }
    return money.minor;
}

/* ---- the books ---- */

static int64_t row_id(ts_register *reg, const ts_footing_row *row)
{
    ts_ask *ask = ts_db_ask(reg->db, "SELECT id FROM book_row WHERE file = ?1 AND key = ?2 AND"
                                     " says = ?3 AND begun = ?4 AND ends = ?5");
    const char *texts[] = {row->file, row->key, row->says, row->begun, row->ends};
    for (int i = 0; i < 5; i++) {
        ts_ask_text(ask, i + 1, texts[i]);
    }
    int64_t id = ts_ask_row(ask) ? ts_ask_get_int(ask, 0) : 0;
    ts_ask_end(ask);
    if (id != 0 || ts_db_status(reg->db) != TS_OK) {
        return id;
    }
    ask = ts_db_ask(reg->db, "INSERT INTO book_row (file, key, says, begun, ends, fold) VALUES"
                             " (?1, ?2, ?3, ?4, ?5, ?6)");
    for (int i = 0; i < 5; i++) {
        ts_ask_text(ask, i + 1, texts[i]);
    }
    ts_ask_text(ask, 6, row->name);
    ts_ask_run(ask);
    ts_ask_end(ask);
    return ts_db_last(reg->db);
}

static void add_field(ts_sha256 *sha, const void *bytes, size_t length, char mark)
{
    char head[32];
    snprintf(head, sizeof head, "%c%zu:", mark, length);
    ts_sha256_add(sha, head, strlen(head));
    ts_sha256_add(sha, bytes, length);
}

/* Feeds every column of every row of a query, each with its length. */
static void add_rows(ts_sha256 *sha, ts_register *reg, const char *sql, int64_t key)
{
    ts_ask *ask = ts_db_ask(reg->db, sql);
    ts_ask_int(ask, 1, key);
    while (ts_ask_row(ask)) {
        for (int i = 0; i < ts_ask_columns(ask); i++) {
            size_t length = 0;
            const bool is_null = ts_ask_is_null(ask, i);
            const void *bytes = ts_ask_peek(ask, i, &length);
            add_field(sha, bytes, length, is_null ? 'n' : 'v');
        }
        add_field(sha, "", 0, 'e');
    }
    ts_ask_end(ask);
}

char *ts_books_digest(char *text, ts_register *reg, int64_t books)
{
    ts_sha256 sha;
    ts_sha256_init(&sha);
    add_rows(&sha, reg,
             "SELECT file, key, begun, ends, says, fold FROM books_row JOIN book_row ON id = row"
             " WHERE books = ?1 ORDER BY file, key, begun, ends, says",
             books);
    return ts_sha256_text(&sha, text);
}

static int64_t books_of(ts_register *reg, const ts_footing *footing)
{
    char hash[TS_SHA256_TEXT];
    ts_sha256 sha;
    ts_sha256_init(&sha);
    for (size_t i = 0; i < footing->count; i++) {
        const ts_footing_row *row = &footing->rows[i];
        const char *texts[] = {row->file, row->key, row->begun, row->ends, row->says, row->name};
        for (size_t k = 0; k < TS_COUNT_OF(texts); k++) {
            add_field(&sha, texts[k], strlen(texts[k]), 'v');
        }
        add_field(&sha, "", 0, 'e');
    }
    ts_sha256_text(&sha, hash);
    ts_ask *ask = ts_db_ask(reg->db, "SELECT id FROM books WHERE hash = ?1");
    ts_ask_text(ask, 1, hash);
    const int64_t known = ts_ask_row(ask) ? ts_ask_get_int(ask, 0) : 0;
    ts_ask_end(ask);
    if (known != 0 || ts_db_status(reg->db) != TS_OK) {
        return known;
    }
    ask = ts_db_ask(reg->db, "INSERT INTO books (hash) VALUES (?1)");
    ts_ask_text(ask, 1, hash);
    ts_ask_run(ask);
    ts_ask_end(ask);
    const int64_t books = ts_db_last(reg->db);
    ask = ts_db_ask(reg->db, "INSERT INTO books_row VALUES (?1, ?2)");
    for (size_t i = 0; i < footing->count; i++) {
        ts_ask_int(ask, 1, books);
        ts_ask_int(ask, 2, row_id(reg, &footing->rows[i]));
        ts_ask_run(ask);
    }
    ts_ask_end(ask);
    return books;
}

/* ---- an option ---- */

static void write_alternative(const recording *r)
{
    const ts_costing *c = r->costing;
    ts_ask *ask =
        ts_db_ask(r->reg->db, "INSERT INTO alternative VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)");
    ts_ask_int(ask, 1, r->quote);
    ts_ask_int(ask, 2, r->option);
    ts_ask_text(ask, 3, c->needs->terms.option_name);
    ts_ask_text(ask, 4, or_nothing(c->needs->terms.option_label));
    ts_ask_int(ask, 5, minor_of(r, c->total));
    ts_ask_int(ask, 6, minor_of(r, c->to_pay));
    if (c->has_margin) {
        ts_ask_int(ask, 7, c->margin_pct.e6);
    }
    if (c->has_floor) {
        ts_ask_int(ask, 8, c->floor_pct.e6);
    }
    ts_ask_run(ask);
    ts_ask_end(ask);
}

static void write_total(recording *r, const char *section, const char *item, const ts_figure *cost,
                        const ts_figure *price)
{
    if (cost == NULL && price == NULL) {
        return;
    }
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO total VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)");
    ts_ask_int(ask, 1, r->quote);
    ts_ask_int(ask, 2, r->option);
    ts_ask_int(ask, 3, r->total_no++);
    ts_ask_text(ask, 4, section);
    ts_ask_text(ask, 5, item);
    if (cost != NULL) {
        ts_ask_int(ask, 6, minor_of(r, cost));
    }
    if (price != NULL) {
        ts_ask_int(ask, 7, minor_of(r, price));
    }
    ts_ask_run(ask);
    ts_ask_end(ask);
}

static void write_totals(recording *r)
{
    const ts_costing *c = r->costing;
    for (int s = TS_SECTION_METAL; s < TS_SECTION_COUNT; s++) {
        write_total(r, ts_list_word(TS_LIST_SECTION, s), "", c->section_cost[s],
                    c->section_price[s]);
    }
    write_total(r, "total", "cost", c->cost, NULL);
    write_total(r, "total", "lines", NULL, c->lines_price);
    write_total(r, "total", "discount", NULL, c->discount);
    write_total(r, "total", "surcharge", NULL, c->surcharge);
    write_total(r, "total", "minimum", NULL, c->minimum);
    write_total(r, "total", "rounding", NULL, c->net_rounding);
    write_total(r, "total", "net", NULL, c->net);
    write_total(r, "total", "tax", NULL, c->tax);
    write_total(r, "total", "rounding of total", NULL, c->total_rounding);
    write_total(r, "total", "total", NULL, c->total);
    write_total(r, "total", "trade-in", NULL, c->trade_in);
    write_total(r, "total", "to pay", NULL, c->to_pay);
    for (int i = 0; i < c->stage_count; i++) {
        write_total(r, "payment", c->stages[i].name, NULL, c->stages[i].amount);
    }
}

static void put_exact(ts_ask *ask, int n, const ts_figure *figure)
{
    ts_dec value;
    if (figure != NULL && ts_figure_dec(&value, figure)) {
        ts_ask_int(ask, n, value.e6);
    }
}

static void write_lines(const recording *r)
{
    const ts_costing *c = r->costing;
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO line VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8,"
                                        " ?9, ?10, ?11, ?12, ?13, ?14)");
    for (int i = 0; i < c->line_count; i++) {
        const ts_line *line = &c->lines[i];
        ts_ask_int(ask, 1, r->quote);
        ts_ask_int(ask, 2, r->option);
        ts_ask_int(ask, 3, i);
        ts_ask_text(ask, 4, ts_list_word(TS_LIST_SECTION, (int)line->section));
        ts_ask_int(ask, 5, line->kind);
        ts_ask_text(ask, 6, line->item);
        ts_ask_text(ask, 7, or_nothing(line->key));
        put_exact(ask, 8, line->quantity);
        ts_ask_text(ask, 9, or_nothing(line->unit));
        put_exact(ask, 10, line->unit_cost);
        ts_ask_int(ask, 11, minor_of(r, line->cost));
        ts_ask_int(ask, 12, minor_of(r, line->price));
        ts_ask_text(ask, 13, or_nothing(line->rule));
        ts_ask_int(ask, 14, line->tax_group);
        ts_ask_run(ask);
    }
    ts_ask_end(ask);
}

static void write_taxes(const recording *r)
{
    const ts_costing *c = r->costing;
    ts_ask *ask =
        ts_db_ask(r->reg->db, "INSERT INTO tax VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)");
    for (int i = 0; i < c->tax_count; i++) {
        const ts_tax *tax = &c->taxes[i];
        ts_ask_int(ask, 1, r->quote);
        ts_ask_int(ask, 2, r->option);
        ts_ask_int(ask, 3, i);
        ts_ask_text(ask, 4, tax->row->region);
        ts_ask_text(ask, 5, tax->row->category);
        ts_ask_text(ask, 6, tax->row->name);
        ts_ask_int(ask, 7, tax->row->rate.e6);
        ts_ask_text(ask, 8, ts_list_word(TS_LIST_DUE, tax->row->due));
        ts_ask_int(ask, 9, minor_of(r, tax->base));
        ts_ask_int(ask, 10, minor_of(r, tax->amount));
        ts_ask_run(ask);
    }
    ts_ask_end(ask);
}

static void write_needs(const recording *r)
{
    const ts_quantities *needs = r->costing->needs;
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO need VALUES (?1, ?2, ?3, ?4, ?5)");
    for (int kind = 0; kind < TS_NEED_KIND_COUNT; kind++) {
        for (int no = 0; no < ts_needs_count(needs, (ts_need_kind)kind); no++) {
            ts_ask_int(ask, 1, r->quote);
            ts_ask_int(ask, 2, r->option);
            ts_ask_text(ask, 3, ts_need_kind_word((ts_need_kind)kind));
            ts_ask_int(ask, 4, no);
            ts_ask_text(ask, 5, ts_need_record(r->arena, needs, (ts_need_kind)kind, no));
            ts_ask_run(ask);
        }
    }
    ts_ask_end(ask);
}

static void write_rests(const recording *r, const ts_footing *footing)
{
    const ts_footing_row *const *rows = NULL;
    const size_t count = ts_footing_under(&rows, r->arena, footing, r->costing);
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO rests VALUES (?1, ?2, ?3, ?4)");
    for (size_t i = 0; i < count; i++) {
        ts_ask_int(ask, 1, r->quote);
        ts_ask_int(ask, 2, r->option);
        ts_ask_int(ask, 3, row_id(r->reg, rows[i]));
        ts_ask_int(ask, 4, rows[i]->row->line);
        ts_ask_run(ask);
    }
    ts_ask_end(ask);
}

/* ---- files ---- */

static void write_file(const recording *r, const ts_kept_file *file)
{
    char hash[TS_SHA256_TEXT];
    ts_sha256_of(hash, file->bytes, file->length);
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO file SELECT ?1, ?2 WHERE NOT EXISTS"
                                        " (SELECT 1 FROM file WHERE hash = ?1)");
    ts_ask_text(ask, 1, hash);
    ts_ask_bytes(ask, 2, file->bytes, file->length);
    ts_ask_run(ask);
    ts_ask_end(ask);
    ask = ts_db_ask(r->reg->db, "INSERT INTO quote_file SELECT ?1, ?2, ?3, ?4 WHERE NOT EXISTS"
                                " (SELECT 1 FROM quote_file WHERE quote = ?1 AND role = ?2 AND"
                                " name = ?3)");
    ts_ask_int(ask, 1, r->quote);
    ts_ask_text(ask, 2, file->role);
    ts_ask_text(ask, 3, file->name);
    ts_ask_text(ask, 4, hash);
    ts_ask_run(ask);
    ts_ask_end(ask);
}

static void write_paper(const recording *r, const ts_kept_file *paper)
{
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO paper VALUES (?1, ?2, ?3)");
    ts_ask_int(ask, 1, r->quote);
    ts_ask_text(ask, 2, paper->name);
    ts_ask_text(ask, 3, paper->hash);
    ts_ask_run(ask);
    ts_ask_end(ask);
}

/* ---- the whole ---- */

static void write_quote(recording *r, const ts_life *life, int64_t books)
{
    const ts_issue *issue = r->issue;
    const ts_terms *terms = &issue->options[0]->needs->terms;
    ts_ask *ask = ts_db_ask(r->reg->db, "INSERT INTO quote VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6,"
                                        " ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)");
    ts_ask_text(ask, 1, terms->reference);
    ts_ask_int(ask, 2, life->count + 1);
    if (life->count > 0) {
        ts_ask_int(ask, 3, life->quotes[life->count - 1].id);
    }
    ts_ask_text(ask, 4, issue->file_name);
    ts_ask_text(ask, 5, or_nothing(terms->title));
    ts_ask_text(ask, 6, or_nothing(terms->client));
    ts_ask_text(ask, 7, terms->currency);
    ts_ask_int(ask, 8, terms->exponent);
    ts_ask_text(ask, 9, or_nothing(terms->region));
    ts_ask_text(ask, 10, issue->sheet);
    ts_ask_text(ask, 11, day_text(r->arena, terms->date));
    ts_ask_text(ask, 12, day_text(r->arena, terms->as_of));
    ts_ask_text(ask, 13, day_text(r->arena, issue->options[0]->valid_until));
    ts_ask_int(ask, 14, books);
    ts_ask_text(ask, 15, or_nothing(issue->reason));
    ts_ask_text(ask, 16, issue->program);
    ts_ask_run(ask);
    ts_ask_end(ask);
    r->quote = ts_db_last(r->reg->db);
}

char *ts_quote_digest(char *text, ts_register *reg, int64_t quote)
{
    static const char *const parts[] = {
        ("SELECT q.id, q.reference, q.revision, q.replaces, q.file_name, q.title, q.client,"
         " q.currency, q.exponent, q.region, q.sheet, q.dated, q.as_of, q.valid_until, b.hash,"
         " q.reason, q.program FROM quote q JOIN books b ON b.id = q.books WHERE q.id = ?1"),
        "SELECT * FROM alternative WHERE quote = ?1 ORDER BY option",
        "SELECT * FROM total WHERE quote = ?1 ORDER BY option, no",
        "SELECT * FROM line WHERE quote = ?1 ORDER BY option, no",
        "SELECT * FROM tax WHERE quote = ?1 ORDER BY option, no",
        "SELECT * FROM need WHERE quote = ?1 ORDER BY option, kind, no",
        ("SELECT option, line, file, key, begun, ends, says, fold FROM rests JOIN book_row ON"
         " id = row WHERE quote = ?1 ORDER BY option, file, key, begun, ends, says"),
        "SELECT * FROM quote_file WHERE quote = ?1 ORDER BY role, name",
        "SELECT * FROM paper WHERE quote = ?1 ORDER BY name",
    };
    ts_sha256 sha;
    ts_sha256_init(&sha);
    for (size_t i = 0; i < TS_COUNT_OF(parts); i++) {
        add_rows(&sha, reg, parts[i], quote);
    }
    return ts_sha256_text(&sha, text);
}

static ts_status write_event(recording *r, ts_life *life)
{
    char hash[TS_SHA256_TEXT];
    const ts_terms *terms = &r->issue->options[0]->needs->terms;
    ts_event event = {.kind = r->issue->is_revision ? TS_EVENT_REVISE : TS_EVENT_ISSUE,
                      .quote = r->quote,
                      .reference = terms->reference,
                      .revision = life->count + 1,
                      .option = "",
                      .stage = "",
                      .currency = terms->currency,
                      .way = "",
                      .receipt = "",
                      .reason = or_nothing(r->issue->reason),
                      .day = r->issue->day,
                      .who = r->issue->who};
    event.content = ts_arena_text(r->arena, ts_quote_digest(hash, r->reg, r->quote));
    if (ts_db_status(r->reg->db) != TS_OK) {
        return ts_db_status(r->reg->db);
    }
    ts_event_write(r->reg, &event);
    const ts_status status = ts_register_life(life, r->reg, terms->reference);
    if (status == TS_OK) {
        ts_standing_write(r->reg, life);
    }
    return ts_db_status(r->reg->db);
}

/* Another reference that whoever types this one would mean as well, or whose papers bear its
 * file names, is a fault. */
static bool is_alone(ts_register *reg, const char *reference, const char *file_name)
{
    const char *const *list = NULL;
    const size_t count = ts_register_references(&list, reg);
    const char *shown = ts_text_show(reg->arena, reference, 64);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i], reference) == 0) {
            return true; /* it is there already, and its revisions come after it */
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (ts_text_same(list[i], reference)) {
            ts_diag_add(reg->diag, TS_FAULT_REFERENCE_TWICE, NULL,
                        "%s and %s, which is in the register, are one reference but for capitals "
                        "and blanks; give one another",
                        shown, ts_text_show(reg->arena, list[i], 64));
            return false;
        }
    }
    ts_ask *ask = ts_db_ask(
        reg->db, "SELECT reference FROM quote WHERE file_name = ?1 COLLATE NOCASE LIMIT 1");
    ts_ask_text(ask, 1, file_name);
    const char *other = ts_ask_row(ask) ? ts_ask_get_text(ask, reg->arena, 0) : NULL;
    ts_ask_end(ask);
    if (other != NULL) {
        ts_diag_add(reg->diag, TS_FAULT_REFERENCE_TWICE, NULL,
                    "%s and %s, which is in the register, would both write %s-r1-quote.xlsx; give "
                    "one another reference",
                    shown, ts_text_show(reg->arena, other, 64), file_name);
    }
    return other == NULL;
}

ts_status ts_register_next_revision(int *revision, ts_register *reg, const char *reference,
                                    const char *file_name, bool is_revision, ts_date day)
{
    ts_life life;
    const ts_status status = ts_register_life(&life, reg, reference);
    if (status != TS_OK) {
        return status;
    }
    *revision = life.count + 1;
    const char *shown = ts_text_show(reg->arena, reference, 64);
    const char *word = ts_text_word(reg->arena, reference);
    if (!is_revision && life.count > 0) {
        ts_diag_add(
            reg->diag, TS_FAULT_REFUSED, NULL,
            "%s is issued already and cannot change; `tallystone revise %s SHEET --out DIR` "
            "issues r%d, `tallystone register --reproduce %s-r%d --out DIR` writes its "
            "papers again",
            shown, word, life.count + 1, word, life.count);
        return TS_REFUSED;
    }
    if (!is_alone(reg, reference, file_name)) {
        return TS_FAULTY;
    }
    const ts_event event = {.kind = is_revision ? TS_EVENT_REVISE : TS_EVENT_ISSUE, .day = day};
    ts_quote next = {.id = 0};
    ts_life with = life;
    with.quotes = TS_ARRAY(reg->arena, ts_quote, (size_t)life.count + 1);
    if (life.count > 0) {
        memcpy(with.quotes, life.quotes, (size_t)life.count * sizeof *life.quotes);
    }
    with.quotes[with.count++] = next;
    const char *why = ts_life_refusal(&with, reg->arena, &event);
    if (why != NULL) {
        ts_diag_add(reg->diag, TS_FAULT_REFUSED, NULL, "%s", why);
        return TS_REFUSED;
    }
    return ts_register_judge_day(reg, day);
}

ts_status ts_register_issue(ts_register *reg, const ts_issue *issue)
{
    ts_life life;
    recording r = {.reg = reg, .issue = issue, .arena = reg->arena};
    const ts_terms *terms = &issue->options[0]->needs->terms;
    const ts_status status = ts_register_life(&life, reg, terms->reference);
    if (status != TS_OK) {
        return status;
    }
    const ts_footing footing = ts_footing_of(reg->arena, issue->options[0]->book, terms->as_of);
    r.costing = issue->options[0];
    write_quote(&r, &life, books_of(reg, &footing));
    for (r.option = 0; r.option < issue->option_count; r.option++) {
        r.costing = issue->options[r.option];
        r.total_no = 0;
        write_alternative(&r);
        write_totals(&r);
        write_lines(&r);
        write_taxes(&r);
        write_needs(&r);
        write_rests(&r, &footing);
    }
    for (size_t i = 0; i < issue->file_count; i++) {
        write_file(&r, &issue->files[i]);
    }
    for (size_t i = 0; i < issue->paper_count; i++) {
        write_paper(&r, &issue->papers[i]);
    }
    return write_event(&r, &life);
}

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "piece.h"
#include <tallystone/register/register.h>

/* What the register keeps of a quote: its quantities come back exactly, so that costing them
 * by the same books gives every figure again; what was issued cannot be issued twice. */

#define BOOKS "pricebooks"

typedef struct fixture {
    piece piece;
    ts_costing *costing;
    char path[256];
} fixture;

static void open_piece(fixture *f, const char *sheet, int option)
{
    const char *folder = getenv("TMPDIR");
    f->piece = piece_read(sheet, option, BOOKS);
    piece_measure(&f->piece, true);
    piece_count(&f->piece);
    assert_int_equal(ts_costing_of(&f->costing, f->piece.arena, f->piece.quantities, f->piece.book,
                                   f->piece.diag),
                     TS_OK);
    snprintf(f->path, sizeof f->path, "%s/test-register-%ld.db", folder == NULL ? "build" : folder,
             (long)getpid());
    unlink(f->path);
}

static void close_piece(fixture *f)
{
    unlink(f->path);
    piece_close(&f->piece);
}

static ts_register *open_register(fixture *f, ts_register_use use)
{
    ts_register *reg = NULL;
    assert_int_equal(ts_register_open(&reg, f->piece.arena, f->path, use, f->piece.diag), TS_OK);
    return reg;
}

static ts_issue issue_of(fixture *f, const ts_costing *const *options)
{
    (void)f;
    const ts_terms *terms = &options[0]->needs->terms;
    return (ts_issue){.options = options,
                      .option_count = 1,
                      .file_name = "x",
                      .sheet = "x.csv",
                      .program = "test",
                      .day = terms->date,
                      .reason = NULL,
                      .who = "tester"};
}

static void issue(fixture *f)
{
    const ts_costing *options[] = {f->costing};
    ts_register *reg = open_register(f, TS_REGISTER_MAKE);
    const ts_issue ask = issue_of(f, options);
    assert_int_equal(ts_register_issue(reg, &ask), TS_OK);
    assert_int_equal(ts_register_commit(reg), TS_OK);
    ts_register_close(reg);
}

static void same_figure(const char *what, const ts_figure *one, const ts_figure *other)
{
    assert_int_equal(one == NULL, other == NULL);
    if (one != NULL && (one->value.num != other->value.num || one->value.den != other->value.den)) {
        fail_msg("%s differs", what);
    }
}

static void same_costing(const ts_costing *one, const ts_costing *other)
{
    assert_int_equal(one->line_count, other->line_count);
    for (int i = 0; i < one->line_count; i++) {
        assert_string_equal(one->lines[i].item, other->lines[i].item);
        same_figure(one->lines[i].item, one->lines[i].quantity, other->lines[i].quantity);
        same_figure(one->lines[i].item, one->lines[i].unit_cost, other->lines[i].unit_cost);
        same_figure(one->lines[i].item, one->lines[i].cost, other->lines[i].cost);
        same_figure(one->lines[i].item, one->lines[i].price, other->lines[i].price);
    }
    same_figure("net", one->net, other->net);
    same_figure("tax", one->tax, other->tax);
    same_figure("total", one->total, other->total);
    same_figure("trade-in", one->trade_in, other->trade_in);
    same_figure("to pay", one->to_pay, other->to_pay);
    assert_int_equal(one->stage_count, other->stage_count);
    for (int i = 0; i < one->stage_count; i++) {
        same_figure(one->stages[i].name, one->stages[i].amount, other->stages[i].amount);
    }
    assert_int_equal(one->margin_pct.e6, other->margin_pct.e6);
    assert_int_equal(one->valid_until.days, other->valid_until.days);
}

static void come_back(const char *sheet, int option)
{
    fixture f;
    ts_life life;
    ts_quantities *needs = NULL;
    ts_costing *again = NULL;
    open_piece(&f, sheet, option);
    issue(&f);
    ts_register *reg = open_register(&f, TS_REGISTER_READ);
    const ts_terms *terms = &f.costing->needs->terms;
    assert_int_equal(ts_register_life(&life, reg, terms->reference), TS_OK);
    assert_int_equal(life.count, 1);
    assert_int_equal(ts_register_quantities(&needs, reg, life.quotes[0].id, 0), TS_OK);
    assert_int_equal(
        ts_register_cost(&again, f.piece.arena, needs, f.piece.book, terms->as_of, f.piece.diag),
        TS_OK);
    same_costing(f.costing, again);
    ts_register_close(reg);
    close_piece(&f);
}

static void quantities_come_back_exactly(void **state)
{
    (void)state;
    come_back("demo/halo.csv", 0);
    come_back("demo/halo.csv", 1);
    come_back("demo/eternity.csv", 0);
    come_back("demo/three-stone.csv", 0);
}

static void what_was_issued_is_verified_and_not_issued_again(void **state)
{
    (void)state;
    fixture f;
    size_t events = 0, quotes = 0;
    int revision = 0;
    open_piece(&f, "demo/eternity.csv", 0);
    issue(&f);
    ts_register *reg = open_register(&f, TS_REGISTER_WRITE);
    const ts_terms *terms = &f.costing->needs->terms;
    assert_int_equal(ts_register_verify(&events, &quotes, reg), TS_OK);
    assert_int_equal(events, 1);
    assert_int_equal(quotes, 1);
    assert_int_equal(
        ts_register_next_revision(&revision, reg, terms->reference, "x", false, terms->date),
        TS_REFUSED);
    assert_int_equal(
        ts_register_next_revision(&revision, reg, terms->reference, "x", true, terms->date), TS_OK);
    assert_int_equal(revision, 2);
    assert_int_equal(ts_register_next_revision(&revision, reg, "another", "x", false, terms->date),
                     TS_FAULTY);
    ts_register_close(reg);
    close_piece(&f);
}

static void without_a_commit_nothing_stays(void **state)
{
    (void)state;
    fixture f;
    ts_life life;
    ts_register *reg = NULL;
    open_piece(&f, "demo/eternity.csv", 0);
    const ts_costing *options[] = {f.costing};
    reg = open_register(&f, TS_REGISTER_MAKE);
    const ts_issue ask = issue_of(&f, options);
    assert_int_equal(ts_register_issue(reg, &ask), TS_OK);
    ts_register_close(reg);
    assert_int_equal(ts_register_open(&reg, f.piece.arena, f.path, TS_REGISTER_READ, f.piece.diag),
                     TS_MISSING);
    issue(&f);
    reg = open_register(&f, TS_REGISTER_READ);
    assert_int_equal(ts_register_life(&life, reg, f.costing->needs->terms.reference), TS_OK);
    assert_int_equal(life.count, 1);
    ts_register_close(reg);
    close_piece(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantities_come_back_exactly),
        cmocka_unit_test(what_was_issued_is_verified_and_not_issued_again),
        cmocka_unit_test(without_a_commit_nothing_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "desk/commission.h"
#include "desk/issuing.h"
#include "desk/promised.h"

#include <tallystone/base/text.h>
#include <tallystone/papers/order.h>

#include <assert.h>
#include <string.h>

/* `order`: what to buy, cast and make for all sheets and quotes together. An order that leaves out
 * a stone is worse than none: with a fault in any of them nothing is written or printed. */

enum { ALL_TABLES = -1 };

static const char *const table_words[] = {"stones", "casting", "bench"};

/* Said for a slip of the command line: exit 64. */
static ts_status refuse(const ts_request *request, const char *sentence)
{
    fprintf(request->said, "tallystone: `order`: %s\n", sentence);
    return TS_STATUS_COUNT;
}

static bool ends_as_workbook(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot != NULL && dot > path && dot[-1] != '/' && ts_text_same(dot, ".xlsx");
}

static const char *name_in(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

/* The position of the table asked for; ALL_TABLES where none is. */
static bool read_table(const ts_request *request, int *table)
{
    *table = ALL_TABLES;
    if (request->table == NULL) {
        return true;
    }
    for (int i = 0; i < (int)TS_COUNT_OF(table_words); i++) {
        if (ts_text_same(table_words[i], request->table)) {
            *table = i;
            return true;
        }
    }
    return false;
}

static ts_status judge_line(const ts_request *request, int *table)
{
    if (!read_table(request, table)) {
        return refuse(request, "--table must be followed by stones, casting or bench");
    }
    if (request->csv && *table == ALL_TABLES) {
        return refuse(request, "--csv prints one table: --table stones, casting or bench names it");
    }
    if (request->out != NULL && !ends_as_workbook(request->out)) {
        return refuse(request, "the file that --out names must end in .xlsx");
    }
    if (request->option != NULL && request->operand_count > 1) {
        return refuse(request, "--option names an option of one sheet or quote; here are several");
    }
    return TS_OK;
}

/* ---- the commissions ---- */

/* A reference that stands twice would be bought twice. */
static ts_status judge_references(const ts_request *request, const ts_costing *const *costings)
{
    ts_status status = TS_OK;
    for (int i = 0; i < request->operand_count; i++) {
        for (int k = 0; k < i; k++) {
            assert(costings[i] != NULL && costings[k] != NULL); /* all were made */
            const char *reference = costings[i]->needs->terms.reference;
            if (ts_text_same(reference, costings[k]->needs->terms.reference)) {
                ts_diag_add(request->diag, TS_FAULT_REFERENCE_TWICE, NULL,
                            "%s and %s are both %s and would be ordered twice; name one of them, "
                            "or give one another reference",
                            ts_text_show(request->arena, request->operands[k], 200),
                            ts_text_show(request->arena, request->operands[i], 200),
                            ts_text_show(request->arena, reference, 64));
                status = TS_FAULTY;
            }
        }
    }
    return status;
}

/* One sheet whole; its own option, or the one that --option names. */
static ts_status run_sheet(const ts_costing **out, const ts_request *request, const ts_book *book,
                           const char *path)
{
    ts_commission_run *run = TS_NEW(request->arena, ts_commission_run);
    int option = 0;
    ts_status status = TS_OK;
    if (request->option != NULL) {
        status = ts_commission_asked(run, &option, request, TS_DEPTH_COSTING);
    } else {
        status = ts_commission_of(run, request->arena, path, book, request->as_of, TS_DEPTH_COSTING,
                                  request->diag);
    }
    *out = status == TS_OK ? run->options[option].costing : NULL;
    return status;
}

static bool any_promised(const ts_request *request)
{
    for (int i = 0; i < request->operand_count; i++) {
        if (ts_promised_is(request->operands[i])) {
            return true;
        }
    }
    return false;
}

/* Every sheet and quote is looked at, so that the faults of all come out together. */
static ts_status run_all(const ts_request *request, const ts_costing **costings)
{
    const ts_book *book = NULL;
    ts_register *reg = NULL;
    ts_status status = TS_OK;
    /* an option asked for reads the books itself */
    if (request->option == NULL || any_promised(request)) {
        status = ts_book_load(&book, request->arena, request->books, request->diag);
    }
    if (any_promised(request)) {
        ts_status opened = ts_desk_register(&reg, request, TS_REGISTER_READ);
        status = ts_status_worse(status, opened);
    }
    for (int i = 0; i < request->operand_count; i++) {
        const char *word = request->operands[i];
        ts_costing *promised = NULL;
        ts_status ended = TS_OK;
        if (!ts_promised_is(word)) {
            ended = run_sheet(&costings[i], request, book, word);
        } else if (reg != NULL && book != NULL) {
            ended = ts_promised_of(&promised, request, reg, book, word);
            costings[i] = promised;
        }
        status = ts_status_worse(status, ended);
    }
    ts_register_close(reg);
    return status;
}

static ts_status gather(ts_order *out, const ts_request *request)
{
    const ts_costing **costings =
        TS_ARRAY(request->arena, const ts_costing *, (size_t)request->operand_count);
    ts_status status = run_all(request, costings);
    if (status == TS_OK) {
        status = judge_references(request, costings);
    }
    if (status == TS_OK) {
        status = ts_order_of(out, request->arena, costings, request->operand_count, request->diag);
    }
    return status;
}

/* ---- what comes of it ---- */

static void print_tables(const ts_request *request, const ts_order *order, int table)
{
    const ts_table *const tables[] = {order->stones, order->casting, order->bench};
    if (request->csv && table >= 0 && table < (int)TS_COUNT_OF(tables)) {
        ts_table_csv(tables[table], request->result, true);
        return;
    }
    for (int i = 0; i < (int)TS_COUNT_OF(tables); i++) {
        if (table != ALL_TABLES && table != i) {
            continue;
        }
        if (table == ALL_TABLES) {
            fprintf(request->result, "%s%s\n", i > 0 ? "\n" : "", table_words[i]);
        }
        ts_table_print(tables[i], request->result, &request->screen);
    }
}

static ts_status release(const ts_request *request, const ts_order *order)
{
    const char *path = NULL;
    ts_status status = ts_outbox_open(request->outbox, request->arena,
                                      ts_file_folder(request->arena, request->out), request->diag);
    if (status == TS_OK) {
        status =
            ts_outbox_file(&path, *request->outbox, name_in(request->out), false, request->diag);
    }
    if (status == TS_OK) {
        status = ts_order_write(path, request->arena, order, request->diag);
    }
    if (status == TS_OK) {
        status = ts_outbox_commit(*request->outbox, request->diag);
    }
    ts_outbox_drop(*request->outbox);
    *request->outbox = NULL;
    if (status == TS_OK) {
        fprintf(request->said, "%s: stones, casting and bench of %d commission%s\n", request->out,
                order->count, order->count == 1 ? "" : "s");
    }
    return status;
}

ts_status ts_errand_order(const ts_request *request)
{
    ts_order order;
    int table = ALL_TABLES;
    ts_status status = judge_line(request, &table);
    if (status == TS_OK) {
        status = gather(&order, request);
    }
    if (status == TS_OK && request->out != NULL) {
        status = release(request, &order);
    }
    if (status == TS_OK && (request->out == NULL || table != ALL_TABLES)) {
        print_tables(request, &order, table);
    }
    return status;
}

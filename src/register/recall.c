#include "register/holding.h"

#include "register/footing.h"
#include "register/needs.h"

#include <tallystone/base/text.h>

#include <string.h>

/* Reading a quote back: what the piece takes, what it came to, what it was made from. */

ts_ask *ts_quantities_ask(ts_register *reg)
{
    return ts_db_ask(reg->db, "SELECT kind, no, record FROM need WHERE quote = ?1 AND option = ?2"
                              " ORDER BY kind, no");
}

ts_status ts_quantities_take(ts_quantities **out, ts_register *reg, ts_ask *ask, int64_t quote,
                             int option)
{
    ts_quantities *needs = TS_NEW(reg->arena, ts_quantities);
    bool whole = true, has_terms = false;
    ts_ask_int(ask, 1, quote);
    ts_ask_int(ask, 2, option);
    while (whole && ts_ask_row(ask)) {
        size_t kind_length = 0, length = 0;
        const char *kind = ts_ask_peek(ask, 0, &kind_length);
        const char *record = ts_ask_peek(ask, 2, &length);
        const char *word = ts_arena_copy(reg->arena, kind, kind_length);
        whole = ts_needs_take(needs, reg->arena, word, ts_ask_get_int(ask, 1),
                              ts_arena_copy(reg->arena, record, length));
        has_terms = has_terms || strcmp(word, ts_need_kind_word(TS_NEED_KIND_TERMS)) == 0;
    }
    ts_ask_again(ask);
    *out = needs;
    if (!whole || (!has_terms && ts_db_status(reg->db) == TS_OK)) {
        return ts_db_damaged(reg->db, "holds quantities that cannot be read; put its last backup "
                                      "in its place");
    }
    return ts_db_status(reg->db);
}

ts_status ts_register_quantities(ts_quantities **out, ts_register *reg, int64_t quote, int option)
{
    ts_ask *ask = ts_quantities_ask(reg);
    const ts_status status = ts_quantities_take(out, reg, ask, quote, option);
    ts_ask_end(ask);
    return status;
}

ts_status ts_register_cost(ts_costing **out, ts_arena *arena, ts_quantities *needs,
                           const ts_book *book, ts_date on, ts_diag *diag)
{
    const ts_status status = ts_needs_bind(needs, arena, book, on, diag);
    return status != TS_OK ? status : ts_costing_of(out, arena, needs, book, diag);
}

ts_status ts_register_files(const ts_kept_file **out, size_t *count, ts_register *reg,
                            int64_t quote)
{
    ts_kept_file *files = NULL;
    size_t room = 0;
    *count = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT role, name, f.hash, bytes FROM quote_file q JOIN file"
                                     " f ON f.hash = q.hash WHERE quote = ?1 ORDER BY role, name");
    ts_ask_int(ask, 1, quote);
    while (ts_ask_row(ask)) {
        size_t length = 0;
        const void *bytes = ts_ask_peek(ask, 3, &length);
        files = ts_arena_grow(reg->arena, files, *count, &room, sizeof *files);
        files[(*count)++] = (ts_kept_file){.role = ts_ask_get_text(ask, reg->arena, 0),
                                           .name = ts_ask_get_text(ask, reg->arena, 1),
                                           .hash = ts_ask_get_text(ask, reg->arena, 2),
                                           .bytes = ts_arena_copy(reg->arena, bytes, length),
                                           .length = length};
    }
    ts_ask_end(ask);
    *out = files;
    return ts_db_status(reg->db);
}

size_t ts_register_papers(const ts_kept_file **out, ts_register *reg, int64_t quote)
{
    ts_kept_file *papers = NULL;
    size_t room = 0, count = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT name, hash FROM paper WHERE quote = ?1 ORDER BY name");
    ts_ask_int(ask, 1, quote);
    while (ts_ask_row(ask)) {
        papers = ts_arena_grow(reg->arena, papers, count, &room, sizeof *papers);
        papers[count++] = (ts_kept_file){.name = ts_ask_get_text(ask, reg->arena, 0),
                                         .hash = ts_ask_get_text(ask, reg->arena, 1)};
    }
    ts_ask_end(ask);
    *out = papers;
    return count;
}

/* ---- rows that moved ---- */

const char *ts_register_tax_moved(ts_register *reg, int64_t quote, int option, const ts_book *book,
                                  ts_date on)
{
    const ts_footing today = ts_footing_of(reg->arena, book, on);
    const char *moved = NULL;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT key, says FROM rests JOIN book_row ON id = row WHERE"
                                     " quote = ?1 AND option = ?2 AND file = 'taxes.csv'");
    ts_ask_int(ask, 1, quote);
    ts_ask_int(ask, 2, option);
    while (moved == NULL && ts_ask_row(ask)) {
        const char *key = ts_ask_get_text(ask, reg->arena, 0);
        const char *says = ts_ask_get_text(ask, reg->arena, 1);
        const ts_footing_row *row = ts_footing_find(&today, "taxes.csv", key);
        if (row == NULL || strcmp(row->says, says) != 0) {
            moved = ts_arena_format(
                reg->arena, "\"%s\": %s then, %s now",
                ts_text_show(reg->arena, strrchr(key, '\t') == NULL ? key : strrchr(key, '\t') + 1,
                             60),
                ts_text_show(reg->arena, says, 80),
                row == NULL ? "no such row" : ts_text_show(reg->arena, row->says, 80));
        }
    }
    ts_ask_end(ask);
    return moved;
}

static void say_row(ts_arena *arena, const ts_footing_row *row, const ts_footing_row *now,
                    const ts_costing *costing, ts_diag *diag)
{
    char day[32], until[32];
    const ts_date end = row->row->until;
    ts_place at = ts_book_place(costing->book, arena, row->row, NULL);
    if (now == NULL || strcmp(now->says, row->says) != 0) {
        ts_diag_add(diag, TS_FAULT_RESTS_MOVED, &at,
                    "the quote rests on this row, which %s since its pricing date, %s",
                    now == NULL ? "is in force no more" : "has been replaced",
                    ts_date_words(day, costing->needs->terms.as_of));
    } else if (ts_date_given(end) && end.days < costing->valid_until.days) {
        ts_diag_add(diag, TS_FAULT_RESTS_MOVED, &at,
                    "the quote rests on this row, which ends on %s; the quote is valid until %s",
                    ts_date_words(until, end), ts_date_words(day, costing->valid_until));
    }
}

void ts_register_say_moved(ts_arena *arena, const ts_costing *costing, ts_date on, ts_diag *diag)
{
    const ts_footing then = ts_footing_of(arena, costing->book, costing->needs->terms.as_of);
    const ts_footing today = ts_footing_of(arena, costing->book, on);
    const ts_footing_row *const *rows = NULL;
    const size_t count = ts_footing_under(&rows, arena, &then, costing);
    for (size_t i = 0; i < count; i++) {
        say_row(arena, rows[i], ts_footing_find(&today, rows[i]->file, rows[i]->key), costing,
                diag);
    }
}

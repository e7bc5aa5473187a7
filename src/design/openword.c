#include "design/build.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* Words that the books own: alloys, lots, regions, operations, services.
 *
 * Each must have a row in force on the pricing date. A word that no row has is a slip and
 * gets the nearest one; a word whose rows have ended or not begun is a gap in the books.
 * Lots of melee also give the size steps that a stone's diameter must lie in. */

typedef enum found { FOUND_NOT, FOUND_ELSEWHEN, FOUND_IN_FORCE } found;

/* Rows of one file and where in a row the word stands. */
typedef struct words_of {
    ts_book_file file;
    const char *rows;
    size_t count, size, key;
} words_of;

static words_of words_in(const ts_book *book, ts_book_file file)
{
/* clang-format off */
#define WORDS(id, rows, type, member) \
    if (file == TS_BOOK_##id) \
        return (words_of){file, (const char *)book->rows.at, book->rows.count, sizeof(type), \
                          offsetof(type, member)}
    WORDS(ALLOYS, alloys, ts_alloy_row, alloy);
    WORDS(MELEE, melee, ts_melee_row, lot);
    WORDS(STONES, offers, ts_offer_row, lot);
    WORDS(LABOUR, labour, ts_labour_row, operation);
    WORDS(SERVICES, services, ts_service_row, service);
    WORDS(TAXES, taxes, ts_tax_row, region);
#undef WORDS
    /* clang-format on */
    return (words_of){.file = file};
}

/* Every row begins with its head. Without a date any row counts as in force. */
static found look_up(const ts_build *b, ts_book_file file, const char *word)
{
    const words_of in = words_in(b->book, file);
    const ts_date on = b->design->as_of;
    found best = FOUND_NOT;

    for (size_t i = 0; i < in.count; i++) {
        const char *row = in.rows + i * in.size;
        const ts_book_row *head = (const ts_book_row *)(const void *)row;

        if (strcmp(*(const char *const *)(const void *)(row + in.key), word) != 0) {
            continue;
        }
        if (!ts_date_given(on) || ts_book_in_force(head, on)) {
            return FOUND_IN_FORCE;
        }
        best = FOUND_ELSEWHEN;
    }
    return best;
}

/* ---- what is said ---- */

static void suggest(const ts_build *b, const char *word, const ts_book_file *files, size_t count)
{
    const char *best = NULL;

    for (size_t i = 0; i < count && best == NULL; i++) {
        const char *const *names = NULL;
        const size_t known = ts_book_names(&names, b->arena, b->book, files[i]);
        const int nearest = ts_nearest(word, names, known);

        best = nearest < 0 ? NULL : names[nearest];
    }
    if (best != NULL) {
        ts_diag_hint(b->diag, "did you mean \"%s\"?", ts_sheet_shown(b->arena, best));
    }
}

static const char *files_said(const ts_build *b, const ts_book_file *files, size_t count)
{
    const char *said = ts_book_file_name(files[0]);

    return count == 1 ? said
                      : ts_arena_format(b->arena, "%s or %s", said, ts_book_file_name(files[1]));
}

/* Looks the word up in the files in turn; false where a fault was said. */
static bool judge_word(ts_build *b, ts_part *part, ts_field_id field, const char *word,
                       const ts_book_file *files, size_t count)
{
    found best = FOUND_NOT;

    for (size_t i = 0; i < count; i++) {
        const found here = look_up(b, files[i], word);

        best = here > best ? here : best;
    }
    if (best == FOUND_IN_FORCE) {
        return true;
    }
    const char *title = ts_build_title(b, part);
    const char *shown = ts_sheet_shown(b->arena, word);
    ts_build_spoil(part, field);
    if (best == FOUND_ELSEWHEN) {
        char day[TS_DATE_TEXT];

        ts_build_fault(b, TS_FAULT_BOOK_GAP, part, field,
                       "%s: \"%s\" stands in %s, but no row of it is in force on %s", title, shown,
                       files_said(b, files, count), ts_date_text(day, b->design->as_of));
        return false;
    }
    ts_build_fault(b, TS_FAULT_NAME_UNKNOWN, part, field, "%s: no row of %s has the %s \"%s\"",
                   title, files_said(b, files, count), ts_field_of(field)->word, shown);
    suggest(b, word, files, count);
    return false;
}

/* ---- the words of a sheet ---- */

/* clang-format off */
static const struct { ts_field_id field; ts_book_file file; } open_words[] = {
    {TS_FIELD_COMMISSION_REGION, TS_BOOK_TAXES},
    {TS_FIELD_RING_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_SHANK_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_HEAD_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_BEZEL_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_HALO_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_METAL_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_MESH_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_TRADE_IN_ALLOY, TS_BOOK_ALLOYS},
    {TS_FIELD_HALO_LOT, TS_BOOK_MELEE},
    {TS_FIELD_ROW_LOT, TS_BOOK_MELEE},
    {TS_FIELD_STONE_LOT, TS_BOOK_STONES},
    {TS_FIELD_WORK_OPERATION, TS_BOOK_LABOUR},
    {TS_FIELD_SERVICE_SERVICE, TS_BOOK_SERVICES},
};
/* clang-format on */

static const char **member_of(ts_part *part, ts_field_id field)
{
    return (const char **)(void *)((char *)part + ts_field_of(field)->offset);
}

static void bind_word(ts_build *b, ts_part *part, ts_field_id field, ts_book_file file)
{
    const ts_book_file files[] = {file, TS_BOOK_MELEE};
    const char **word = member_of(part, field);

    if (!ts_build_has(part, field)) {
        return;
    }
    if (field == TS_FIELD_WORK_OPERATION && look_up(b, file, *word) == FOUND_NOT) {
        const char *claw = ts_claw_words(b->arena, *word);

        *word = look_up(b, file, claw) == FOUND_NOT ? *word : claw;
    }
    judge_word(b, part, field, *word, files, field == TS_FIELD_STONE_LOT ? 2 : 1);
}

/* The words of policy.csv's surcharges and of accounts.csv, one after the other; NULL at the end.
 */
static const char *way_at(const ts_book *book, size_t at)
{
    static const char none[] = "";

    if (at < book->policy.count) {
        const ts_policy_row *row = &book->policy.at[at];

        return row->rule == TS_RULE_SURCHARGE ? row->subject : none;
    }
    at -= book->policy.count;
    return at < book->accounts.count ? book->accounts.at[at].what : NULL;
}

/* Is that word a way of paying? */
static bool is_way_at(const ts_book *book, size_t at)
{
    return at < book->policy.count || ts_book_is_way(book, way_at(book, at));
}

/* A way of paying is one that a surcharge or an account is for. Books without accounts name no
 * way that bears nothing, so that there any word may be one. */
static void bind_way(ts_build *b, ts_part *part)
{
    static const ts_field_id field = TS_FIELD_COMMISSION_PAYS_BY;
    const ts_book *book = b->book;
    const char *word = *member_of(part, field);
    size_t count = 0;

    if (!ts_build_has(part, field) || book->accounts.count == 0) {
        return;
    }
    for (; way_at(book, count) != NULL; count++) {
        if (strcmp(way_at(book, count), word) == 0 && is_way_at(book, count)) {
            return;
        }
    }
    const char **ways = TS_ARRAY(b->arena, const char *, count);
    for (size_t i = 0; i < count; i++) {
        ways[i] = way_at(book, i);
    }
    ts_build_fault(b, TS_FAULT_NAME_UNKNOWN, part, field,
                   "commission: \"%s\" is no way of paying: neither accounts.csv nor a surcharge "
                   "of policy.csv knows it",
                   ts_sheet_shown(b->arena, word));
    const int nearest = ts_nearest(word, ways, count);
    if (nearest >= 0 && is_way_at(book, (size_t)nearest)) {
        ts_diag_hint(b->diag, "did you mean \"%s\"?", ts_sheet_shown(b->arena, ways[nearest]));
    }
    ts_build_spoil(part, field);
}

/* ---- size steps ---- */

static const char *steps_said(const ts_build *b, const ts_melee_row *const *steps, size_t count)
{
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];
    ts_dec most = steps[0]->to_mm;

    for (size_t i = 1; i < count; i++) {
        most = steps[i]->to_mm.e6 > most.e6 ? steps[i]->to_mm : most;
    }
    return ts_arena_format(b->arena, "from %s up to, not including, %s mm",
                           ts_dec_text(from, steps[0]->from_mm), ts_dec_text(to, most));
}

/* Neighbouring steps round a size that lies between them. */
static const char *gap_said(const ts_build *b, const ts_melee_row *const *steps, size_t count,
                            ts_dec size)
{
    char below[TS_DECIMAL_TEXT];
    char above[TS_DECIMAL_TEXT];

    for (size_t i = 1; i < count; i++) {
        if (steps[i - 1]->to_mm.e6 <= size.e6 && size.e6 < steps[i]->from_mm.e6) {
            return ts_arena_format(b->arena, ", with none from %s to %s mm",
                                   ts_dec_text(below, steps[i - 1]->to_mm),
                                   ts_dec_text(above, steps[i]->from_mm));
        }
    }
    return "";
}

typedef struct steps {
    const ts_melee_row *const *at;
    size_t count;
    const char *lot;
} steps;

static void judge_size(ts_build *b, ts_part *part, ts_field_id field, ts_dec size, const steps *lot)
{
    char text[TS_DECIMAL_TEXT];

    if (!ts_build_has(part, field) || lot->count == 0) {
        return;
    }
    for (size_t i = 0; i < lot->count; i++) {
        if (lot->at[i]->from_mm.e6 <= size.e6 && size.e6 < lot->at[i]->to_mm.e6) {
            return;
        }
    }
    ts_build_fault(b, TS_FAULT_BOOK_GAP, part, field,
                   "%s: the lot \"%s\" has no size step for %s mm; its steps go %s%s",
                   ts_build_title(b, part), ts_sheet_shown(b->arena, lot->lot),
                   ts_dec_text(text, size), steps_said(b, lot->at, lot->count),
                   gap_said(b, lot->at, lot->count, size));
    ts_build_spoil(part, field);
}

static steps steps_of(const ts_build *b, const ts_part *part, ts_field_id field, const char *lot)
{
    steps out = {NULL, 0, lot};

    if (ts_build_has(part, field) && ts_date_given(b->design->as_of)) {
        out.count = ts_book_melee_steps(&out.at, b->arena, b->book, lot, b->design->as_of);
    }
    return out;
}

/* Middles of the steps: the sizes that stones are laid out in. */
static const ts_dec *middles_of(const ts_build *b, const steps *lot)
{
    ts_dec *middles = TS_ARRAY(b->arena, ts_dec, lot->count + 1);

    for (size_t i = 0; i < lot->count; i++) {
        middles[i].e6 = (lot->at[i]->from_mm.e6 + lot->at[i]->to_mm.e6) / 2;
    }
    return middles;
}

void ts_bind_steps(ts_build *b)
{
    for (int i = 0; i < b->design->halo_count; i++) {
        ts_halo *halo = &b->design->halo[i];
        const steps lot = steps_of(b, &halo->part, TS_FIELD_HALO_LOT, halo->lot);

        halo->fit_mm = middles_of(b, &lot);
        halo->fit_count = (int)lot.count;
        if (halo->stone_diameter.e6 != 0) {
            judge_size(b, &halo->part, TS_FIELD_HALO_STONE_DIAMETER, halo->stone_diameter, &lot);
        }
    }
    for (int i = 0; i < b->design->row_count; i++) {
        ts_row *row = &b->design->row[i];
        const steps lot = steps_of(b, &row->part, TS_FIELD_ROW_LOT, row->lot);

        row->fit_mm = middles_of(b, &lot);
        row->fit_count = (int)lot.count;
        judge_size(b, &row->part, TS_FIELD_ROW_STONE_DIAMETER, row->stone_diameter, &lot);
        judge_size(b, &row->part, TS_FIELD_ROW_END_DIAMETER, row->end_diameter, &lot);
    }
}

void ts_bind_words(ts_build *b)
{
    if (b->book == NULL) {
        return;
    }
    for (size_t i = 0; i < TS_COUNT_OF(open_words); i++) {
        const ts_field_id field = open_words[i].field;
        const ts_part_kind kind = ts_field_part(field);

        for (int j = 0; j < ts_design_count(b->design, kind); j++) {
            bind_word(b, ts_design_at(b->design, kind, j), field, open_words[i].file);
        }
    }
    for (int i = 0; i < ts_design_count(b->design, TS_PART_COMMISSION); i++) {
        bind_way(b, ts_design_at(b->design, TS_PART_COMMISSION, i));
    }
    ts_bind_steps(b);
}

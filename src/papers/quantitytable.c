#include <tallystone/base/text.h>
#include <tallystone/papers/table.h>

#include <string.h>

/* The rows of `tallystone quantities`, in the sheet's own form. */

enum { PART, MEASURE, VALUE, UNIT, ORIGIN };

static const char *whence_of(ts_arena *arena, const ts_whence *whence)
{
    const char *says = whence->says == NULL ? "" : whence->says;
    if (whence->line == 0 || whence->file == NULL) {
        return says;
    }
    return ts_arena_format(arena, "%s:%d%s%s", whence->file, whence->line, says[0] ? " " : "",
                           says);
}

/* Facts that belong together on a screen: those of one part, all operations, all metals, all
 * cautions. */
static bool is_new_group(const char *part, const char *above)
{
    static const char *const families[] = {"operation ", "metal ", "caution "};

    for (size_t i = 0; i < TS_COUNT_OF(families); i++) {
        size_t length = strlen(families[i]);
        bool is_in = strncmp(part, families[i], length) == 0;
        if (is_in && strncmp(above, families[i], length) == 0) {
            return false;
        }
    }
    return !ts_text_same(part, above);
}

ts_table *ts_quantities_table(ts_arena *arena, const ts_quantities *quantities)
{
    ts_table *table = ts_table_new(arena, TS_TABLE_QUANTITIES, quantities->terms.exponent);
    const char *last = "";
    for (int i = 0; i < quantities->fact_count; i++) {
        const ts_fact *fact = &quantities->facts[i];
        ts_cell *row = ts_table_row(table, i > 0 && is_new_group(fact->part, last));
        row[PART] = ts_cell_text(fact->part);
        row[MEASURE] = ts_cell_word(fact->measure);
        row[VALUE] = fact->word != NULL ? ts_cell_text(fact->word) : ts_cell_number(fact->value);
        row[UNIT] = ts_cell_word(fact->unit);
        row[ORIGIN] = ts_cell_text(whence_of(arena, &fact->whence));
        last = fact->part;
    }
    return table;
}

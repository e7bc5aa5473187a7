#include "design/stencil.h"

#include <tallystone/base/text.h>

#include "design/tables.h"
#include "design/variantrow.h"

#include <string.h>

/* A row of a catalogue differs from the one before in a few values. Its design is the one
 * before with those values put where they are kept, judged as any design; names need not be
 * resolved again, for a cell that names a part, a lot or a day is part of what a kept design
 * is found by. So is which cells are given at all. Whatever has to be said of a row is said
 * by the ordinary road: here only designs without a word come out. */

#define MOST_STENCILS 32
#define MOST_KEY 2048
#define MOST_TEXT 23
#define GIVEN '\x01' /* no cell holds a control character */

/* A cell's text and what it was read as. */
typedef struct kept_value {
    uint8_t length; /* 0: nothing kept */
    char text[MOST_TEXT];
    union {
        ts_dec dec;
        ts_ring_size size;
        int32_t whole;
        const char *name;
    } value;
} kept_value;

typedef struct stencil_column {
    ts_stencil_way way;
    size_t size;
    kept_value *values; /* of s->room, by hash */
    bool given;         /* in the row at hand */
} stencil_column;

typedef struct stencil {
    uint64_t hash;
    const char *key;
    size_t length;
    ts_design *design;
    ts_part **parts; /* of each column of values */
} stencil;

struct ts_stencils {
    const ts_variant_columns *columns;
    stencil_column *column;
    size_t value_room; /* a power of two */
    bool resizes;      /* a column gives a size that must lie in its lot's steps */
    bool recounts;     /* or a number of stones */
    const ts_book *book;
    ts_date as_of;
    ts_arena *arena; /* of all that is kept */
    ts_arena_mark begin;
    ts_arena_mark unkept; /* before what was built last and not kept */
    bool has_unkept;
    ts_diag *said;
    ts_arena *saying; /* of `said` */
    ts_arena_mark silence;
    stencil stencils[MOST_STENCILS];
    int count;
    uint64_t hash; /* of the row at hand */
    size_t length;
    char key[MOST_KEY];
};

/* ---- columns ---- */

static const ts_field_id alloys[] = {
    TS_FIELD_RING_ALLOY, TS_FIELD_SHANK_ALLOY, TS_FIELD_HEAD_ALLOY,     TS_FIELD_BEZEL_ALLOY,
    TS_FIELD_HALO_ALLOY, TS_FIELD_METAL_ALLOY, TS_FIELD_TRADE_IN_ALLOY,
};

static ts_stencil_way way_of(const ts_variant_columns *columns, const ts_variant_column *column)
{
    if (column->row.what != TS_ROW_MEASURE ||
        columns->sheet.parts[column->part].kind == TS_PART_MESH) {
        return TS_STENCIL_WORD;
    }
    switch (column->field.kind) {
    case TS_KIND_LENGTH:
    case TS_KIND_FIT:
    case TS_KIND_ANGLE:
    case TS_KIND_GRAMS:
    case TS_KIND_CARATS:
    case TS_KIND_VOLUME:
    case TS_KIND_MINUTES:
    case TS_KIND_PERCENT:
    case TS_KIND_NUMBER:
    case TS_KIND_COUNT:
    case TS_KIND_SIZE:
    case TS_KIND_WORD:
        return TS_STENCIL_VALUE;
    case TS_KIND_NAME:
        return ts_variant_gives_one(columns, column, alloys, TS_COUNT_OF(alloys)) ? TS_STENCIL_VALUE
                                                                                  : TS_STENCIL_WORD;
    case TS_KIND_AMOUNT:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
        return TS_STENCIL_TEXT;
    case TS_KIND_DATE:
    case TS_KIND_CURRENCY:
    case TS_KIND_NONE:
    case TS_KIND_COUNT_OF:
        break;
    }
    return TS_STENCIL_WORD;
}

static void set_columns(ts_stencils *s, ts_arena *arena)
{
    static const ts_field_id sizes[] = {TS_FIELD_HALO_STONE_DIAMETER, TS_FIELD_ROW_STONE_DIAMETER,
                                        TS_FIELD_ROW_END_DIAMETER};
    const ts_variant_columns *columns = s->columns;
    bool has_date = false;

    s->value_room = columns->count <= 12 ? 256 : columns->count <= 48 ? 64 : 16;
    for (size_t i = 0; i < columns->count; i++) {
        const ts_variant_column *of = &columns->columns[i];
        const ts_field_id count = TS_FIELD_STONE_COUNT;

        s->column[i].way = of->row.what == TS_ROW_NONE ? TS_STENCIL_WORD : way_of(columns, of);
        s->resizes = s->resizes || ts_variant_gives_one(columns, of, sizes, TS_COUNT_OF(sizes));
        s->recounts = s->recounts || ts_variant_gives(columns, of, count);
        has_date = has_date || ts_variant_gives(columns, of, TS_FIELD_COMMISSION_DATE);
    }
    for (size_t i = 0; i < columns->count; i++) {
        const ts_variant_column *of = &columns->columns[i];

        if (has_date && of->field.kind == TS_KIND_NAME) {
            s->column[i].way = TS_STENCIL_WORD; /* in force one day, and not another */
        }
        if (s->column[i].way == TS_STENCIL_VALUE) {
            s->column[i].size = ts_kind_bytes(of->field.kind);
            s->column[i].values = TS_ARRAY(arena, kept_value, s->value_room);
        }
    }
}

ts_stencils *ts_stencils_new(ts_arena *arena, const ts_variant_columns *columns,
                             ts_no_memory_fn *no_memory, void *ctx)
{
    ts_stencils *s = TS_NEW(arena, ts_stencils);

    s->columns = columns;
    s->column = TS_ARRAY(arena, stencil_column, columns->count + 1);
    set_columns(s, arena);
    s->arena = ts_arena_new(no_memory, ctx);
    s->begin = ts_arena_mark_of(s->arena);
    s->saying = ts_arena_new(no_memory, ctx);
    s->said = ts_diag_new(s->saying);
    s->silence = ts_arena_mark_of(s->saying);
    return s;
}

void ts_stencils_free(ts_stencils *s)
{
    if (s != NULL) {
        ts_arena_free(s->arena);
        ts_arena_free(s->saying);
    }
}

static void forget_designs(ts_stencils *s)
{
    ts_arena_rewind(s->arena, s->begin);
    s->count = 0;
    s->has_unkept = false;
}

/* False where nothing can be kept. */
static bool on_ground(ts_stencils *s, const ts_stencil_row *row)
{
    if (s->book != row->book || s->as_of.days != row->as_of.days) {
        forget_designs(s);
        for (size_t i = 0; i < s->columns->count; i++) {
            for (size_t k = 0; s->column[i].values != NULL && k < s->value_room; k++) {
                s->column[i].values[k].length = 0;
            }
        }
        s->book = row->book;
        s->as_of = row->as_of;
    }
    return row->book != NULL;
}

/* ---- finding ---- */

static bool put_key(ts_stencils *s, const char *text, size_t length)
{
    if (length + 1 > MOST_KEY - s->length) {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        s->key[s->length++] = text[i];
        s->hash = (s->hash ^ (unsigned char)text[i]) * UINT64_C(0x9e3779b97f4a7c15);
    }
    s->key[s->length++] = '\0';
    s->hash = (s->hash ^ s->hash >> 29) * UINT64_C(0x9e3779b97f4a7c15);
    return true;
}

/* What the row's design is found by: the cells of words, and which of the others are given. */
static bool make_key(ts_stencils *s, const ts_stencil_row *row)
{
    bool well = true;

    s->hash = 1;
    s->length = 0;
    for (size_t i = 0; i < s->columns->count && well; i++) {
        stencil_column *column = &s->column[i];
        const char *cell = row->cells[i];

        if (i == s->columns->name_cell) {
            continue;
        }
        column->given = column->way != TS_STENCIL_WORD && *cell != '\0' &&
                        ((*cell >= '0' && *cell <= '9') || !ts_text_same(cell, "none"));
        well = column->given ? put_key(s, &(char){GIVEN}, 1) : put_key(s, cell, strlen(cell));
    }
    return well;
}

static stencil *find(ts_stencils *s)
{
    for (int i = s->count; i-- > 0;) {
        stencil *of = &s->stencils[i];

        if (of->hash == s->hash && of->length == s->length &&
            memcmp(of->key, s->key, s->length) == 0) {
            return of;
        }
    }
    return NULL;
}

/* ---- values ---- */

/* The alloy as the books name it, which stays; NULL where no row of it is in force. */
static const char *alloy_of(const ts_build *b, const char *name)
{
    const ts_alloy_row *row = ts_book_alloy(b->book, name, b->design->as_of);

    return row != NULL && strcmp(row->alloy, name) == 0 ? row->alloy : NULL;
}

/* Reads the cell as the ordinary road does; false where something would have to be said. */
static bool read_cell(const ts_build *b, const ts_variant_column *column, ts_part *part,
                      const char *cell)
{
    ts_sheet_row row = column->row;
    const ts_csv_row nowhere = {0};

    row.row = &nowhere;
    ts_variant_split_unit(&row, column, cell, b->arena);
    if (!ts_build_read(b, part, &column->field, &row, "")) {
        return false;
    }
    if (column->field.kind == TS_KIND_NAME) {
        const char **name = (const char **)(void *)((char *)part + column->field.offset);

        *name = alloy_of(b, *name);
        return *name != NULL;
    }
    return true;
}

static kept_value *kept_at(const ts_stencils *s, const stencil_column *column, const char *cell,
                           size_t length)
{
    uint64_t hash = length;

    for (size_t i = 0; i < length; i++) {
        hash = (hash ^ (unsigned char)cell[i]) * UINT64_C(0x9e3779b97f4a7c15);
    }
    return &column->values[(hash >> 40) & (s->value_room - 1)];
}

static bool put_value(const ts_stencils *s, const ts_build *b, size_t number, ts_part *part,
                      const char *cell)
{
    const stencil_column *column = &s->column[number];
    const ts_variant_column *of = &s->columns->columns[number];
    const size_t length = strlen(cell);
    char *member = (char *)part + of->field.offset;

    if (column->way == TS_STENCIL_TEXT || length > MOST_TEXT) {
        return read_cell(b, of, part, cell);
    }
    kept_value *kept = kept_at(s, column, cell, length);
    if (kept->length != length || memcmp(kept->text, cell, length) != 0) {
        if (!read_cell(b, of, part, cell)) {
            return false;
        }
        kept->length = (uint8_t)length;
        memcpy(kept->text, cell, length);
        memcpy(&kept->value, member, column->size);
        return true;
    }
    memcpy(member, &kept->value, column->size);
    return true;
}

static bool put_values(ts_stencils *s, const stencil *of, const ts_build *b,
                       const char *const *cells)
{
    for (size_t i = 0; i < s->columns->count; i++) {
        if (s->column[i].given && !put_value(s, b, i, of->parts[i], cells[i])) {
            return false;
        }
    }
    for (int i = 0; s->recounts && i < b->design->stone_count; i++) {
        b->design->stone[i].copies = b->design->stone[i].count;
    }
    return true;
}

/* Judgement marks what it found at fault; a kept design has no such marks. */
static void clear_marks(ts_stencils *s, const ts_design *design)
{
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        for (int i = 0; i < ts_design_count(design, (ts_part_kind)kind); i++) {
            ts_design_at(design, (ts_part_kind)kind, i)->bad = 0;
        }
    }
    ts_diag_clear(s->said);
    ts_arena_rewind(s->saying, s->silence);
}

ts_design *ts_stencil_find(ts_stencils *s, const ts_stencil_row *row)
{
    if (!on_ground(s, row) || !make_key(s, row)) {
        return NULL;
    }
    const stencil *of = find(s);
    if (of == NULL) {
        return NULL;
    }
    ts_build b = {.design = of->design,
                  .sheet = of->design->sheet,
                  .book = row->book,
                  .arena = row->scratch,
                  .diag = s->said,
                  .option = TS_VARIANT_LAYER};
    bool well = put_values(s, of, &b, row->cells);
    if (well && s->resizes) {
        ts_bind_steps(&b);
    }
    if (well) {
        ts_judge_stones(&b);
        ts_judge_settings(&b);
        ts_judge_piece(&b);
    }
    if (!well || ts_diag_errors_since(s->said, 0) > 0) {
        clear_marks(s, of->design);
        return NULL;
    }
    return of->design;
}

/* ---- keeping ---- */

ts_arena *ts_stencil_room(ts_stencils *s, const ts_stencil_row *row, const char *const **cells)
{
    if (row->book == NULL || !make_key(s, row) || find(s) != NULL) {
        return NULL;
    }
    if (s->has_unkept) {
        ts_arena_rewind(s->arena, s->unkept);
    }
    if (s->count == MOST_STENCILS) {
        forget_designs(s);
    }
    s->unkept = ts_arena_mark_of(s->arena);
    s->has_unkept = true;
    const char **copies = TS_ARRAY(s->arena, const char *, s->columns->count + 1);
    for (size_t i = 0; i < s->columns->count; i++) {
        copies[i] = row->cells[i][0] == '\0' ? "" : ts_arena_text(s->arena, row->cells[i]);
    }
    *cells = copies;
    return s->arena;
}

static ts_part *part_of(const ts_stencils *s, const ts_design *design, size_t number)
{
    const ts_sheet_part *named = &s->columns->sheet.parts[s->columns->columns[number].part];

    for (int i = 0; i < ts_design_count(design, named->kind); i++) {
        ts_part *part = ts_design_at(design, named->kind, i);

        if (strcmp(part->name, named->name) == 0) {
            return part;
        }
    }
    return NULL;
}

void ts_stencil_keep(ts_stencils *s, ts_design *design)
{
    if (design->mesh_count > 0 || !ts_date_given(design->as_of)) {
        return; /* a mesh's bytes are lent for one row */
    }
    ts_part **parts = TS_ARRAY(s->arena, ts_part *, s->columns->count + 1);
    for (size_t i = 0; i < s->columns->count; i++) {
        parts[i] = s->column[i].given ? part_of(s, design, i) : NULL;
        if (s->column[i].given && parts[i] == NULL) {
            return; /* its part is left out: a fault, said on the ordinary road */
        }
    }
    s->stencils[s->count++] = (stencil){.hash = s->hash,
                                        .key = ts_arena_copy(s->arena, s->key, s->length),
                                        .length = s->length,
                                        .design = design,
                                        .parts = parts};
    s->has_unkept = false;
}

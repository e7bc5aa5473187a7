#include "register/needs.h"

#include <tallystone/base/text.h>

#include <inttypes.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* The register keeps what a piece takes, not how it was measured: a changed price then needs
 * no sheet and no geometry. The records are plain text, so that they can be read, compared and
 * sealed with nothing but a database shell. needs.def says what stands where. */

typedef enum form {
    FORM_TEXT,
    FORM_SAID,
    FORM_INT,
    FORM_PLACES,
    FORM_SHAPE,
    FORM_ORIGIN,
    FORM_SETTING,
    FORM_BOOL,
    FORM_DEC,
    FORM_AMOUNT,
    FORM_DATE,
    FORM_WHENCE,
    FORM_LOT,
} form;

typedef struct member {
    ts_need_kind kind;
    form form;
    size_t offset;
} member;

static const member members[] = {
#define NEED(kind, type, member, form) {TS_NEED_KIND_##kind, FORM_##form, offsetof(type, member)},
#include "register/needs.def"
};

/* Where the array of a kind and its count stand in the quantities. */
typedef struct shelf {
    const char *word;
    size_t size;
    size_t array;
    size_t count;
} shelf;

static const shelf shelves[TS_NEED_KIND_COUNT] = {
    [TS_NEED_KIND_TERMS] = {"terms", sizeof(ts_terms), 0, 0},
    [TS_NEED_KIND_METAL] = {"metal", sizeof(ts_metal_need), offsetof(ts_quantities, metals),
                            offsetof(ts_quantities, metal_count)},
    [TS_NEED_KIND_BOUGHT] = {"bought", sizeof(ts_bought_need), offsetof(ts_quantities, bought),
                             offsetof(ts_quantities, bought_count)},
    [TS_NEED_KIND_MELEE] = {"melee", sizeof(ts_melee_need), offsetof(ts_quantities, melee),
                            offsetof(ts_quantities, melee_count)},
    [TS_NEED_KIND_STONE] = {"stone", sizeof(ts_stone_need), offsetof(ts_quantities, stones),
                            offsetof(ts_quantities, stone_count)},
    [TS_NEED_KIND_WORK] = {"work", sizeof(ts_work_need), offsetof(ts_quantities, works),
                           offsetof(ts_quantities, work_count)},
    [TS_NEED_KIND_SERVICE] = {"service", sizeof(ts_service_need), offsetof(ts_quantities, services),
                              offsetof(ts_quantities, service_count)},
    [TS_NEED_KIND_TRADE_IN] = {"trade-in", sizeof(ts_trade_in_need),
                               offsetof(ts_quantities, trade_ins),
                               offsetof(ts_quantities, trade_in_count)},
};

const char *ts_need_kind_word(ts_need_kind kind)
{
    return shelves[kind].word;
}

static int *count_at(ts_quantities *needs, ts_need_kind kind)
{
    return (int *)(void *)((char *)needs + shelves[kind].count);
}

int ts_needs_count(const ts_quantities *needs, ts_need_kind kind)
{
    return kind == TS_NEED_KIND_TERMS
               ? 1
               : *(const int *)(const void *)((const char *)needs + shelves[kind].count);
}

/* ---- writing ---- */

static const char *escaped(ts_arena *arena, const char *text)
{
    if (text == NULL) {
        return "\\N";
    }
    char *out = ts_arena_alloc(arena, 2 * strlen(text) + 1, 1);
    char *to = out;
    for (const char *at = text; *at != '\0'; at++) {
        const char *from = "\t\n\r\\";
        const char *special = strchr(from, *at);
        if (special != NULL) {
            *to++ = '\\';
            *to++ = "tnr\\"[special - from];
        } else {
            *to++ = *at;
        }
    }
    return out;
}

static const char *field_text(ts_arena *arena, form as, const char *at)
{
    switch (as) {
    case FORM_TEXT:
    case FORM_SAID:
        return escaped(arena, *(const char *const *)(const void *)at);
    case FORM_INT:
    case FORM_PLACES:
    case FORM_SHAPE:
    case FORM_ORIGIN:
    case FORM_SETTING:
        return ts_arena_format(arena, "%d", *(const int *)(const void *)at);
    case FORM_BOOL:
        return *(const bool *)(const void *)at ? "1" : "0";
    case FORM_DEC:
        return ts_arena_format(arena, "%" PRId64, ((const ts_dec *)(const void *)at)->e6);
    case FORM_DATE:
        return ts_arena_format(arena, "%" PRId32, ((const ts_date *)(const void *)at)->days);
    case FORM_AMOUNT: {
        const ts_amount *amount = (const ts_amount *)(const void *)at;
        return ts_arena_format(arena, "%" PRId64 "\t%d\t%s", amount->value.e6, (int)amount->of,
                               escaped(arena, amount->currency));
    }
    case FORM_WHENCE: {
        const ts_whence *whence = (const ts_whence *)(const void *)at;
        return ts_arena_format(arena, "%s\t%d\t%s", escaped(arena, whence->file), whence->line,
                               escaped(arena, whence->says));
    }
    case FORM_LOT: {
        const ts_stone_need *stone =
            (const ts_stone_need *)(const void *)(at - offsetof(ts_stone_need, offer));
        return escaped(arena, stone->offer != NULL   ? stone->offer->lot
                              : stone->melee != NULL ? stone->melee->lot
                                                     : NULL);
    }
    }
    return "";
}

static const char *object_at(const ts_quantities *needs, ts_need_kind kind, int no)
{
    const shelf *of = &shelves[kind];
    if (kind == TS_NEED_KIND_TERMS) {
        return (const char *)&needs->terms;
    }
    const char *array = *(const char *const *)(const void *)((const char *)needs + of->array);
    return array + (size_t)no * of->size;
}

const char *ts_need_record(ts_arena *arena, const ts_quantities *needs, ts_need_kind kind, int no)
{
    const char *object = object_at(needs, kind, no);
    const char *record = NULL;
    for (size_t i = 0; i < TS_COUNT_OF(members); i++) {
        if (members[i].kind != kind) {
            continue;
        }
        const char *field = field_text(arena, members[i].form, object + members[i].offset);
        record = record == NULL ? field : ts_arena_format(arena, "%s\t%s", record, field);
    }
    return record;
}

/* ---- reading ---- */

typedef struct tape {
    ts_arena *arena;
    char *at; /* the rest of the record; NULL after its end */
    bool whole;
} tape;

/* The next field, its escapes undone; NULL for \N. */
static const char *next_text(tape *in)
{
    char *field = in->at;
    if (field == NULL) {
        in->whole = false;
        return "";
    }
    char *end = strchr(field, '\t');
    in->at = end == NULL ? NULL : end + 1;
    if (end != NULL) {
        *end = '\0';
    }
    if (strcmp(field, "\\N") == 0) {
        return NULL;
    }
    char *to = field;
    for (const char *from = field; *from != '\0'; from++) {
        if (*from == '\\' && from[1] != '\0') {
            from++;
            *to++ = *from == 't' ? '\t' : *from == 'n' ? '\n' : *from == 'r' ? '\r' : *from;
        } else {
            *to++ = *from;
        }
    }
    *to = '\0';
    return field;
}

static int64_t next_int(tape *in)
{
    const char *text = next_text(in);
    char *end = NULL;
    if (text == NULL || *text == '\0') {
        in->whole = false;
        return 0;
    }
    const long long value = strtoll(text, &end, 10);
    in->whole = in->whole && *end == '\0';
    return value;
}

/* A number that stands for something: whoever looks that up does not ask again whether it is one
 * of them, and a damaged file may hold any. */
static const int most_of[] = {
    [FORM_PLACES] = 4, /* as the table of quotes has it */
    [FORM_SHAPE] = TS_SHAPE_COUNT - 1,
    [FORM_ORIGIN] = TS_ORIGIN_COUNT - 1,
    [FORM_SETTING] = TS_SETTING_COUNT - 1,
};

static int next_of(tape *in, int most)
{
    const int64_t number = next_int(in);
    in->whole = in->whole && number >= 0 && number <= most;
    return in->whole ? (int)number : 0;
}

static void take_field(tape *in, form as, char *at)
{
    switch (as) {
    case FORM_TEXT:
        *(const char **)(void *)at = next_text(in);
        return;
    case FORM_SAID: {
        const char *text = next_text(in);
        in->whole = in->whole && text != NULL;
        *(const char **)(void *)at = text;
        return;
    }
    case FORM_INT:
        *(int *)(void *)at = (int)next_int(in);
        return;
    case FORM_PLACES:
    case FORM_SHAPE:
    case FORM_ORIGIN:
    case FORM_SETTING:
        *(int *)(void *)at = next_of(in, most_of[as]);
        return;
    case FORM_BOOL:
        *(bool *)(void *)at = next_int(in) != 0;
        return;
    case FORM_DEC:
        ((ts_dec *)(void *)at)->e6 = next_int(in);
        return;
    case FORM_DATE:
        ((ts_date *)(void *)at)->days = (int32_t)next_int(in);
        return;
    case FORM_AMOUNT: {
        ts_amount *amount = (ts_amount *)(void *)at;
        amount->value.e6 = next_int(in);
        amount->of = (ts_amount_of)next_of(in, TS_AMOUNT_DAYS);
        amount->currency = next_text(in);
        return;
    }
    case FORM_WHENCE: {
        ts_whence *whence = (ts_whence *)(void *)at;
        whence->file = next_text(in);
        whence->line = (int)next_int(in);
        whence->says = next_text(in);
        return;
    }
    case FORM_LOT: {
        /* a row that holds the lot alone, until the books are looked into */
        ts_offer_row *row = TS_NEW(in->arena, ts_offer_row);
        row->lot = next_text(in);
        *(const ts_offer_row **)(void *)at = row->lot == NULL ? NULL : row;
        return;
    }
    }
}

/* Room for one more of a kind: the array is moved, one by one, as records come. */
static char *room_for(ts_quantities *needs, ts_arena *arena, ts_need_kind kind)
{
    const shelf *of = &shelves[kind];
    if (kind == TS_NEED_KIND_TERMS) {
        return (char *)&needs->terms;
    }
    int *count = count_at(needs, kind);
    char **array = (char **)(void *)((char *)needs + of->array);
    if ((*count & (*count - 1)) == 0) { /* full at each power of two */
        char *larger = ts_arena_alloc(arena, (size_t)*count * 2 + 1, of->size);
        if (*count > 0) {
            memcpy(larger, *array, (size_t)*count * of->size);
        }
        *array = larger;
    }
    return *array + (size_t)(*count)++ * of->size;
}

bool ts_needs_take(ts_quantities *needs, ts_arena *arena, const char *word, int64_t no,
                   char *record)
{
    int kind = 0;
    while (kind < TS_NEED_KIND_COUNT && strcmp(shelves[kind].word, word) != 0) {
        kind++;
    }
    if (kind == TS_NEED_KIND_COUNT ||
        (kind != TS_NEED_KIND_TERMS && no != ts_needs_count(needs, (ts_need_kind)kind))) {
        return false;
    }
    char *object = room_for(needs, arena, (ts_need_kind)kind);
    tape in = {.arena = arena, .whole = true};
    in.at = record; /* its fields are cut in place */
    size_t i = 0;
    while (members[i].kind != (ts_need_kind)kind) {
        i++;
    }
    for (; i < TS_COUNT_OF(members) && members[i].kind == (ts_need_kind)kind; i++) {
        take_field(&in, members[i].form, object + members[i].offset);
    }
    return in.whole && in.at == NULL;
}

/* ---- books ---- */

typedef struct binding {
    ts_quantities *needs;
    ts_arena *arena;
    const ts_book *book;
    ts_date on;
    ts_diag *diag;
} binding;

static void gap(const binding *b, const char *file, const char *what)
{
    char day[TS_DATE_TEXT];
    ts_place at = {.file = file};
    ts_diag_add(b->diag, TS_FAULT_BOOK_GAP, &at, "no row in force on %s holds %s, which %s takes",
                ts_date_text(day, b->on), what,
                ts_text_show(b->arena, b->needs->terms.reference, 60));
}

static const ts_alloy_row *bind_alloy(const binding *b, const char *alloy)
{
    const ts_alloy_row *row = ts_book_alloy(b->book, alloy, b->on);
    if (row == NULL) {
        gap(b, "alloys.csv",
            ts_arena_format(b->arena, "the alloy \"%s\"", ts_text_show(b->arena, alloy, 60)));
    }
    return row;
}

static const char *lot_text(const binding *b, const char *lot, ts_dec size, const char *unit)
{
    char number[TS_DECIMAL_TEXT];
    return ts_arena_format(b->arena, "%s %s of the lot \"%s\"", ts_dec_text(number, size), unit,
                           ts_text_show(b->arena, lot, 60));
}

static void bind_stone(const binding *b, ts_stone_need *stone, const char *lot)
{
    ts_dec size = stone->width_mm;
    if (stone->shape == TS_SHAPE_ROUND &&
        !ts_div_round(&size.e6, (ts_i128)stone->length_mm.e6 + stone->width_mm.e6, 2,
                      TS_HALF_AWAY)) {
        size = stone->length_mm;
    }
    stone->offer = ts_book_offer(b->book, lot, stone->carats, b->on);
    stone->melee = stone->offer != NULL ? NULL : ts_book_melee(b->book, lot, size, b->on);
    if (stone->offer == NULL && stone->melee == NULL) {
        gap(b, "stones.csv", lot_text(b, lot, stone->carats, "ct"));
    }
}

ts_status ts_needs_bind(ts_quantities *needs, ts_arena *arena, const ts_book *book, ts_date on,
                        ts_diag *diag)
{
    const binding b = {needs, arena, book, on, diag};
    const size_t mark = ts_diag_mark(diag);
    needs->terms.as_of = on;
    for (int i = 0; i < needs->metal_count; i++) {
        needs->metals[i].row = bind_alloy(&b, needs->metals[i].alloy);
    }
    for (int i = 0; i < needs->trade_in_count; i++) {
        needs->trade_ins[i].row = bind_alloy(&b, needs->trade_ins[i].alloy);
    }
    for (int i = 0; i < needs->melee_count; i++) {
        ts_melee_need *melee = &needs->melee[i];
        melee->step = ts_book_melee(book, melee->lot, melee->diameter_mm, on);
        if (melee->step == NULL) {
            gap(&b, "melee.csv", lot_text(&b, melee->lot, melee->diameter_mm, "mm"));
        }
    }
    for (int i = 0; i < needs->stone_count; i++) {
        if (needs->stones[i].offer != NULL) {
            bind_stone(&b, &needs->stones[i], needs->stones[i].offer->lot);
        }
    }
    return ts_diag_errors_since(diag, mark) > 0 ? TS_FAULTY : TS_OK;
}

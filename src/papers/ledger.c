#include "papers/ledger.h"
#include "papers/xlsx.h"

#include <tallystone/base/hash.h>
#include <tallystone/base/text.h>

#include <string.h>

/* Why this file exists: the engine makes a figure anew wherever it needs one; a person
 * who changes a rate wants to change it in one cell. Figures that are equal in all they
 * are made of are found here and given one cell. */

#define LONGEST_NAME 64
#define CAPITAL 0x20u /* the bit by which a letter differs from its capital, in ASCII */

/* A node by the address of its figure: what was looked up once is not walked again. */
struct ts_ledger_known {
    const ts_figure *figure;
    int node;
};

ts_ledger *ts_ledger_new(ts_arena *arena, ts_rounding mode)
{
    ts_ledger *ledger = TS_NEW(arena, ts_ledger);
    ledger->arena = arena;
    ledger->mode = mode;
    ledger->next_row = TS_WORK_FIRST_ROW;
    return ledger;
}

/* ---- content ---- */

static bool is_leaf(const ts_figure *figure)
{
    return figure->op == TS_OP_BOOK || figure->op == TS_OP_QUANTITY || figure->op == TS_OP_CONSTANT;
}

static bool minds_places(ts_op op)
{
    return op == TS_OP_ROUND || op == TS_OP_SHARE;
}

static uint64_t content_hash(ts_ledger *ledger, const ts_figure *figure)
{
    uint64_t hash = ts_hash_word(TS_HASH_NONE, (uint64_t)figure->op);
    if (is_leaf(figure)) {
        hash = ts_hash_word(hash, (uint64_t)figure->value.num);
        hash = ts_hash_word(hash, (uint64_t)figure->value.den);
        hash = ts_hash_word(hash, (uint64_t)figure->line);
        return ts_hash_text(hash, figure->file);
    }
    hash = ts_hash_word(hash, minds_places(figure->op) ? (uint64_t)figure->places : 0);
    hash = ts_hash_word(hash, figure->op == TS_OP_SHARE ? (uint64_t)figure->index : 0);
    for (int i = 0; i < figure->arg_count; i++) {
        hash = ts_hash_word(hash, (uint64_t)ts_ledger_node_of(ledger, figure->args[i]));
    }
    return hash;
}

static bool same_word(const char *a, const char *b)
{
    return strcmp(a == NULL ? "" : a, b == NULL ? "" : b) == 0;
}

/* A cell of a book is known by its place, a quantity by what it is called as well. */
static bool same_leaf(const ts_figure *a, const ts_figure *b)
{
    return a->value.num == b->value.num && a->value.den == b->value.den && a->line == b->line &&
           same_word(a->file, b->file) && same_word(a->column, b->column) &&
           (a->op == TS_OP_BOOK || same_word(a->name, b->name) || a->op == TS_OP_CONSTANT);
}

static bool same_content(ts_ledger *ledger, const ts_figure *a, const ts_figure *b)
{
    if (a->op != b->op) {
        return false;
    }
    if (is_leaf(a)) {
        return same_leaf(a, b);
    }
    if (a->arg_count != b->arg_count || (minds_places(a->op) && a->places != b->places) ||
        (a->op == TS_OP_SHARE && a->index != b->index)) {
        return false;
    }
    for (int i = 0; i < a->arg_count; i++) {
        if (ts_ledger_node_of(ledger, a->args[i]) != ts_ledger_node_of(ledger, b->args[i])) {
            return false;
        }
    }
    return true;
}

/* ---- the two tables ---- */

static size_t known_slot(const ts_ledger *ledger, const ts_figure *figure)
{
    size_t slot =
        (size_t)(ts_hash_word(0, (uint64_t)(uintptr_t)figure >> 4) & (ledger->known_size - 1));
    while (ledger->known[slot].figure != NULL && ledger->known[slot].figure != figure) {
        slot = (slot + 1) & (ledger->known_size - 1);
    }
    return slot;
}

static void know(ts_ledger *ledger, const ts_figure *figure, int node)
{
    if (ledger->known_count * 2 >= ledger->known_size) {
        struct ts_ledger_known *old = ledger->known;
        size_t old_size = ledger->known_size;
        ledger->known_size = old_size == 0 ? 1024 : old_size * 2;
        ledger->known = TS_ARRAY(ledger->arena, struct ts_ledger_known, ledger->known_size);
        for (size_t i = 0; i < old_size; i++) {
            if (old[i].figure != NULL) {
                ledger->known[known_slot(ledger, old[i].figure)] = old[i];
            }
        }
    }
    ledger->known[known_slot(ledger, figure)] = (struct ts_ledger_known){figure, node};
    ledger->known_count++;
}

static void table_put(ts_ledger *ledger, uint64_t hash, int node)
{
    size_t slot = (size_t)(hash & (ledger->table_size - 1));
    while (ledger->table[slot] != 0) {
        slot = (slot + 1) & (ledger->table_size - 1);
    }
    ledger->table[slot] = node + 1;
}

static void table_grow(ts_ledger *ledger)
{
    ledger->table_size = ledger->table_size == 0 ? 1024 : ledger->table_size * 2;
    ledger->table = TS_ARRAY(ledger->arena, int, ledger->table_size);
    for (size_t i = 0; i < ledger->node_count; i++) {
        table_put(ledger, ledger->nodes[i].hash, (int)i);
    }
}

static int add_node(ts_ledger *ledger, const ts_figure *figure, uint64_t hash)
{
    ledger->nodes = ts_arena_grow(ledger->arena, ledger->nodes, ledger->node_count,
                                  &ledger->node_room, sizeof *ledger->nodes);
    int node = (int)ledger->node_count++;
    ledger->nodes[node] =
        (ts_ledger_node){.figure = figure, .hash = hash, .leaf = -1, .work = -1, .place = -1};
    table_put(ledger, hash, node);
    return node;
}

int ts_ledger_node_of(ts_ledger *ledger, const ts_figure *figure)
{
    if (ledger->known_size > 0) {
        const struct ts_ledger_known *known = &ledger->known[known_slot(ledger, figure)];
        if (known->figure != NULL) {
            return known->node;
        }
    }
    uint64_t hash = content_hash(ledger, figure);
    if (ledger->node_count * 2 >= ledger->table_size) {
        table_grow(ledger);
    }
    size_t slot = (size_t)(hash & (ledger->table_size - 1));
    int node = -1;
    while (ledger->table[slot] != 0 && node < 0) {
        int candidate = ledger->table[slot] - 1;
        if (ledger->nodes[candidate].hash == hash &&
            same_content(ledger, ledger->nodes[candidate].figure, figure)) {
            node = candidate;
        }
        slot = (slot + 1) & (ledger->table_size - 1);
    }
    if (node < 0) {
        node = add_node(ledger, figure, hash);
    }
    know(ledger, figure, node);
    return node;
}

ts_ledger_node *ts_ledger_at(ts_ledger *ledger, const ts_figure *figure)
{
    int node = ts_ledger_node_of(ledger, figure);
    return &ledger->nodes[node];
}

/* A node's parents are counted once each: where it was known before, its own arguments
 * have been counted. */
void ts_ledger_note(ts_ledger *ledger, const ts_figure *figure)
{
    if (figure == NULL) {
        return;
    }
    int node = ts_ledger_node_of(ledger, figure);
    if (ledger->nodes[node].parents++ > 0) {
        return;
    }
    for (int i = 0; i < figure->arg_count; i++) {
        ts_ledger_note(ledger, figure->args[i]);
    }
}

/* ---- places ---- */

void ts_ledger_option(ts_ledger *ledger, int option, const char *label)
{
    for (size_t i = 0; i < ledger->place_count; i++) {
        ledger->nodes[ledger->places[i].node].place = -1;
    }
    ledger->place_count = 0;
    ledger->option = option;
    ts_ledger_work *work = ts_ledger_work_add(ledger, NULL);
    work->what = label;
}

void ts_ledger_place_at(ts_ledger *ledger, const ts_figure *figure, int row, int column,
                        bool negative)
{
    if (figure == NULL) {
        return;
    }
    int node = ts_ledger_node_of(ledger, figure);
    ledger->places = ts_arena_grow(ledger->arena, ledger->places, ledger->place_count,
                                   &ledger->place_room, sizeof *ledger->places);
    ledger->places[ledger->place_count] = (ts_ledger_place){figure, node, row, column, negative};
    if (ledger->nodes[node].place < 0) {
        ledger->nodes[node].place = (int)ledger->place_count;
    }
    ledger->place_count++;
}

/* Two lines may hold equal figures: the very same figure's place comes first. */
const ts_ledger_place *ts_ledger_find(ts_ledger *ledger, const ts_figure *figure)
{
    int node = ts_ledger_node_of(ledger, figure);
    int place = ledger->nodes[node].place;
    if (place < 0) {
        return NULL;
    }
    for (size_t i = (size_t)place; i < ledger->place_count; i++) {
        if (ledger->places[i].figure == figure) {
            return &ledger->places[i];
        }
    }
    return figure->op == TS_OP_CONSTANT ? NULL : &ledger->places[place];
}

/* ---- names ---- */

/* Names differ by more than capitals. */
struct ts_ledger_name {
    const char *text;
    uint64_t hash; /* alike for names that differ by capitals */
};

static uint64_t name_hash(const char *name)
{
    uint64_t hash = TS_HASH_NONE;
    for (; *name != '\0'; name++) {
        hash = ts_hash_word(hash, (uint64_t)*name | CAPITAL);
    }
    return hash;
}

static bool taken(const ts_ledger *ledger, const char *name)
{
    const uint64_t hash = name_hash(name);
    for (size_t i = 0; i < ledger->name_count; i++) {
        if (ledger->names[i].hash == hash && ts_text_same(ledger->names[i].text, name)) {
            return true;
        }
    }
    return false;
}

static bool plain(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

static const char *cleaned(ts_arena *arena, const char *name)
{
    char *out = ts_arena_alloc(arena, LONGEST_NAME + 2, 1);
    size_t n = 0;
    for (; *name != '\0' && n < LONGEST_NAME; name++) {
        bool begins_wrong = n == 0 && *name >= '0' && *name <= '9';
        if (begins_wrong) {
            out[n++] = '_';
        }
        if (plain(*name)) {
            out[n++] = *name;
        } else if (n > 0 && out[n - 1] != '_') {
            out[n++] = '_';
        }
    }
    while (n > 1 && out[n - 1] == '_') {
        out[--n] = '\0';
    }
    return n == 0 ? "figure" : out;
}

const char *ts_ledger_name(ts_ledger *ledger, const char *name)
{
    const char *base = cleaned(ledger->arena, name == NULL ? "" : name);
    if (!ts_xlsx_name_fits(base)) {
        base = ts_arena_format(ledger->arena, "%s_value", base);
    }
    const char *tried = base;
    for (int i = 2; taken(ledger, tried); i++) {
        tried = ts_arena_format(ledger->arena, "%s_%d", base, i);
    }
    ledger->names = ts_arena_grow(ledger->arena, ledger->names, ledger->name_count,
                                  &ledger->name_room, sizeof *ledger->names);
    ledger->names[ledger->name_count++] = (struct ts_ledger_name){tried, name_hash(tried)};
    return tried;
}

const char *ts_ledger_leaf_name(ts_ledger *ledger, const ts_figure *figure)
{
    int node = ts_ledger_node_of(ledger, figure);
    bool book = figure->op == TS_OP_BOOK;
    ts_ledger_leaf **leaves = book ? &ledger->rates : &ledger->quantities;
    size_t *count = book ? &ledger->rate_count : &ledger->quantity_count;
    size_t *room = book ? &ledger->rate_room : &ledger->quantity_room;
    if (ledger->nodes[node].leaf < 0) {
        *leaves = ts_arena_grow(ledger->arena, *leaves, *count, room, sizeof **leaves);
        (*leaves)[*count] =
            (ts_ledger_leaf){.figure = figure, .name = ts_ledger_name(ledger, figure->name)};
        ledger->nodes[node].leaf = (int)(*count)++;
    }
    ts_ledger_leaf *leaf = &(*leaves)[ledger->nodes[node].leaf];
    leaf->options |= 1u << (unsigned)ledger->option;
    return leaf->name;
}

ts_ledger_work *ts_ledger_work_add(ts_ledger *ledger, const ts_figure *figure)
{
    ledger->works = ts_arena_grow(ledger->arena, ledger->works, ledger->work_count,
                                  &ledger->work_room, sizeof *ledger->works);
    ts_ledger_work *work = &ledger->works[ledger->work_count++];
    *work = (ts_ledger_work){.row = ledger->next_row++, .figure = figure};
    if (figure != NULL) {
        work->what = figure->name;
        work->value = figure->value;
        ts_ledger_at(ledger, figure)->work = (int)ledger->work_count - 1;
    }
    return work;
}

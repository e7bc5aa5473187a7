#include "papers/piece.h"

#include <tallystone/base/text.h>

#include <string.h>

/* What the client is told about metal and stones. Wording that law or standards govern
 * (fineness, origin, treatment, rounding of weights) is made here and nowhere else. */

#define PER_CARAT 1000000 /* millionths */

const char *ts_piece_carats(ts_arena *arena, ts_dec carats)
{
    char text[TS_DECIMAL_TEXT];
    if (carats.e6 < PER_CARAT / 100 - 1000) { /* the third decimal of 0.009 is a 9 */
        return "under 0.01";
    }
    return ts_arena_text(arena, ts_dec_fixed(text, ts_piece_carats_number(carats), 2));
}

/* Source: GIA's answer on weighing, cut to hundredths, up only from a third decimal 9. */
ts_dec ts_piece_carats_number(ts_dec carats)
{
    int64_t thousandths = carats.e6 / 1000;
    if (thousandths < 9) {
        return (ts_dec){thousandths * 1000};
    }
    int64_t hundredths = thousandths / 10 + (thousandths % 10 == 9 ? 1 : 0);
    return (ts_dec){hundredths * 10000};
}

const char *ts_piece_shape(int shape)
{
    switch ((ts_shape)shape) {
    case TS_SHAPE_ROUND:
        return "round";
    case TS_SHAPE_OVAL:
        return "oval";
    case TS_SHAPE_PEAR:
        return "pear-shaped";
    case TS_SHAPE_MARQUISE:
        return "marquise";
    case TS_SHAPE_CUSHION:
        return "cushion";
    case TS_SHAPE_PRINCESS:
        return "princess-cut";
    case TS_SHAPE_EMERALD:
        return "emerald-cut";
    case TS_SHAPE_ASSCHER:
        return "asscher-cut";
    case TS_SHAPE_RADIANT:
        return "radiant-cut";
    case TS_SHAPE_HEART:
        return "heart-shaped";
    case TS_SHAPE_BAGUETTE:
        return "baguette";
    case TS_SHAPE_TRILLION:
        return "trillion";
    case TS_SHAPE_NONE:
    case TS_SHAPE_COUNT:
        break;
    }
    return "";
}

/* English plural of a species: rubies, topazes, diamonds. */
static const char *plural(ts_arena *arena, const char *species)
{
    size_t length = strlen(species);
    char last = length > 0 ? species[length - 1] : '\0';
    char before = length > 1 ? species[length - 2] : '\0';
    if (last == 'y' && strchr("aeiou", before) == NULL) {
        return ts_arena_format(arena, "%.*sies", (int)length - 1, species);
    }
    bool hissing = last == 's' || last == 'x' || last == 'z';
    return ts_arena_format(arena, "%s%s", species, hissing ? "es" : "s");
}

const char *ts_piece_species(ts_arena *arena, int origin, const char *species)
{
    const char *word = species == NULL || species[0] == '\0' ? "stone" : species;
    const char *from = ts_list_word(TS_LIST_ORIGIN, origin);
    return from[0] == '\0' ? word : ts_arena_format(arena, "%s %s", from, word);
}

const char *ts_piece_stones(ts_arena *arena, int count, int shape, int origin, const char *species)
{
    const char *word = species == NULL || species[0] == '\0' ? "stone" : species;
    const char *form = ts_piece_shape(shape);
    const char *space = form[0] == '\0' ? "" : " ";
    if (count == 1) {
        return ts_arena_format(arena, "One %s%s%s", form, space,
                               ts_piece_species(arena, origin, word));
    }
    return ts_arena_format(arena, "%d %s%s%s", count, form, space,
                           ts_piece_species(arena, origin, plural(arena, word)));
}

const char *ts_piece_capital(ts_arena *arena, const char *text)
{
    char *out = ts_arena_text(arena, text);
    if (out[0] >= 'a' && out[0] <= 'z') {
        out[0] = (char)(out[0] - 'a' + 'A');
    }
    return out;
}

const char *ts_piece_option(ts_arena *arena, const ts_quantities *quantities, bool first)
{
    const ts_terms *terms = &quantities->terms;
    if (!ts_text_empty(terms->option_label)) {
        return ts_piece_capital(arena, terms->option_label);
    }
    return first ? "As described" : ts_piece_capital(arena, terms->option_name);
}

/* ---- lines ---- */

typedef struct writer {
    ts_arena *arena;
    ts_piece_words piece;
    size_t room;
} writer;

static void say(writer *w, const char *label, const char *text)
{
    w->piece.lines = ts_arena_grow(w->arena, w->piece.lines, (size_t)w->piece.count, &w->room,
                                   sizeof *w->piece.lines);
    w->piece.lines[w->piece.count++] = (ts_piece_said){label, text};
}

static const char *joined(writer *w, const char *text, const char *more)
{
    return ts_arena_format(w->arena, "%s%s", text, more);
}

static void say_metal(writer *w, const ts_metal_need *need)
{
    char buffer[TS_DECIMAL_TEXT], weight[TS_DECIMAL_TEXT];
    const ts_alloy_row *row = need->row;
    const char *text = row == NULL || ts_text_empty(row->name) ? need->alloy : row->name;
    text = ts_piece_capital(w->arena, text);
    if (row != NULL) {
        ts_metal_kind metal = ts_alloy_main(row);
        text = ts_arena_format(w->arena, "%s: %s of 1,000 parts %s", text,
                               ts_dec_text(buffer, row->fineness[metal]),
                               ts_list_word(TS_LIST_METAL, (int)metal));
        if (!ts_text_empty(row->mark)) {
            text = ts_arena_format(w->arena, "%s (mark %s)", text, row->mark);
        }
    }
    if (need->whole_g.e6 > 0) {
        text = ts_arena_format(w->arena, "%s; about %s\u00a0g", text,
                               ts_dec_fixed(weight, need->whole_g, 2));
    }
    say(w, "Metal", text);
}

static void say_metals(writer *w, const ts_quantities *q)
{
    for (int round = 0; round < 2; round++) { /* the ring's own alloy first */
        for (int i = 0; i < q->metal_count; i++) {
            bool main = q->terms.alloy == NULL || ts_text_same(q->metals[i].alloy, q->terms.alloy);
            if (main == (round == 0)) {
                say_metal(w, &q->metals[i]);
            }
        }
    }
    for (int i = 0; i < q->bought_count; i++) {
        const ts_bought_need *need = &q->bought[i];
        say(w, "Ready-made part",
            ts_arena_format(w->arena, "%d \xc3\x97 %s", need->count, need->item));
    }
}

static const char *measurements(writer *w, const ts_stone_need *need)
{
    char length[TS_DECIMAL_TEXT], width[TS_DECIMAL_TEXT], depth[TS_DECIMAL_TEXT];
    ts_dec_fixed(length, need->length_mm, 2);
    ts_dec_fixed(width, need->width_mm, 2);
    ts_dec_fixed(depth, need->depth_mm, 2);
    if (need->shape == TS_SHAPE_ROUND && need->length_mm.e6 == need->width_mm.e6) {
        return ts_arena_format(w->arena, "%s\u00a0mm across, %s\u00a0mm deep", length, depth);
    }
    return ts_arena_format(w->arena, "%s \xc3\x97 %s \xc3\x97 %s\u00a0mm", length, width, depth);
}

static const char *weights(writer *w, const ts_stone_need *need)
{
    const char *about = need->weight_stated ? "" : "about ";
    const char *each = ts_piece_carats(w->arena, need->carats);
    if (need->count == 1) {
        return ts_arena_format(w->arena, "%s%s\u00a0ct", about, each);
    }
    ts_dec all = {need->carats.e6 * need->count};
    return ts_arena_format(w->arena, "%s%s\u00a0ct each, %s%s\u00a0ct in all", about, each, about,
                           ts_piece_carats(w->arena, all));
}

static const char *grades(writer *w, const char *colour, const char *clarity)
{
    const char *text = "";
    if (!ts_text_empty(colour)) {
        text = ts_arena_format(w->arena, ", colour %s", colour);
    }
    if (!ts_text_empty(clarity)) {
        text = ts_arena_format(w->arena, "%s, clarity %s", text, clarity);
    }
    return text;
}

static void say_stone(writer *w, const ts_stone_need *need)
{
    const char *text = ts_arena_format(
        w->arena, "%s, %s, %s%s",
        ts_piece_stones(w->arena, need->count, need->shape, need->origin, need->species),
        measurements(w, need), weights(w, need), grades(w, need->colour, need->clarity));
    const char *setting = ts_list_word(TS_LIST_SETTING, need->setting);
    if (setting[0] != '\0') {
        text = ts_arena_format(w->arena, "%s; %s setting", text, setting);
    }
    if (!ts_text_empty(need->treatment)) {
        text = ts_arena_format(w->arena, "%s; treatment: %s", text, need->treatment);
    }
    if (!ts_text_empty(need->report)) {
        text = ts_arena_format(w->arena, "%s; report %s", text, need->report);
    }
    say(w, ts_piece_capital(w->arena, need->item), joined(w, text, need->client ? "; yours" : ""));
}

static void say_melee(writer *w, const ts_melee_need *need)
{
    char size[TS_DECIMAL_TEXT];
    const ts_melee_row *step = need->step;
    ts_dec_fixed(size, need->diameter_mm, 2);
    if (step == NULL) {
        say(w, "Small stones",
            ts_arena_format(w->arena, "%d of %s\u00a0mm%s", need->set, size,
                            need->client ? ", yours" : ""));
        return;
    }
    ts_dec all = {step->carat_each.e6 * need->set};
    const char *stones =
        ts_piece_stones(w->arena, need->set, step->shape, step->origin, step->species);
    say(w, "Small stones",
        ts_arena_format(w->arena, "%s, %s\u00a0mm, about %s\u00a0ct in all%s%s", stones, size,
                        ts_piece_carats(w->arena, all), grades(w, step->colour, step->clarity),
                        need->client ? "; yours" : ""));
}

ts_piece_words ts_piece_of(ts_arena *arena, const ts_quantities *quantities)
{
    writer w = {.arena = arena};
    const ts_terms *terms = &quantities->terms;
    say_metals(&w, quantities);
    if (!ts_text_empty(terms->size_text)) {
        say(&w, "Size", terms->size_text);
    }
    if (!ts_text_empty(terms->band_text)) {
        say(&w, "Band", ts_piece_capital(arena, terms->band_text));
    }
    for (int i = 0; i < quantities->stone_count; i++) {
        say_stone(&w, &quantities->stones[i]);
    }
    for (int i = 0; i < quantities->melee_count; i++) {
        say_melee(&w, &quantities->melee[i]);
    }
    if (!ts_text_empty(terms->finish)) {
        say(&w, "Finish", ts_piece_capital(arena, terms->finish));
    }
    if (!ts_text_empty(terms->inscription)) {
        say(&w, "Inscription",
            ts_arena_format(arena, "\xe2\x80\x9c%s\xe2\x80\x9d", terms->inscription));
    }
    return w.piece;
}

/* ---- in fewer lines ---- */

static ts_piece_said *line_of(const ts_piece_words *piece, const char *label)
{
    for (int i = 0; i < piece->count; i++) {
        if (strcmp(piece->lines[i].label, label) == 0) {
            return &piece->lines[i];
        }
    }
    return NULL;
}

/* The text as it goes on within a sentence. */
static const char *small_letter(ts_arena *arena, const char *text)
{
    bool is_word = text[0] >= 'A' && text[0] <= 'Z' && text[1] >= 'a' && text[1] <= 'z';
    return is_word ? ts_arena_format(arena, "%c%s", text[0] - 'A' + 'a', text + 1) : text;
}

ts_piece_words ts_piece_closer(ts_arena *arena, const ts_piece_words *piece)
{
    writer w = {.arena = arena};
    for (int i = 0; i < piece->count; i++) {
        const ts_piece_said *line = &piece->lines[i];
        bool is_finish = strcmp(line->label, "Finish") == 0;
        bool goes_with_size = is_finish || strcmp(line->label, "Inscription") == 0;
        ts_piece_said *to = line_of(&w.piece, goes_with_size ? "Size" : line->label);
        if (to == NULL) {
            say(&w, line->label, line->text);
            continue;
        }
        const char *word = !goes_with_size ? "" : is_finish ? "finish " : "inscription ";
        const char *text = is_finish ? small_letter(arena, line->text) : line->text;
        to->text = ts_arena_format(arena, "%s; %s%s", to->text, word, text);
    }
    return w.piece;
}

/* ---- differences ---- */

static bool says(const ts_piece_words *piece, const ts_piece_said *line)
{
    for (int i = 0; i < piece->count; i++) {
        if (strcmp(piece->lines[i].label, line->label) == 0 &&
            strcmp(piece->lines[i].text, line->text) == 0) {
            return true;
        }
    }
    return false;
}

static int labelled(const ts_piece_words *piece, const char *label)
{
    int count = 0;
    for (int i = 0; i < piece->count; i++) {
        count += strcmp(piece->lines[i].label, label) == 0;
    }
    return count;
}

/* Do both say the same under a label? */
static bool agree(const ts_piece_words *one, const ts_piece_words *other, const char *label)
{
    for (int i = 0; i < one->count; i++) {
        if (strcmp(one->lines[i].label, label) == 0 && !says(other, &one->lines[i])) {
            return false;
        }
    }
    return labelled(one, label) == labelled(other, label);
}

/* Where one line under a label differs all of them are said again, so that nobody has to
 * work out which small stones stayed. */
ts_piece_words ts_piece_difference(ts_arena *arena, const ts_piece_words *first,
                                   const ts_piece_words *other)
{
    writer w = {.arena = arena};
    for (int i = 0; i < other->count; i++) {
        if (!agree(first, other, other->lines[i].label)) {
            say(&w, other->lines[i].label, other->lines[i].text);
        }
    }
    for (int i = 0; i < first->count; i++) {
        const ts_piece_said *line = &first->lines[i];
        if (labelled(other, line->label) == 0) {
            say(&w, "Without", ts_arena_format(arena, "%s: %s", line->label, line->text));
        }
    }
    return w.piece;
}

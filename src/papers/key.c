#include "papers/subject.h"

#include "papers/piece.h"

#include <tallystone/base/text.h>

#include <math.h>
#include <string.h>

/* The key: what every part is called, how many there are and how large.
 *
 * A letter stands over the plan for each part that is seen in it, with a line to one of its
 * stones; the words stand below, in lettering that fits any label. So nothing is written over
 * the drawing itself. */

#define PI 3.14159265358979323846
#define LETTERS 26
#define LETTER_ABOVE_MM 6.0
#define BETWEEN_LETTERS_MM 5.0
#define NAME_MM 29.0 /* column of the names */
#define INDENT_MM 5.0
#define MARGIN_MM 6.0

typedef struct entry {
    const char *name, *says;
    ts_xy target; /* in plan */
    bool has_target;
    double letter_mm; /* where its letter stands, along x of the page */
    bool is_set;
} entry;

typedef struct key {
    ts_arena *arena;
    const ts_subject *subject;
    entry *entries;
    size_t count, room;
    ts_box box; /* of the stones and the metal round them */
    bool has_box;
} key;

static const char *mm(const key *k, double length_mm)
{
    return ts_sketch_mm(k->arena, length_mm);
}

static const char *name_of(const key *k, const ts_part *part)
{
    return part->label != NULL ? part->label : ts_part_title(k->arena, part);
}

/* "claws"; where several are made, with the stone they hold. */
static const char *name_held(const key *k, const ts_part *part, const char *what, int count,
                             int stone)
{
    if (part->label != NULL || count == 1) {
        return part->label != NULL ? part->label : what;
    }
    return ts_arena_format(k->arena, "%s, %s", what,
                           name_of(k, &k->subject->design->stone[stone].part));
}

static entry *add(key *k, const char *name, const char *says)
{
    k->entries = ts_arena_grow(k->arena, k->entries, k->count, &k->room, sizeof *k->entries);
    k->entries[k->count] = (entry){.name = name, .says = says};
    return &k->entries[k->count++];
}

/* ---- what is said ---- */

static void add_stone(key *k, int index)
{
    const ts_stone *stone = &k->subject->design->stone[index];
    const ts_stone_shape *shape = &k->subject->geometry->stones[index];
    bool is_equal = shape->length_mm == shape->width_mm;
    const char *size = is_equal ? mm(k, shape->length_mm)
                                : ts_arena_format(k->arena, "%s × %s", mm(k, shape->length_mm),
                                                  mm(k, shape->width_mm));
    const char *says =
        ts_arena_format(k->arena, "%s %s\u00a0mm, %s\u00a0mm deep",
                        ts_list_word(TS_LIST_SHAPE, stone->shape), size, mm(k, shape->depth_mm));
    ts_dec carats;

    if (stone->copies > 1) {
        says = ts_arena_format(k->arena, "%d, each %s", stone->copies, says);
    }
    if (ts_dec_from_double(&carats, shape->carats)) {
        says = ts_arena_format(k->arena, "%s, %s%s\u00a0ct", says,
                               shape->weight_stated ? "" : "about ",
                               ts_piece_carats(k->arena, carats));
    }
    if (ts_subject_is_scattered(k->subject, index)) {
        says = ts_arena_format(k->arena, "%s; not drawn, their places are not given", says);
    }
    entry *e = add(k, name_of(k, &stone->part), says);
    if (ts_subject_shows(k->subject, index, 0)) {
        const ts_xy own = {-0.18 * shape->width_mm, 0.25 * shape->length_mm};
        e->has_target = true;
        e->target = ts_sketch_put(&shape->spots[0], false, own);
    }
}

/* "2 × " for what is made twice. */
static const char *times(const key *k, int copies)
{
    return copies > 1 ? ts_arena_format(k->arena, "%d × ", copies) : "";
}

/* "18 of 1.40 mm"; graduated: "8 of 2.00, 6 of 1.80 mm". */
static const char *counted(const key *k, const ts_row_shape *shape)
{
    const char *text = "";

    for (int i = 0; i < shape->size_count; i++) {
        text = ts_text_joined(k->arena, text, ", ",
                              ts_arena_format(k->arena, "%d of %s", shape->sizes[i].stones,
                                              mm(k, shape->sizes[i].diameter_mm)));
    }
    return ts_arena_format(k->arena, "%s%s\u00a0mm", times(k, shape->copies), text);
}

/* The stone of a row nearest to a direction from the middle of what it goes round. */
static ts_xy halo_target(const key *k, int h, double angle_rad)
{
    const ts_halo *halo = &k->subject->design->halo[h];
    const ts_row_shape *shape = &k->subject->geometry->halos[h];
    const ts_spot *middle = &k->subject->geometry->stones[halo->stone_ref.index].spots[0];
    int best = 0;
    double best_rad = HUGE_VAL;

    for (int i = 0; i < shape->stones; i++) {
        double own_rad =
            atan2(-(shape->spots[i].x_mm - middle->x_mm), shape->spots[i].y_mm - middle->y_mm);
        double off_rad = fabs(remainder(own_rad - angle_rad, 2.0 * PI));
        if (off_rad < best_rad) {
            best = i;
            best_rad = off_rad;
        }
    }
    return (ts_xy){shape->spots[best].x_mm, shape->spots[best].y_mm};
}

static void add_halo(key *k, int h)
{
    const ts_halo *halo = &k->subject->design->halo[h];
    const ts_row_shape *shape = &k->subject->geometry->halos[h];
    /* right, left, further right, ... */
    double side = h % 2 == 0 ? -1.0 : 1.0, turn_rad = 0.5 + 0.125 * (h - h % 2);
    const char *says = counted(k, shape);

    if (halo->faces == TS_FACES_OUT) {
        says = ts_arena_format(k->arena, "%s facing out (dashed), %s\u00a0mm apart", says,
                               mm(k, shape->spacing_mm));
    } else {
        const ts_part *around = ts_design_part(k->subject->design, halo->around_ref);
        bool is_stone = halo->around_ref.kind == TS_PART_STONE || around == NULL;
        says = ts_arena_format(k->arena, "%s, %s\u00a0mm apart, %s\u00a0mm from %s", says,
                               mm(k, shape->spacing_mm), mm(k, shape->gap_mm),
                               is_stone ? "the girdle" : ts_part_title(k->arena, around));
        if (shape->has_claw_room) {
            says = ts_arena_format(k->arena, "%s, %s\u00a0mm to the claws", says,
                                   mm(k, shape->claw_room_mm));
        }
    }
    entry *e = add(k, name_of(k, &halo->part), says);
    e->has_target = shape->stones > 0 && ts_subject_shows(k->subject, halo->stone_ref.index, 0);
    e->target = e->has_target ? halo_target(k, h, side * turn_rad + 0.05) : (ts_xy){0.0, 0.0};
}

static void add_row(key *k, int r)
{
    const ts_row *row = &k->subject->design->row[r];
    const ts_row_shape *shape = &k->subject->geometry->rows[r];
    const char *says =
        ts_arena_format(k->arena, "%s, %s\u00a0mm apart%s", counted(k, shape),
                        mm(k, shape->spacing_mm), row->shoulders > 1 ? ", both shoulders" : "");
    entry *e = add(k, name_of(k, &row->part), says);
    double best_mm = HUGE_VAL, beyond_mm = 0.0;
    double wish_mm = (0.35 + 0.05 * (r % 3)) * k->subject->geometry->bore_mm;

    if (k->has_box) {
        beyond_mm = k->box.right_mm;
        wish_mm = fmax(wish_mm, beyond_mm + 0.8 + r % 3);
    }
    for (int i = 0; i < shape->stones; i++) {
        const ts_spot *spot = &shape->spots[i];
        /* what the head hides is the last choice; of several lines the upper one */
        double off_mm =
            fabs(spot->x_mm - wish_mm) - 0.01 * spot->y_mm + (spot->x_mm < beyond_mm ? 10.0 : 0.0);
        if (cos(spot->angle_rad) > 0.1 && off_mm < best_mm) {
            best_mm = off_mm;
            e->has_target = true;
            e->target = (ts_xy){spot->x_mm, spot->y_mm};
        }
    }
}

static void add_head(key *k, int h)
{
    const ts_head *head = &k->subject->design->head[h];
    const ts_head_shape *shape = &k->subject->geometry->heads[h];
    const char *says = ts_arena_format(k->arena, "%s%d claws of %s\u00a0mm, %s\u00a0mm at the tip",
                                       times(k, shape->copies), head->claws,
                                       mm(k, ts_dec_double(head->claw_diameter)),
                                       mm(k, ts_dec_double(head->tip_diameter)));
    bool is_seen = ts_subject_shows(k->subject, head->holds_ref.index, 0);

    if (head->rails > 0) {
        says = ts_arena_format(k->arena, "%s; %d %s of %s\u00a0mm", says, head->rails,
                               head->rails == 1 ? "rail" : "rails",
                               mm(k, ts_dec_double(head->rail_diameter)));
    }
    entry *e = add(
        k,
        name_held(k, &head->part, "claws", k->subject->design->head_count, head->holds_ref.index),
        says);
    for (int i = 0; is_seen && i < shape->claw_spot_count; i++) {
        const ts_spot *claw = &shape->claw_spots[i];
        if (!e->has_target ||
            claw->y_mm - 0.2 * claw->x_mm > e->target.y_mm - 0.2 * e->target.x_mm) {
            e->has_target = true;
            e->target = (ts_xy){claw->x_mm, claw->y_mm};
        }
    }
}

static void add_bezel(key *k, int b)
{
    const ts_bezel *bezel = &k->subject->design->bezel[b];
    int stone = bezel->holds_ref.index;
    ts_xy edge = {0.0, 0.0};
    entry *e = add(k, name_held(k, &bezel->part, "bezel", k->subject->design->bezel_count, stone),
                   ts_arena_format(k->arena, "%s\u00a0mm thick, %s\u00a0mm high",
                                   mm(k, ts_dec_double(bezel->wall)),
                                   mm(k, ts_dec_double(bezel->height))));

    if (ts_subject_shows(k->subject, stone, 0)) {
        double out_mm = ts_dec_double(bezel->wall) / 2.0;
        ts_outline line;
        e->has_target = ts_outline_parallel(&line, &k->subject->outlines[stone], out_mm) &&
                        ts_outline_towards(&line, 0.4, &edge, NULL);
        e->target = ts_sketch_put(&k->subject->geometry->stones[stone].spots[0], false, edge);
    }
}

static void add_band(key *k)
{
    const ts_shank *shank = k->subject->design->shank;
    double radius_mm = k->subject->geometry->bore_mm / 2.0;
    const char *says = k->subject->quantities->terms.band_text;
    entry *e =
        add(k, shank->part.label != NULL ? shank->part.label : "band", says != NULL ? says : "");
    e->has_target = k->subject->has_band && k->subject->band.open_rad < 0.9 * PI;
    double outside_mm = radius_mm + 0.6 * ts_dec_double(shank->thickness_top);
    double head_mm = k->has_box ? 1.5 - k->box.left_mm : 0.0;
    e->target = (ts_xy){-fmin(outside_mm, fmax(0.85 * radius_mm, head_mm)),
                        0.3 * ts_dec_double(shank->width_top)};
}

/* Every alloy with what of it the piece weighs. */
static void add_metals(key *k)
{
    const ts_quantities *quantities = k->subject->quantities;
    const char *says = "";

    for (int i = 0; i < quantities->metal_count; i++) {
        const ts_metal_need *need = &quantities->metals[i];
        const char *name =
            need->row != NULL && need->row->name != NULL ? need->row->name : need->alloy;
        char grams[TS_DECIMAL_TEXT];
        says = ts_text_joined(k->arena, says, "; ",
                              ts_arena_format(k->arena, "%s, about %s\u00a0g", name,
                                              ts_dec_fixed(grams, need->whole_g, 2)));
    }
    if (says[0] != '\0') {
        add(k, "metal", says);
    }
}

static key key_of(ts_arena *arena, const ts_subject *subject)
{
    key k = {.arena = arena, .subject = subject};
    const ts_design *design = subject->design;

    k.has_box = ts_subject_box(subject, &k.box);
    for (int i = 0; i < design->stone_count; i++) {
        add_stone(&k, i);
    }
    for (int i = 0; i < design->head_count; i++) {
        add_head(&k, i);
    }
    for (int i = 0; i < design->bezel_count; i++) {
        add_bezel(&k, i);
    }
    for (int i = 0; i < design->halo_count; i++) {
        add_halo(&k, i);
    }
    for (int i = 0; i < design->row_count; i++) {
        add_row(&k, i);
    }
    if (design->shank_count > 0) {
        add_band(&k);
    }
    add_metals(&k);
    return k;
}

/* ---- where it is written ---- */

/* Letters in the order of their targets from left to right, none too near to the next. */
static void set_letters(const ts_drawing *drawing, int view, key *k, size_t lettered)
{
    double last_mm = -HUGE_VAL;

    for (size_t pass = 0; pass < lettered; pass++) {
        entry *next = NULL;
        for (size_t i = 0; i < k->count; i++) {
            entry *e = &k->entries[i];
            if (e->has_target && !e->is_set &&
                (next == NULL || e->target.x_mm < next->target.x_mm)) {
                next = e;
            }
        }
        if (next == NULL) {
            return;
        }
        double own_mm = ts_sketch_page(drawing, view, next->target).x_mm;
        next->letter_mm = fmax(own_mm, last_mm + BETWEEN_LETTERS_MM);
        next->is_set = true;
        last_mm = next->letter_mm;
    }
}

static void draw_letter(ts_drawing *drawing, int view, const entry *e, const char *letter)
{
    double top_mm =
        ts_sketch_page(drawing, view, (ts_xy){0.0, drawing->views[view].box.top_mm}).y_mm -
        LETTER_ABOVE_MM;
    ts_xy target = ts_sketch_page(drawing, view, e->target);
    ts_mark *text = ts_sketch_text(drawing, (ts_xy){e->letter_mm, top_mm}, letter, TS_LETTER_MM,
                                   TS_ANCHOR_MIDDLE);

    text->is_bold = true;
    ts_sketch_line(drawing, TS_VIEW_PAGE, (ts_xy){e->letter_mm, top_mm + 0.9}, target,
                   TS_STROKE_MEASURE);
    ts_sketch_circle(drawing, TS_VIEW_PAGE, target, 0.35)->shade = TS_SHADE_INK;
}

double ts_dimension_key(ts_drawing *drawing, const ts_subject *subject, int view, double y_mm)
{
    key k = key_of(drawing->arena, subject);
    double width_mm = drawing->width_mm - 2.0 * MARGIN_MM - INDENT_MM - NAME_MM;
    size_t lettered = 0;

    for (size_t i = 0; i < k.count; i++) {
        k.entries[i].has_target = k.entries[i].has_target && lettered < LETTERS;
        lettered += k.entries[i].has_target ? 1 : 0;
    }
    set_letters(drawing, view, &k, lettered);
    char letter = 'A';
    for (size_t i = 0; i < k.count; i++) {
        const entry *e = &k.entries[i];
        if (e->has_target) {
            const char *text = ts_arena_format(drawing->arena, "%c", letter++);
            draw_letter(drawing, view, e, text);
            ts_sketch_text(drawing, (ts_xy){MARGIN_MM, y_mm}, text, TS_LETTER_MM, TS_ANCHOR_START)
                ->is_bold = true;
        }
        int lines = ts_sketch_wrapped(drawing, (ts_xy){MARGIN_MM + INDENT_MM, y_mm}, e->name,
                                      TS_LETTER_MM, NAME_MM - 2.0, false);
        int other = ts_sketch_wrapped(drawing, (ts_xy){MARGIN_MM + INDENT_MM + NAME_MM, y_mm},
                                      e->says, TS_LETTER_MM, width_mm, false);
        y_mm += 1.3 * TS_LETTER_MM * (lines > other ? lines : other) + 0.6;
    }
    return y_mm;
}

/* A key without letters, in one sentence for who cannot see the drawing. */
const char *ts_dimension_says(ts_arena *arena, const ts_subject *subject)
{
    key k = key_of(arena, subject);
    const char *text = "Drawn to scale, from above and from the side";
    size_t most = 200;

    for (size_t i = 0; i < k.count; i++) {
        const char *more = ts_arena_format(arena, "%s%s: %s", i == 0 ? ". " : "; ",
                                           k.entries[i].name, k.entries[i].says);
        if (strlen(text) + strlen(more) > most) {
            break;
        }
        text = ts_arena_format(arena, "%s%s", text, more);
    }
    if (subject->geometry->height.known) {
        text = ts_arena_format(arena, "%s; %s\u00a0mm high over the finger", text,
                               ts_sketch_mm(arena, subject->geometry->height.total_mm));
    }
    return text;
}

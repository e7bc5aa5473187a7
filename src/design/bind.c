#include "design/build.h"

#include <tallystone/base/nearest.h>
#include <tallystone/base/text.h>

#include "design/tables.h"

#include <string.h>

/* Parts name one another: a head the stone it holds, a halo what it goes around. Here the
 * names become references, so that later stages follow an index and never a word.
 *
 * A name that an option has left out is said at the option's row, for that row is what must
 * be mended. References that lead back to where they began are cut and said once. */

#define MOST_NEAR 256

/* Kinds that a reference may name. */
typedef struct takes {
    bool stones;
    bool halos;
} takes;

static ts_ref find_part(const ts_build *b, ts_part_kind kind, const char *name)
{
    for (int i = 0; i < ts_design_count(b->design, kind); i++) {
        if (strcmp(ts_design_at(b->design, kind, i)->name, name) == 0) {
            return (ts_ref){kind, i};
        }
    }
    return (ts_ref){.kind = TS_PART_NONE};
}

/* What a reference can mean, likeliest first: the kind's own word names the part without a
 * name, `halo NAME` a halo, any other name a stone (or a halo, where only halos serve). */
typedef struct meaning {
    ts_part_kind kind;
    const char *name;
} meaning;

static size_t meanings_of(meaning out[4], const char *text, takes kinds)
{
    static const ts_part_kind both[] = {TS_PART_HALO, TS_PART_STONE};
    size_t count = 0;

    for (size_t i = 0; i < TS_COUNT_OF(both); i++) {
        const char *word = ts_part_word(both[i]);
        const char *rest = ts_text_after_word(text, word);
        const bool taken = both[i] == TS_PART_HALO ? kinds.halos : kinds.stones;

        if (taken && (rest != NULL || strcmp(text, word) == 0)) {
            out[count++] = (meaning){both[i], rest == NULL ? "" : rest};
        }
    }
    out[count++] = (meaning){kinds.stones ? TS_PART_STONE : TS_PART_HALO, text};
    return count;
}

static const char *kinds_said(takes kinds)
{
    if (kinds.stones && kinds.halos) {
        return "stone or halo";
    }
    return kinds.stones ? "stone" : "halo";
}

/* The names that a reference to a kind could have been. */
static size_t add_names(const ts_build *b, const char **names, size_t count, ts_part_kind kind,
                        bool bare)
{
    for (int i = 0; i < ts_design_count(b->design, kind) && i < MOST_NEAR; i++) {
        const ts_part *part = ts_design_at(b->design, kind, i);

        names[count++] = ts_part_title(b->arena, part);
        if (bare && *part->name != '\0') {
            names[count++] = part->name;
        }
    }
    return count;
}

static void add_unknown(const ts_build *b, const ts_part *part, ts_field_id field, const char *text,
                        takes kinds)
{
    const char *names[4 * MOST_NEAR];
    size_t count = 0;

    ts_build_fault(b, TS_FAULT_NAME_UNKNOWN, part, field, "%s: \"%s\" names no %s of this sheet",
                   ts_build_title(b, part), ts_sheet_shown(b->arena, text), kinds_said(kinds));
    if (kinds.stones) {
        count = add_names(b, names, count, TS_PART_STONE, true);
    }
    if (kinds.halos) {
        count = add_names(b, names, count, TS_PART_HALO, !kinds.stones);
    }
    const int nearest = ts_nearest(text, names, count);
    if (nearest >= 0) {
        ts_diag_hint(b->diag, "did you mean \"%s\"?", ts_sheet_shown(b->arena, names[nearest]));
    }
}

static void add_dropped(const ts_build *b, const ts_part *part, meaning what,
                        const ts_sheet_row *drop)
{
    const ts_place place = ts_sheet_place(b->sheet, b->arena, drop->row, TS_COLUMN_MEASURE);
    const char *title = ts_build_title(b, part);

    ts_diag_add(b->diag, TS_FAULT_NAME_UNKNOWN, &place,
                "%s refers to %s, which is left out here; leave %s out too, or have it name "
                "another part",
                title, ts_title_shown(b->arena, what.kind, what.name), title);
}

/* The part that a measure names; NONE where it is not given or a fault was said. */
static ts_ref resolve(ts_build *b, ts_part *part, ts_field_id field, takes kinds)
{
    const ts_field *of = ts_field_of(field);
    const char *text = *(const char *const *)((const char *)part + of->offset);
    meaning meanings[4];

    if (!ts_build_has(part, field)) {
        return (ts_ref){.kind = TS_PART_NONE};
    }
    const size_t count = meanings_of(meanings, text, kinds);
    for (size_t i = 0; i < count; i++) {
        const ts_ref found = find_part(b, meanings[i].kind, meanings[i].name);

        if (found.kind != TS_PART_NONE) {
            return found;
        }
    }
    ts_build_spoil(part, field);
    for (size_t i = 0; i < count; i++) {
        const ts_sheet_row *drop = ts_build_dropped(b, meanings[i].kind, meanings[i].name);

        if (drop != NULL) {
            add_dropped(b, part, meanings[i], drop);
            return (ts_ref){.kind = TS_PART_NONE};
        }
    }
    add_unknown(b, part, field, text, kinds);
    return (ts_ref){.kind = TS_PART_NONE};
}

/* ---- circles ---- */

typedef enum visit { VISIT_NOT_YET, VISIT_OPEN, VISIT_DONE } visit;

typedef struct circles {
    ts_build *b;
    visit *stones, *halos;
    ts_ref *path; /* from where the walk began to where it stands */
    size_t depth;
} circles;

static visit *visit_of(const circles *c, ts_ref at)
{
    return at.kind == TS_PART_STONE ? &c->stones[at.index] : &c->halos[at.index];
}

static bool same_ref(ts_ref one, ts_ref other)
{
    return one.kind == other.kind && one.index == other.index;
}

static void add_circle(const circles *c, ts_ref from, ts_field_id field, ts_ref to)
{
    ts_build *b = c->b;
    ts_part *part = ts_design_at(b->design, from.kind, from.index);
    size_t first = 0;
    const char *way = "";

    while (!same_ref(c->path[first], to)) {
        first++;
    }
    for (size_t i = first; i < c->depth && i < first + 8; i++) {
        const ts_part *on = ts_design_part(b->design, c->path[i]);

        way = ts_arena_format(b->arena, "%s%s, ", way, ts_build_title(b, on));
    }
    ts_build_fault(b, TS_FAULT_NAME_CIRCLE, part, field,
                   "parts refer to each other in a circle: %s%s; one of them must name another",
                   way, ts_build_title(b, ts_design_part(b->design, to)));
    ts_build_spoil(part, field);
}

static void visit_part(circles *c, ts_ref at);

/* Follows a reference; cuts it where it closes a circle. */
static void follow(circles *c, ts_ref from, ts_field_id field, ts_ref *to)
{
    if (to->kind == TS_PART_NONE) {
        return;
    }
    if (*visit_of(c, *to) == VISIT_OPEN) {
        add_circle(c, from, field, *to);
        to->kind = TS_PART_NONE;
        return;
    }
    visit_part(c, *to);
}

/* As deep as the longest chain of references, TS_MOST_PARTS at most. */
static void visit_part(circles *c, ts_ref at)
{
    ts_design *design = c->b->design;
    visit *mark = visit_of(c, at);

    if (*mark != VISIT_NOT_YET) {
        return;
    }
    *mark = VISIT_OPEN;
    c->path[c->depth++] = at;
    if (at.kind == TS_PART_STONE) {
        follow(c, at, TS_FIELD_STONE_BESIDE, &design->stone[at.index].beside_ref);
    } else {
        follow(c, at, TS_FIELD_HALO_AROUND, &design->halo[at.index].around_ref);
        follow(c, at, TS_FIELD_HALO_UNDER, &design->halo[at.index].under_ref);
    }
    c->depth--;
    *mark = VISIT_DONE;
}

static void cut_circles(ts_build *b)
{
    const ts_design *design = b->design;
    const size_t stones = (size_t)design->stone_count;
    const size_t halos = (size_t)design->halo_count;
    circles c = {
        .b = b,
        .stones = TS_ARRAY(b->arena, visit, stones + 1),
        .halos = TS_ARRAY(b->arena, visit, halos + 1),
        .path = TS_ARRAY(b->arena, ts_ref, stones + halos + 1),
    };

    for (int i = 0; i < design->stone_count; i++) {
        visit_part(&c, (ts_ref){TS_PART_STONE, i});
    }
    for (int i = 0; i < design->halo_count; i++) {
        visit_part(&c, (ts_ref){TS_PART_HALO, i});
    }
}

/* ---- all references ---- */

/* The stone at the bottom of a chain of halos. */
static ts_ref stone_of(const ts_design *design, ts_ref at)
{
    while (at.kind == TS_PART_HALO) {
        at = design->halo[at.index].around_ref;
    }
    return at;
}

static void bind_references(ts_build *b)
{
    const ts_design *design = b->design;
    const takes stones = {.stones = true};
    const takes halos = {.halos = true};
    const takes either = {true, true};

    for (int i = 0; i < design->stone_count; i++) {
        ts_stone *stone = &design->stone[i];

        stone->copies = stone->count;
        stone->beside_ref = resolve(b, &stone->part, TS_FIELD_STONE_BESIDE, either);
    }
    for (int i = 0; i < design->head_count; i++) {
        ts_head *head = &design->head[i];

        head->holds_ref = resolve(b, &head->part, TS_FIELD_HEAD_HOLDS, stones);
    }
    for (int i = 0; i < design->bezel_count; i++) {
        ts_bezel *bezel = &design->bezel[i];

        bezel->holds_ref = resolve(b, &bezel->part, TS_FIELD_BEZEL_HOLDS, stones);
    }
    for (int i = 0; i < design->halo_count; i++) {
        ts_halo *halo = &design->halo[i];

        halo->around_ref = resolve(b, &halo->part, TS_FIELD_HALO_AROUND, either);
        halo->under_ref = resolve(b, &halo->part, TS_FIELD_HALO_UNDER, halos);
    }
}

/* ---- what a mesh replaces ---- */

static void add_replaced_unknown(const ts_build *b, const ts_part *part, const char *name)
{
    const char *titles[MOST_NEAR];
    size_t count = 0;

    ts_build_fault(b, TS_FAULT_NAME_UNKNOWN, part, TS_FIELD_MESH_REPLACES,
                   "%s: \"%s\" names no part in metal of this sheet; `all` or parts such as "
                   "shank; head centre are expected",
                   ts_build_title(b, part), ts_sheet_shown(b->arena, name));
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        for (int i = 0; i < ts_design_count(b->design, (ts_part_kind)kind); i++) {
            if (ts_part_is_metal((ts_part_kind)kind) && count < MOST_NEAR) {
                titles[count++] =
                    ts_part_title(b->arena, ts_design_at(b->design, (ts_part_kind)kind, i));
            }
        }
    }
    const int nearest = ts_nearest(name, titles, count);
    if (nearest >= 0) {
        ts_diag_hint(b->diag, "did you mean \"%s\"?", ts_sheet_shown(b->arena, titles[nearest]));
    }
}

/* The part of a title "head centre"; its kind and name too. */
static ts_ref find_title(const ts_build *b, const char *title, meaning *what)
{
    const char *blank = strchr(title, ' ');
    const size_t length = blank == NULL ? strlen(title) : (size_t)(blank - title);

    what->kind = ts_part_find(ts_arena_copy(b->arena, title, length));
    what->name = blank == NULL ? "" : blank + 1;
    if (!ts_part_is_metal(what->kind)) {
        return (ts_ref){.kind = TS_PART_NONE};
    }
    return find_part(b, what->kind, what->name);
}

static void add_replaced(ts_build *b, ts_mesh *mesh, const char *title)
{
    meaning what;
    const ts_ref found = find_title(b, title, &what);

    if (found.kind == TS_PART_NONE) {
        const ts_sheet_row *drop =
            ts_part_is_metal(what.kind) ? ts_build_dropped(b, what.kind, what.name) : NULL;

        ts_build_spoil(&mesh->part, TS_FIELD_MESH_REPLACES);
        if (drop != NULL) {
            add_dropped(b, &mesh->part, what, drop);
        } else {
            add_replaced_unknown(b, &mesh->part, title);
        }
        return;
    }
    if (mesh->replaced_count == TS_PART_FIELDS) {
        ts_build_fault(b, TS_FAULT_TOO_LARGE, &mesh->part, TS_FIELD_MESH_REPLACES,
                       "%s: a mesh replaces at most %d parts by name; `all` replaces every one",
                       ts_build_title(b, &mesh->part), TS_PART_FIELDS);
        ts_build_spoil(&mesh->part, TS_FIELD_MESH_REPLACES);
        return;
    }
    mesh->replaced[mesh->replaced_count++] = found;
}

/* `all`, or titles with semicolons between them; commas serve where there is none. */
static void bind_mesh(ts_build *b, ts_mesh *mesh)
{
    if (!ts_build_has(&mesh->part, TS_FIELD_MESH_REPLACES)) {
        return;
    }
    const char *list = ts_text_fold(b->arena, mesh->replaces);
    const char *separators = strchr(list, ';') != NULL ? ";" : ",";

    mesh->replaces_all = strcmp(list, "all") == 0;
    while (!mesh->replaces_all && ts_build_sound(&mesh->part, TS_FIELD_MESH_REPLACES)) {
        const size_t length = strcspn(list, separators);
        const char *title = ts_text_fold(b->arena, ts_arena_copy(b->arena, list, length));

        if (*title != '\0') {
            add_replaced(b, mesh, title);
        }
        if (list[length] == '\0') {
            return;
        }
        list += length + 1;
    }
}

void ts_bind_parts(ts_build *b)
{
    const ts_design *design = b->design;

    bind_references(b);
    cut_circles(b);
    for (int i = 0; i < design->halo_count; i++) {
        design->halo[i].stone_ref = stone_of(design, design->halo[i].around_ref);
    }
    for (int i = 0; i < design->mesh_count; i++) {
        bind_mesh(b, &design->mesh[i]);
    }
}

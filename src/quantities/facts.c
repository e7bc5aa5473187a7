#include "quantities/counting.h"

#include <math.h>

/* The ring in numbers: the rows of `tallystone quantities`, in the sheet's own form. Each says
 * by which formula it was found and on what it rests. */

#define E6 1000000

static void add_fact(ts_counting *c, const char *part, const char *measure, ts_dec value,
                     const char *unit, ts_whence whence)
{
    ts_quantities *out = c->out;

    out->facts = ts_arena_grow(c->arena, out->facts, (size_t)out->fact_count, &c->fact_room,
                               sizeof *out->facts);
    out->facts[out->fact_count++] =
        (ts_fact){.part = part, .measure = measure, .value = value, .unit = unit, .whence = whence};
}

static ts_whence formula(const ts_counting *c, const char *says)
{
    return (ts_whence){.file = c->file, .says = says};
}

static ts_dec count_of(int count)
{
    return (ts_dec){(int64_t)count * E6};
}

static void add_measure(ts_counting *c, const char *part, const char *measure, double value,
                        const char *unit, ts_whence whence)
{
    add_fact(c, part, measure, ts_weigh_measure(c, value, measure), unit, whence);
}

static void ring_facts(ts_counting *c)
{
    const ts_geometry *g = c->geometry;

    if (g->bore_mm > 0.0) {
        add_measure(
            c, "ring", "inside diameter", g->bore_mm, "mm",
            ts_whence_of(c, &c->design->ring[0].part, TS_FIELD_RING_SIZE, "the size's system"));
    }
    if (c->design->shank_count > 0) {
        const ts_part *part = &c->design->shank[0].part;
        add_measure(c, "shank", "volume", g->shank_mm3, "mm3",
                    ts_whence_of(c, part, TS_FIELD_SHANK_WIDTH_TOP,
                                 "integral of ((R + h)² - (R + e)²)/2 over width and angle; "
                                 "before seats"));
        if (g->shank_seats_mm3 > 0.0) {
            add_measure(c, "shank", "seats", g->shank_seats_mm3, "mm3",
                        formula(c, "what the rows' seats take out"));
        }
    }
}

static void stone_facts(ts_counting *c)
{
    for (int i = 0; i < c->out->stone_count; i++) {
        const ts_stone *stone = &c->design->stone[i];
        const ts_stone_need *need = &c->out->stones[i];
        const char *title = ts_count_title(c, &stone->part);
        const char *weighed = "as stated";
        if (!need->weight_stated) {
            weighed = ts_arena_format(c->arena, "estimated from its measurements, ±%s %%",
                                      ts_count_text(c, need->spread_pct));
        }
        const char *sized =
            c->geometry->stones[i].size_estimated ? "estimated from its weight" : "as measured";
        add_fact(c, title, "weight", need->carats, "ct",
                 ts_whence_of(c, &stone->part, TS_FIELD_STONE_WEIGHT, weighed));
        add_fact(c, title, "length", need->length_mm, "mm",
                 ts_whence_of(c, &stone->part, TS_FIELD_STONE_LENGTH, sized));
        add_fact(c, title, "width", need->width_mm, "mm",
                 ts_whence_of(c, &stone->part, TS_FIELD_STONE_WIDTH, sized));
        add_fact(c, title, "depth", need->depth_mm, "mm",
                 ts_whence_of(c, &stone->part, TS_FIELD_STONE_DEPTH, sized));
        add_fact(c, title, "count", count_of(need->count), "",
                 ts_whence_of(c, &stone->part, TS_FIELD_STONE_COUNT, NULL));
    }
}

static void holder_facts(ts_counting *c)
{
    for (int i = 0; i < c->design->head_count; i++) {
        const ts_head *head = &c->design->head[i];
        const ts_head_shape *shape = &c->geometry->heads[i];
        const char *title = ts_count_title(c, &head->part);
        add_fact(c, title, "volume", ts_count_head_mm3(c, i), "mm3",
                 ts_whence_of(c, &head->part, TS_FIELD_HEAD_CLAW_DIAMETER,
                              "claws as frusta with tips, less the stone's notches; rails as "
                              "tubes, less what claws share with them; all copies"));
        add_fact(c, title, "claws", count_of(shape->claws * shape->copies), "",
                 ts_whence_of(c, &head->part, TS_FIELD_HEAD_CLAWS,
                              "formed here: without shared ones, double ones twice; all copies"));
    }
    for (int i = 0; i < c->design->bezel_count; i++) {
        const ts_bezel *bezel = &c->design->bezel[i];
        add_fact(c, ts_count_title(c, &bezel->part), "volume", ts_count_bezel_mm3(c, i), "mm3",
                 ts_whence_of(c, &bezel->part, TS_FIELD_BEZEL_WALL,
                              "(area within the outer edge - area of the outline) × height"));
    }
}

/* What halos and rows have in common. A graduated row has a pair of facts for each size. */
static void melee_facts(ts_counting *c, const char *title, const ts_row_shape *shape,
                        const char *lot, const ts_whence *whence)
{
    for (int i = 0; i < shape->size_count; i++) {
        const struct ts_size_run *run = &shape->sizes[i];
        add_fact(c, title, "stones", count_of(run->stones * shape->copies), "", *whence);
        add_measure(c, title, "stone diameter", run->diameter_mm, "mm", *whence);
    }
    add_measure(c, title, "spacing", shape->spacing_mm, "mm",
                (ts_whence){whence->file, whence->line, "chord between neighbours - diameter"});
    add_fact(c, title, "weight", ts_count_row_carats(c, lot, shape), "ct",
             (ts_whence){whence->file, whence->line, "stones × carat each (melee.csv)"});
}

static void halo_facts(ts_counting *c, int index)
{
    const ts_halo *halo = &c->design->halo[index];
    const ts_row_shape *shape = &c->geometry->halos[index];
    const char *title = ts_count_title(c, &halo->part);
    bool is_out = halo->faces == TS_FACES_OUT;
    ts_whence whence =
        ts_whence_of(c, &halo->part, TS_FIELD_HALO_STONE_DIAMETER,
                     "the most that equal chords of diameter + spacing close on the line");
    ts_whence metal = ts_whence_of(c, &halo->part, TS_FIELD_HALO_THICKNESS,
                                   is_out ? "area between face and back × (diameter + 2 rim), "
                                            "less seats, claws and bezel in it"
                                          : "area between its edges × thickness, less seats, "
                                            "claws and bezel in it");

    melee_facts(c, title, shape, halo->lot, &whence);
    add_measure(c, title, "gap", shape->gap_mm, "mm",
                ts_whence_of(c, &halo->part, TS_FIELD_HALO_GAP,
                             is_out ? "its line less half a stone" : NULL));
    if (is_out) {
        add_measure(c, title, "offset", shape->offset_mm, "mm",
                    (ts_whence){whence.file, whence.line, "of the stones' line from the girdle"});
    }
    add_fact(c, title, "volume", ts_count_halo_mm3(c, index), "mm3", metal);
    if (shape->has_claw_room) {
        add_measure(
            c, title, "claw room", shape->claw_room_mm, "mm",
            (ts_whence){whence.file, whence.line, "claw to nearest stone, less half of each"});
    }
}

static void row_facts(ts_counting *c)
{
    for (int i = 0; i < c->design->halo_count; i++) {
        halo_facts(c, i);
    }
    for (int i = 0; i < c->design->row_count; i++) {
        const ts_row *row = &c->design->row[i];
        const ts_row_shape *shape = &c->geometry->rows[i];
        const char *title = ts_count_title(c, &row->part);
        ts_whence whence = ts_whence_of(c, &row->part, TS_FIELD_ROW_STONE_DIAMETER,
                                        "stones that lie wholly on the arc, all shoulders and "
                                        "lines");
        melee_facts(c, title, shape, row->lot, &whence);
        add_measure(c, title, "seats", shape->seats_mm3, "mm3",
                    (ts_whence){whence.file, whence.line, "taken out of the shank"});
    }
}

/* The mesh's volume and weight, and how far the measured estimate was off from it. */
static void mesh_facts(ts_counting *c, int index)
{
    const ts_mesh *mesh = &c->design->mesh[index];
    const char *title = ts_count_title(c, &mesh->part);
    const ts_alloy_row *row =
        ts_book_alloy(c->book, ts_design_alloy(c->design, mesh->alloy), c->on);
    ts_whence whence = ts_whence_of(c, &mesh->part, TS_FIELD_MESH_FILE, "measured from the mesh");

    add_measure(c, title, "volume", c->geometry->meshes[index].volume_mm3, "mm3", whence);
    if (row == NULL) {
        return;
    }
    ts_dec told = ts_count_mesh_g(c, index, row);
    ts_dec estimate = ts_count_estimate_g(c, index, row->density);
    whence.says =
        mesh->is == TS_SOLID_MODEL ? "volume × density / (1 + finishing loss)" : "volume × density";
    add_fact(c, title, "weight", told, "g", whence);
    if (estimate.e6 == 0 || told.e6 == 0) {
        return;
    }
    whence.says = "the parts that it replaces, by their own measurements";
    add_fact(c, title, "estimate", estimate, "g", whence);
    whence.says = "estimate / weight - 1";
    add_measure(c, title, "estimate off by",
                100.0 * (ts_dec_double(estimate) / ts_dec_double(told) - 1.0), "%", whence);
}

static void metal_facts(ts_counting *c)
{
    for (int i = 0; i < c->out->metal_count; i++) {
        const ts_metal_need *need = &c->out->metals[i];
        const char *title = ts_arena_format(c->arena, "metal %s", need->alloy);
        add_fact(c, title, "finished weight", need->whole_g, "g", need->whence);
        if (need->finished_g.e6 != need->whole_g.e6) {
            add_fact(c, title, "to be cast or made", need->finished_g, "g", need->whence);
        }
    }
    for (int i = 0; i < c->design->mesh_count; i++) {
        mesh_facts(c, i);
    }
}

/* The least culet clearance of the limits for this wearer, 0 where none is known. */
static double least_clearance_mm(ts_counting *c)
{
    int wear = c->design->ring[0].wear;
    const ts_limit_row *row = ts_book_limit(
        ts_limits_of(c), "culet clearance",
        wear == TS_WEAR_NONE ? NULL : ts_list_word(TS_LIST_WEAR, wear), NULL, NULL, c->on);

    return row != NULL && ts_book_given(&row->head, "least") ? ts_dec_double(row->least) : 0.0;
}

static void height_facts(ts_counting *c)
{
    const ts_heights *height = &c->geometry->height;

    if (!height->known) {
        return;
    }
    bool by_bezel = height->holder.kind == TS_PART_BEZEL;
    ts_whence whence =
        ts_whence_of(c, ts_design_part(c->design, height->holder),
                     by_bezel ? TS_FIELD_BEZEL_HEIGHT : TS_FIELD_HEAD_CULET_CLEARANCE,
                     by_bezel ? "shank + bezel's height, less a third of the crown's"
                              : "culet clearance + (43.0 + 2.5)/60 of the depth");
    double least_mm = least_clearance_mm(c);
    double lowest_mm = fmax(least_mm + c->geometry->stones[height->stone].depth_mm,
                            fmax(height->shank_top_mm, least_mm + height->head_rise_mm));
    add_measure(c, "height", "girdle", height->girdle_mm, "mm", whence);
    whence.says = "culet clearance + depth, or the highest metal";
    add_measure(c, "height", "total", height->total_mm, "mm", whence);
    whence.says = "the same with the least culet clearance of the limits";
    add_measure(c, "height", "lowest", lowest_mm, "mm", whence);
    if (height->has_halo) {
        whence.says = "underside of the lowest halo less the shank's thickness at the top";
        add_measure(c, "height", "under halo", height->under_halo_mm, "mm", whence);
    }
}

static void operation_facts(ts_counting *c)
{
    for (int i = 0; i < c->out->work_count; i++) {
        const ts_work_need *work = &c->out->works[i];
        const char *part = ts_arena_format(c->arena, "operation %s", work->operation);
        if (work->has_size) {
            part = ts_arena_format(c->arena, "%s %s mm", part, ts_count_text(c, work->size_mm));
        } else if (ts_text_same(work->operation, "cast") && work->alloy != NULL) {
            part = ts_arena_format(c->arena, "%s %s", part, work->alloy);
        }
        if (work->has_minutes) {
            add_fact(c, part, "minutes", work->minutes, "min", work->whence);
        } else {
            add_fact(c, part, "count", count_of(work->count), "", work->whence);
        }
    }
}

static void caution_facts(ts_counting *c)
{
    for (int i = 0; i < c->out->caution_count; i++) {
        const ts_caution *caution = &c->out->cautions[i];
        add_fact(c, ts_arena_format(c->arena, "caution %s", caution->limit), caution->part,
                 caution->measured, caution->unit,
                 (ts_whence){caution->whence.file, caution->whence.line, caution->source});
    }
}

void ts_count_facts(ts_counting *c)
{
    ring_facts(c);
    stone_facts(c);
    holder_facts(c);
    row_facts(c);
    metal_facts(c);
    height_facts(c);
    operation_facts(c);
    caution_facts(c);
}

#include "quantities/counting.h"

#include <math.h>
#include <string.h>

/* Metal by alloy.
 *
 * Volumes of one alloy are added first and weighed once. What a mesh replaces keeps its place
 * among the castings and joints, for it is made all the same; only its estimated volume goes.
 * Seats of melee come off the shank that they are drilled in, unless a mesh tells its volume.
 * Old metal used in the piece is metal that need not be bought: it comes off what is cast or
 * made, and never off the piece's weight. */

typedef struct alloy_sum {
    const char *alloy;
    const ts_alloy_row *row;
    ts_dec volume_mm3;
    ts_dec made_g;  /* given as weights, or of meshes */
    ts_dec ready_g; /* ready-made */
    int cast_parts, apart;
    const char *of; /* "shank 101.2 mm3, head centre 20.1 mm3" */
    ts_whence whence;
} alloy_sum;

typedef struct metal_work {
    ts_counting *c;
    alloy_sum *sums;
    int count;
    size_t room;
    size_t joint_room, joint_count_room;
} metal_work;

/* A part in metal, as far as its weight goes. */
typedef struct metal_part {
    const ts_part *part;
    ts_field_id alloy_field;
    const char *own_alloy;
    int made;
    int joints; /* where the part says nothing */
    int copies;
} metal_part;

const ts_mesh *ts_count_mesh_of(const ts_counting *c, const ts_part *part)
{
    for (int i = 0; i < c->design->mesh_count; i++) {
        const ts_mesh *mesh = &c->design->mesh[i];
        if (mesh->replaces_all) {
            return mesh;
        }
        for (int k = 0; k < mesh->replaced_count; k++) {
            if (ts_design_part(c->design, mesh->replaced[k]) == part) {
                return mesh;
            }
        }
    }
    return NULL;
}

const char *ts_count_alloy_of(const ts_counting *c, const ts_part *part, const char *own)
{
    const ts_mesh *mesh = ts_design_replaced(c->design, part) ? ts_count_mesh_of(c, part) : NULL;

    return ts_design_alloy(c->design, mesh != NULL ? mesh->alloy : own);
}

/* NULL after a fault: the books do not know the alloy on this day. */
static alloy_sum *sum_of(metal_work *w, const char *alloy, const metal_part *of)
{
    ts_counting *c = w->c;

    if (alloy == NULL) {
        return NULL;
    }
    for (int i = 0; i < w->count; i++) {
        if (ts_text_same(w->sums[i].alloy, alloy)) {
            return &w->sums[i];
        }
    }
    const ts_alloy_row *row = ts_book_alloy(c->book, alloy, c->on);
    if (row == NULL) {
        ts_place at = ts_part_place(c->design, c->arena, of->part, of->alloy_field);
        ts_diag_add(c->diag, TS_FAULT_BOOK_GAP, &at,
                    "alloys.csv has no row in force for the alloy \"%s\"", alloy);
        return NULL;
    }
    w->sums = ts_arena_grow(c->arena, w->sums, (size_t)w->count, &w->room, sizeof *w->sums);
    alloy_sum *sum = &w->sums[w->count++];
    bool is_own = ts_part_line(of->part, of->alloy_field) > 0;
    *sum = (alloy_sum){.alloy = alloy, .row = row, .of = ""};
    sum->whence = !is_own && c->design->ring_count > 0
                      ? ts_whence_of(c, &c->design->ring[0].part, TS_FIELD_RING_ALLOY, NULL)
                      : ts_whence_of(c, of->part, of->alloy_field, NULL);
    return sum;
}

static void mention(const ts_counting *c, alloy_sum *sum, const ts_part *part, ts_dec value,
                    const char *unit)
{
    if (c->is_bare) {
        return;
    }
    sum->of = ts_arena_format(c->arena, "%s%s%s %s %s", sum->of, sum->of[0] == '\0' ? "" : " + ",
                              ts_count_title(c, part), ts_count_text(c, value), unit);
}

/* ---- joints ---- */

static void add_joints(metal_work *w, const char *alloy, int count)
{
    ts_counting *c = w->c;

    c->joints += count;
    for (int i = 0; i < c->joint_alloys; i++) {
        if (ts_text_same(c->joint_of[i], alloy)) {
            c->joint_counts[i] += count;
            return;
        }
    }
    c->joint_of = ts_arena_grow(c->arena, c->joint_of, (size_t)c->joint_alloys, &w->joint_room,
                                sizeof *c->joint_of);
    c->joint_counts = ts_arena_grow(c->arena, c->joint_counts, (size_t)c->joint_alloys,
                                    &w->joint_count_room, sizeof *c->joint_counts);
    c->joint_of[c->joint_alloys] = alloy;
    c->joint_counts[c->joint_alloys++] = count;
}

/* Where the part meets the others: only what is made apart, or is of another metal than the
 * ring, has to be joined. */
static void join(metal_work *w, const metal_part *of, const char *alloy)
{
    const char *ring = ts_design_alloy(w->c->design, NULL);
    bool is_other = ring != NULL && !ts_text_same(ring, alloy);

    if (of->made != TS_MADE_APART && !is_other) {
        return;
    }
    if (of->joints * of->copies > 0) {
        add_joints(w, alloy, of->joints * of->copies);
    }
}

/* ---- parts ---- */

/* Books a part that is cast or made apart: its casting, its joints, its volume. */
static void add_part(metal_work *w, const metal_part *of, ts_dec volume_mm3)
{
    ts_counting *c = w->c;
    const char *alloy = ts_count_alloy_of(c, of->part, of->own_alloy);
    alloy_sum *sum = sum_of(w, alloy, of);

    if (sum == NULL) {
        return;
    }
    if (of->made == TS_MADE_APART) {
        sum->apart += of->copies;
    } else {
        sum->cast_parts++;
    }
    join(w, of, alloy);
    if (!ts_design_replaced(c->design, of->part) && volume_mm3.e6 > 0) {
        sum->volume_mm3 = ts_weigh_sum(c, sum->volume_mm3, volume_mm3);
        mention(c, sum, of->part, volume_mm3, "mm3");
    }
}

/* The part's own joints where it says them. */
static int joints_or(const ts_part *part, ts_field_id field, int joints, int usual)
{
    return ts_part_has(part, field) ? joints : usual;
}

static double shank_net_mm3(const ts_geometry *g)
{
    return fmax(g->shank_mm3 - g->shank_seats_mm3, 0.0);
}

static void add_shank(metal_work *w)
{
    ts_counting *c = w->c;
    const ts_geometry *g = c->geometry;

    if (c->design->shank_count == 0) {
        return;
    }
    const ts_shank *shank = &c->design->shank[0];
    metal_part of = {&shank->part,
                     TS_FIELD_SHANK_ALLOY,
                     shank->alloy,
                     shank->made,
                     joints_or(&shank->part, TS_FIELD_SHANK_JOINTS, shank->joints, 1),
                     1};
    const ts_dec volume_mm3 = ts_weigh_measure(c, shank_net_mm3(g), "the shank's volume");
    add_part(w, &of, volume_mm3);
    if (!ts_design_replaced(c->design, &shank->part)) {
        c->out->shank_mm3 = volume_mm3;
    }
}

ts_dec ts_count_head_mm3(ts_counting *c, int index)
{
    const ts_head_shape *shape = &c->geometry->heads[index];

    return ts_weigh_measure(c, shape->copies * (shape->claws_mm3 + shape->rails_mm3),
                            "a head's volume");
}

ts_dec ts_count_bezel_mm3(ts_counting *c, int index)
{
    const ts_bezel_shape *shape = &c->geometry->bezels[index];

    return ts_weigh_measure(c, shape->copies * shape->volume_mm3, "a bezel's volume");
}

ts_dec ts_count_halo_mm3(ts_counting *c, int index)
{
    const ts_row_shape *shape = &c->geometry->halos[index];

    return ts_weigh_measure(c, shape->copies * shape->metal_mm3, "a halo's volume");
}

static void add_holders(metal_work *w)
{
    ts_counting *c = w->c;
    const ts_design *d = c->design;

    for (int i = 0; i < d->head_count; i++) {
        const ts_head *head = &d->head[i];
        metal_part of = {&head->part,
                         TS_FIELD_HEAD_ALLOY,
                         head->alloy,
                         head->made,
                         joints_or(&head->part, TS_FIELD_HEAD_JOINTS, head->joints, 2),
                         c->geometry->heads[i].copies};
        add_part(w, &of, ts_count_head_mm3(c, i));
    }
    for (int i = 0; i < d->bezel_count; i++) {
        const ts_bezel *bezel = &d->bezel[i];
        metal_part of = {&bezel->part,
                         TS_FIELD_BEZEL_ALLOY,
                         bezel->alloy,
                         bezel->made,
                         joints_or(&bezel->part, TS_FIELD_BEZEL_JOINTS, bezel->joints, 1),
                         c->geometry->bezels[i].copies};
        add_part(w, &of, ts_count_bezel_mm3(c, i));
    }
    for (int i = 0; i < d->halo_count; i++) {
        const ts_halo *halo = &d->halo[i];
        metal_part of = {&halo->part,
                         TS_FIELD_HALO_ALLOY,
                         halo->alloy,
                         halo->made,
                         joints_or(&halo->part, TS_FIELD_HALO_JOINTS, halo->joints, 1),
                         c->geometry->halos[i].copies};
        add_part(w, &of, ts_count_halo_mm3(c, i));
    }
}

/* ---- parts given by volume or weight ---- */

static ts_dec weight_of(ts_counting *c, const ts_metal *metal, const ts_alloy_row *row)
{
    ts_dec weight =
        metal->weight.e6 > 0 ? metal->weight : ts_weigh_grams(c, metal->volume, row->density);

    return ts_weigh_times(c, weight, metal->count);
}

static void add_bought(metal_work *w, const ts_metal *metal, alloy_sum *sum)
{
    ts_counting *c = w->c;
    ts_quantities *out = c->out;

    sum->ready_g = ts_weigh_sum(c, sum->ready_g, weight_of(c, metal, sum->row));
    out->bought = ts_arena_grow(c->arena, out->bought, (size_t)out->bought_count, &c->bought_room,
                                sizeof *out->bought);
    out->bought[out->bought_count++] =
        (ts_bought_need){.item = ts_count_item(c, &metal->part),
                         .alloy = sum->alloy,
                         .count = metal->count,
                         .price = metal->price,
                         .whence = ts_whence_of(c, &metal->part, TS_FIELD_METAL_PRICE, NULL),
                         .count_line = ts_part_line(&metal->part, TS_FIELD_METAL_COUNT)};
}

static void add_metal(metal_work *w, const ts_metal *metal)
{
    ts_counting *c = w->c;
    bool is_bought = ts_part_has(&metal->part, TS_FIELD_METAL_PRICE);
    metal_part of = {&metal->part,
                     TS_FIELD_METAL_ALLOY,
                     metal->alloy,
                     is_bought ? TS_MADE_APART : metal->made,
                     joints_or(&metal->part, TS_FIELD_METAL_JOINTS, metal->joints, 1),
                     metal->count};

    if (!is_bought && metal->weight.e6 == 0) {
        add_part(w, &of, ts_weigh_times(c, metal->volume, metal->count));
        return;
    }
    if (!is_bought) {
        add_part(w, &of, (ts_dec){0});
    }
    const char *alloy = ts_count_alloy_of(c, &metal->part, metal->alloy);
    alloy_sum *sum = sum_of(w, alloy, &of);
    if (sum == NULL || ts_design_replaced(c->design, &metal->part)) {
        return;
    }
    if (is_bought) {
        join(w, &of, alloy);
        add_bought(w, metal, sum);
        return;
    }
    ts_dec weight = weight_of(c, metal, sum->row);
    sum->made_g = ts_weigh_sum(c, sum->made_g, weight);
    mention(c, sum, &metal->part, weight, "g");
}

ts_dec ts_count_mesh_g(ts_counting *c, int index, const ts_alloy_row *row)
{
    ts_dec volume = ts_weigh_measure(c, c->geometry->meshes[index].volume_mm3, "a mesh's volume");

    return c->design->mesh[index].is == TS_SOLID_MODEL
               ? ts_weigh_model(c, volume, row->density, row->finishing_loss)
               : ts_weigh_grams(c, volume, row->density);
}

static void add_mesh(metal_work *w, int index)
{
    ts_counting *c = w->c;
    const ts_mesh *mesh = &c->design->mesh[index];
    metal_part of = {&mesh->part, TS_FIELD_MESH_ALLOY, mesh->alloy, TS_MADE_CAST, 0, 1};
    double volume_mm3 = c->geometry->meshes[index].volume_mm3;

    if (!(volume_mm3 > 0.0)) {
        ts_place at = ts_part_place(c->design, c->arena, &mesh->part, TS_FIELD_MESH_FILE);
        ts_diag_add(c->diag, TS_FAULT_NOT_FOUND, &at,
                    "%s: its file was not read, so nothing is "
                    "known of its metal",
                    ts_count_title(c, &mesh->part));
        return;
    }
    alloy_sum *sum = sum_of(w, ts_design_alloy(c->design, mesh->alloy), &of);
    if (sum == NULL) {
        return;
    }
    bool is_model = mesh->is == TS_SOLID_MODEL;
    ts_dec weight = ts_count_mesh_g(c, index, sum->row);
    sum->made_g = ts_weigh_sum(c, sum->made_g, weight);
    mention(c, sum, &mesh->part, weight, is_model ? "g (finished)" : "g");
    if (sum->cast_parts == 0 && sum->apart == 0) {
        sum->cast_parts = 1;
    }
}

/* ---- what comes of it ---- */

static const char *says_of(const ts_counting *c, const alloy_sum *sum)
{
    if (c->is_bare) {
        return NULL;
    }
    const char *density = ts_count_text(c, sum->row->density);
    if (sum->volume_mm3.e6 == 0) {
        return ts_arena_format(c->arena, "%s (density %s, alloys.csv:%d)", sum->of, density,
                               sum->row->head.line);
    }
    return ts_arena_format(c->arena, "(%s) × density %s (alloys.csv:%d)", sum->of, density,
                           sum->row->head.line);
}

static void put_need(metal_work *w, const alloy_sum *sum)
{
    ts_counting *c = w->c;
    ts_quantities *out = c->out;
    ts_dec finished =
        ts_weigh_sum(c, ts_weigh_grams(c, sum->volume_mm3, sum->row->density), sum->made_g);

    out->metals = ts_arena_grow(c->arena, out->metals, (size_t)out->metal_count, &c->metal_room,
                                sizeof *out->metals);
    ts_metal_need *need = &out->metals[out->metal_count++];
    *need = (ts_metal_need){.alloy = sum->alloy,
                            .row = sum->row,
                            .finished_g = finished,
                            .whole_g = ts_weigh_sum(c, finished, sum->ready_g),
                            .volume_mm3 = sum->volume_mm3,
                            .made_g = sum->made_g,
                            .castings = (sum->cast_parts > 0 ? 1 : 0) + sum->apart,
                            .whence = sum->whence};
    need->whence.says = says_of(c, sum);
}

static ts_metal_need *need_of(const ts_counting *c, const char *alloy)
{
    for (int i = 0; i < c->out->metal_count; i++) {
        if (ts_text_same(c->out->metals[i].alloy, alloy)) {
            return &c->out->metals[i];
        }
    }
    return NULL;
}

static void count_trade_ins(ts_counting *c)
{
    ts_quantities *out = c->out;

    out->trade_ins = TS_ARRAY(c->arena, ts_trade_in_need, (size_t)c->design->trade_in_count + 1);
    for (int i = 0; i < c->design->trade_in_count; i++) {
        const ts_trade_in *old = &c->design->trade_in[i];
        const ts_alloy_row *row = ts_book_alloy(c->book, old->alloy, c->on);
        ts_metal_need *need = old->use == TS_USE_PIECE ? need_of(c, old->alloy) : NULL;
        ts_dec used = {0};
        if (row == NULL) {
            ts_place at = ts_part_place(c->design, c->arena, &old->part, TS_FIELD_TRADE_IN_ALLOY);
            ts_diag_add(c->diag, TS_FAULT_BOOK_GAP, &at,
                        "alloys.csv has no row in force for the alloy \"%s\"", old->alloy);
            continue;
        }
        if (need != NULL) {
            used = old->weight.e6 < need->finished_g.e6 ? old->weight : need->finished_g;
            need->finished_g.e6 -= used.e6;
            if (!c->is_bare) {
                need->whence.says = ts_arena_format(
                    c->arena, "%s, less %s g of %s used in the piece", need->whence.says,
                    ts_count_text(c, used), ts_count_title(c, &old->part));
            }
        }
        out->trade_ins[out->trade_in_count++] = (ts_trade_in_need){
            .item = ts_count_item(c, &old->part),
            .alloy = old->alloy,
            .row = row,
            .weight_g = {old->weight.e6 - used.e6},
            .used_g = used,
            .whence = ts_whence_of(c, &old->part, TS_FIELD_TRADE_IN_WEIGHT, NULL)};
    }
}

void ts_count_metal(ts_counting *c)
{
    metal_work w = {.c = c};

    add_shank(&w);
    add_holders(&w);
    for (int i = 0; i < c->design->metal_count; i++) {
        add_metal(&w, &c->design->metal[i]);
    }
    for (int i = 0; i < c->design->mesh_count; i++) {
        add_mesh(&w, i);
    }
    for (int i = 0; i < w.count; i++) {
        put_need(&w, &w.sums[i]);
    }
    count_trade_ins(c);
}

/* ---- another band ---- */

bool ts_quantities_reband(ts_quantities *needs, const ts_design *design,
                          const ts_geometry *geometry)
{
    ts_metal_need *need = needs->metals; /* the shank is weighed first */
    ts_dec shank_mm3, finished, whole;

    for (int i = 0; i < design->trade_in_count; i++) {
        if (design->trade_in[i].use == TS_USE_PIECE) {
            return false; /* how much of it is used depends on the weight */
        }
    }
    if (needs->shank_mm3.e6 <= 0 || !ts_dec_from_double(&shank_mm3, shank_net_mm3(geometry)) ||
        shank_mm3.e6 <= 0) {
        return false;
    }
    const ts_dec ready_g = {need->whole_g.e6 - need->finished_g.e6};
    const ts_dec volume_mm3 = {need->volume_mm3.e6 + shank_mm3.e6 - needs->shank_mm3.e6};
    if (!ts_weigh_exact(&finished, volume_mm3, need->row->density) ||
        !ts_dec_add(&finished, finished, need->made_g) || !ts_dec_add(&whole, finished, ready_g)) {
        return false;
    }
    needs->shank_mm3 = shank_mm3;
    need->volume_mm3 = volume_mm3;
    need->finished_g = finished;
    need->whole_g = whole;
    return true;
}

#include "geometry/recollect.h"

#include <tallystone/base/slots.h>

/* A key is every number of the parts that a shape depends on, as the design keeps them (by the
 * tables of measures, so a new measure is in the key by itself); behind it lie the shapes as
 * geometry gives them. They are handed out where they lie: what is filled in later for each
 * design (heights over the finger) is written anew each time. */

#define SETTING_BYTES 4096
#define SETTING_SLOTS 256
#define BAND_BYTES 2048
#define BAND_SLOTS 256
#define MOST_SPANS TS_PART_FIELDS

/* Bytes of a part that hold numbers, without gaps. */
typedef struct span {
    size_t offset, bytes;
} span;

typedef struct spans {
    span at[MOST_SPANS];
    int count;
} spans;

struct ts_geometry_memory {
    ts_slots *settings, *bands;
    spans of[TS_PART_COUNT];
};

/* ---- what a key is made of ---- */

static bool is_number(ts_kind kind)
{
    switch (kind) {
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
    case TS_KIND_WORD:
        return true;
    case TS_KIND_AMOUNT: /* what follows is nothing to geometry; species: see put_stones */
    case TS_KIND_SIZE:
    case TS_KIND_NAME:
    case TS_KIND_LINE:
    case TS_KIND_TEXT:
    case TS_KIND_DATE:
    case TS_KIND_CURRENCY:
    case TS_KIND_NONE:
    case TS_KIND_COUNT_OF:
        break;
    }
    return false;
}

static void set_spans(spans *out, ts_part_kind kind)
{
    size_t count = 0;
    const ts_field *fields = ts_part_fields(kind, &count);

    for (size_t i = 0; i < count; i++) {
        const size_t bytes = ts_kind_bytes(fields[i].kind);
        span *last = out->count > 0 ? &out->at[out->count - 1] : NULL;
        if (!is_number(fields[i].kind)) {
            continue;
        }
        if (last != NULL && last->offset + last->bytes == fields[i].offset) {
            last->bytes += bytes;
        } else {
            out->at[out->count++] = (span){fields[i].offset, bytes};
        }
    }
}

static void put_part(ts_slots *s, const spans *of, const ts_part *part)
{
    for (int i = 0; i < of->count; i++) {
        ts_slots_put(s, (const char *)part + of->at[i].offset, of->at[i].bytes);
    }
    ts_slots_put(s, &part->given, sizeof part->given);
}

static void put_ref(ts_slots *s, ts_ref ref)
{
    ts_slots_put_int(s, (int)ref.kind);
    ts_slots_put_int(s, ref.index);
}

static void put_steps(ts_slots *s, const ts_dec *steps, int count)
{
    ts_slots_put_int(s, count);
    ts_slots_put(s, steps, (size_t)count * sizeof *steps);
}

static void put_stones(ts_slots *s, const spans *of, const ts_design *d)
{
    for (int i = 0; i < d->stone_count; i++) {
        const ts_stone *stone = &d->stone[i];
        put_part(s, of, &stone->part);
        ts_slots_put_int(s, stone->copies);
        ts_slots_put_text(s, stone->species);
    }
}

static void put_halos(ts_slots *s, const spans *of, const ts_design *d)
{
    for (int i = 0; i < d->halo_count; i++) {
        const ts_halo *halo = &d->halo[i];
        put_part(s, of, &halo->part);
        put_ref(s, halo->around_ref);
        put_ref(s, halo->under_ref);
        put_ref(s, halo->stone_ref);
        if (halo->stone_diameter.e6 == 0) {
            put_steps(s, halo->fit_mm, halo->fit_count);
        }
    }
}

static void key_of_setting(ts_geometry_memory *memory, const ts_design *d)
{
    ts_slots *s = memory->settings;

    ts_slots_begin(s);
    ts_slots_put_int(s, d->stone_count);
    ts_slots_put_int(s, d->head_count);
    ts_slots_put_int(s, d->bezel_count);
    ts_slots_put_int(s, d->halo_count);
    put_stones(s, &memory->of[TS_PART_STONE], d);
    for (int i = 0; i < d->head_count; i++) {
        put_part(s, &memory->of[TS_PART_HEAD], &d->head[i].part);
        put_ref(s, d->head[i].holds_ref);
    }
    for (int i = 0; i < d->bezel_count; i++) {
        put_part(s, &memory->of[TS_PART_BEZEL], &d->bezel[i].part);
        put_ref(s, d->bezel[i].holds_ref);
    }
    put_halos(s, &memory->of[TS_PART_HALO], d);
}

static void key_of_band(ts_geometry_memory *memory, const ts_measuring *m)
{
    const ts_design *d = m->design;
    const ts_shank *shank = &d->shank[0];
    ts_slots *s = memory->bands;

    ts_slots_begin(s);
    ts_slots_put(s, &m->out->bore_mm, sizeof m->out->bore_mm);
    put_part(s, &memory->of[TS_PART_SHANK], &shank->part);
    ts_slots_put_int(s, shank->station_count);
    for (int i = 0; i < shank->station_count; i++) {
        const ts_station_row *row = &shank->stations[i];
        const int64_t numbers[] = {row->angle.e6, row->width.e6,  row->thickness.e6,
                                   row->profile,  row->has_width, row->has_thickness};
        ts_slots_put(s, numbers, sizeof numbers);
    }
    ts_slots_put_int(s, d->row_count);
    for (int i = 0; i < d->row_count; i++) {
        put_part(s, &memory->of[TS_PART_ROW], &d->row[i].part);
        if (d->row[i].end_diameter.e6 != 0) {
            put_steps(s, d->row[i].fit_mm, d->row[i].fit_count);
        }
    }
}

/* ---- rows ---- */

/* Shapes of rows with their sizes after them. */
static void keep_rows(ts_slots *s, const ts_row_shape *rows, int count)
{
    ts_row_shape *kept = ts_slots_add(s, rows, (size_t)count * sizeof *rows);

    for (int i = 0; kept != NULL && i < count; i++) {
        kept[i].spots = NULL;
        kept[i].sizes =
            ts_slots_add(s, rows[i].sizes, (size_t)rows[i].size_count * sizeof *rows[i].sizes);
    }
}

/* ---- settings ---- */

bool ts_memory_setting(ts_geometry_memory *memory, ts_measuring *m)
{
    const ts_design *d = m->design;
    ts_geometry *g = m->out;

    key_of_setting(memory, d);
    char *at = ts_slots_find(memory->settings);
    if (at == NULL) {
        return false;
    }
    g->stones = ts_slots_next(&at, (size_t)d->stone_count * sizeof *g->stones);
    g->heads = ts_slots_next(&at, (size_t)d->head_count * sizeof *g->heads);
    g->bezels = ts_slots_next(&at, (size_t)d->bezel_count * sizeof *g->bezels);
    g->halos = ts_slots_next(&at, (size_t)d->halo_count * sizeof *g->halos);
    return true;
}

static bool is_whole(const ts_measuring *m)
{
    bool whole = true;

    for (int i = 0; i < m->design->halo_count; i++) {
        whole = whole && m->halo_good[i];
    }
    for (int i = 0; i < m->design->stone_count; i++) {
        whole = whole && m->outlines[i].count > 0;
    }
    return whole;
}

void ts_memory_keep_setting(ts_geometry_memory *memory, const ts_measuring *m)
{
    const ts_design *d = m->design;
    const ts_geometry *g = m->out;
    ts_slots *s = memory->settings;

    if (!is_whole(m)) {
        return;
    }
    ts_slots_keep(s);
    ts_slots_add(s, g->stones, (size_t)d->stone_count * sizeof *g->stones);
    ts_head_shape *heads = ts_slots_add(s, g->heads, (size_t)d->head_count * sizeof *g->heads);
    for (int i = 0; heads != NULL && i < d->head_count; i++) {
        heads[i].claw_spots = NULL;
    }
    ts_slots_add(s, g->bezels, (size_t)d->bezel_count * sizeof *g->bezels);
    keep_rows(s, g->halos, d->halo_count);
}

/* ---- bands ---- */

/* What a band leaves beside its rows. */
typedef struct band_figures {
    double shank_mm3, seats_mm3, top_mm;
} band_figures;

bool ts_memory_band(ts_geometry_memory *memory, ts_measuring *m)
{
    if (m->design->row_count == 0 || m->design->shank_count == 0 || !(m->out->bore_mm > 0.0)) {
        return false; /* a band alone is measured sooner than found */
    }
    key_of_band(memory, m);
    char *at = ts_slots_find(memory->bands);
    if (at == NULL) {
        return false;
    }
    const band_figures *figures = ts_slots_next(&at, sizeof *figures);
    m->has_band = true;
    m->shank_top_mm = figures->top_mm;
    m->out->shank_mm3 = figures->shank_mm3;
    m->out->shank_seats_mm3 = figures->seats_mm3;
    m->out->rows = ts_slots_next(&at, (size_t)m->design->row_count * sizeof *m->out->rows);
    return true;
}

void ts_memory_keep_band(ts_geometry_memory *memory, const ts_measuring *m)
{
    const band_figures figures = {m->out->shank_mm3, m->out->shank_seats_mm3, m->shank_top_mm};
    ts_slots *s = memory->bands;

    if (m->design->row_count == 0 || !m->has_band) {
        return;
    }
    ts_slots_keep(s);
    ts_slots_add(s, &figures, sizeof figures);
    keep_rows(s, m->out->rows, m->design->row_count);
}

/* ---- the whole ---- */

void ts_memory_drop(ts_geometry_memory *memory)
{
    if (memory != NULL) {
        ts_slots_drop(memory->settings);
        ts_slots_drop(memory->bands);
    }
}

ts_geometry_memory *ts_geometry_memory_new(ts_arena *arena)
{
    ts_geometry_memory *memory = TS_NEW(arena, ts_geometry_memory);

    memory->settings = ts_slots_new(arena, SETTING_SLOTS, SETTING_BYTES);
    memory->bands = ts_slots_new(arena, BAND_SLOTS, BAND_BYTES);
    for (int kind = 1; kind < TS_PART_COUNT; kind++) {
        set_spans(&memory->of[kind], (ts_part_kind)kind);
    }
    return memory;
}

ts_geometry_counts ts_geometry_memory_counts(const ts_geometry_memory *memory)
{
    const ts_slots_counts settings = ts_slots_counts_of(memory->settings);
    const ts_slots_counts bands = ts_slots_counts_of(memory->bands);

    return (ts_geometry_counts){settings.asked, settings.found, bands.asked, bands.found};
}

#include "desk/variants.h"

#include <string.h>

/* The N best rows, kept in order as they come: a row is put where it belongs and the last
 * one falls out. Best is the highest margin, the lowest total, the least metal; of equals
 * the one that stands earlier in the table. */

ts_best *ts_best_new(ts_arena *arena, ts_best_by by, size_t most)
{
    ts_best *best = TS_NEW(arena, ts_best);
    best->by = by;
    best->most = most;
    best->arena = arena;
    best->rows = TS_ARRAY(arena, ts_best_row, most + 1);
    return best;
}

static int64_t key_of(const ts_best *best, const ts_variant_row *row)
{
    switch (best->by) {
    case TS_BEST_MARGIN:
        return row->brief.has_margin ? row->brief.margin_pct.e6 : INT64_MIN;
    case TS_BEST_TOTAL:
        return -row->brief.total.minor;
    case TS_BEST_METAL:
        return -row->metal_g.e6;
    case TS_BEST_NONE:
        break;
    }
    return 0;
}

/* True where the row comes before `other`. */
static bool is_before(const ts_best_row *one, const ts_best_row *other)
{
    if (one->key != other->key) {
        return one->key > other->key;
    }
    return one->block != other->block ? one->block < other->block : one->at < other->at;
}

/* The name is copied into the slot's own room, which only grows. */
static void keep_name(ts_best *best, ts_best_row *slot, const char *name)
{
    const size_t needed = strlen(name) + 1;
    if (slot->name_room < needed) {
        slot->name_room = 2 * needed < 64 ? 64 : 2 * needed;
        slot->name = ts_arena_alloc(best->arena, slot->name_room, 1);
    }
    memcpy(slot->name, name, needed);
    slot->row.name = slot->name;
}

void ts_best_offer(ts_best *best, const ts_variant_row *row, uint64_t block, uint64_t at)
{
    ts_best_row fresh = best->rows[best->count]; /* its room for a name */
    size_t place = best->count;
    fresh.row = *row;
    fresh.key = key_of(best, row);
    fresh.block = block;
    fresh.at = at;
    if (place == best->most && (place == 0 || !is_before(&fresh, &best->rows[place - 1]))) {
        return;
    }
    keep_name(best, &fresh, row->name);
    while (place > 0 && is_before(&fresh, &best->rows[place - 1])) {
        best->rows[place] = best->rows[place - 1];
        place--;
    }
    best->rows[place] = fresh;
    best->count += best->count < best->most ? 1 : 0;
}

/* What the counters share while one design is weighed and counted. */
#ifndef TS_QUANTITIES_COUNTING_H
#define TS_QUANTITIES_COUNTING_H

#include <tallystone/base/text.h>
#include <tallystone/quantities/quantities.h>

typedef struct ts_counting {
    ts_quantities *out;
    ts_arena *arena;
    const ts_design *design;
    const ts_geometry *geometry;
    const ts_book *book;
    ts_diag *diag;
    ts_date on; /* the pricing date */
    const char *file;
    bool is_bare;            /* no facts, no cautions, no sentences: figures alone */
    const ts_book *built_in; /* limits.c's, once asked for */
    size_t metal_room, bought_room, melee_room, work_room, caution_room, fact_room;
    int joints;            /* of all parts */
    int claws;             /* formed, of all copies */
    const char **joint_of; /* alloys that are joined, with joint_counts */
    int *joint_counts;
    int joint_alloys;
} ts_counting;

/* --- weigh.c: the one door from double to decimal --- */

/* A measurement rounded once to a millionth; a FIGURE fault and 0 where it is none. */
ts_dec ts_weigh_measure(ts_counting *c, double measure, const char *what);
/* Volume × density in g, the exact product rounded once, half away from zero; false, or a
 * FIGURE fault and 0, where it is too large. */
bool ts_weigh_exact(ts_dec *out, ts_dec volume_mm3, ts_dec density) TS_MUST_USE;
ts_dec ts_weigh_grams(ts_counting *c, ts_dec volume_mm3, ts_dec density);
/* The same of a model that is to be cast: divided by (1 + finishing loss / 100) before the
 * one rounding. */
ts_dec ts_weigh_model(ts_counting *c, ts_dec volume_mm3, ts_dec density, ts_dec loss_pct);
/* count × each, exact; and a sum. A FIGURE fault where they grow past what is held. */
ts_dec ts_weigh_times(ts_counting *c, ts_dec each, int count);
ts_dec ts_weigh_sum(ts_counting *c, ts_dec one, ts_dec other);

/* --- metal.c --- */
void ts_count_metal(ts_counting *c);
/* The alloy a metal part ends up in: that of the mesh which replaces it, else its own or the
 * ring's. */
const char *ts_count_alloy_of(const ts_counting *c, const ts_part *part, const char *own);
/* The volumes of parts as facts report them: all copies, rounded once. */
ts_dec ts_count_head_mm3(ts_counting *c, int index);
ts_dec ts_count_bezel_mm3(ts_counting *c, int index);
ts_dec ts_count_halo_mm3(ts_counting *c, int index);

/* The mesh that replaces a part, or NULL. */
const ts_mesh *ts_count_mesh_of(const ts_counting *c, const ts_part *part);
/* The finished weight of what a mesh models. */
ts_dec ts_count_mesh_g(ts_counting *c, int index, const ts_alloy_row *row);

/* --- estimate.c --- */
/* What the parts that a mesh replaces weigh by their own measurements, in metal of that
 * density (g/cm3); 0 where it replaces none that have any. */
ts_dec ts_count_estimate_g(ts_counting *c, int mesh, ts_dec density);

/* --- lots.c --- */
void ts_count_melee(ts_counting *c);
void ts_count_stones(ts_counting *c);
/* Carats of all stones of a halo or row; 0 where the books hold no step for them. */
ts_dec ts_count_row_carats(ts_counting *c, const char *lot, const ts_row_shape *shape);

/* --- operations.c --- */
void ts_count_operations(ts_counting *c);

/* --- caution.c, harmony.c, limits.c --- */
void ts_count_cautions(ts_counting *c);
void ts_count_harmony(ts_counting *c);
/* The books' limits, or the built-in table where limits.csv is missing. */
const ts_book *ts_limits_of(ts_counting *c);

/* A measurement to be held against a limit. */
typedef struct ts_check {
    ts_caution_for who;
    const char *limit;
    const char *what;      /* the measurement in words; NULL: the limit's own name */
    const char *subject;   /* or NULL */
    const char *region;    /* or NULL */
    const ts_dec *size_mm; /* or NULL */
    const ts_part *part;
    const char *title; /* "head centre" */
    ts_field_id field; /* whose row is shown */
    ts_dec measured;
    const char *defers; /* the last sentence: who decides */
} ts_check;
/* Adds a caution where the measurement lies outside the limit that fits; `least` and `most`
 * are inclusive. */
void ts_caution_check(ts_counting *c, const ts_check *check);
/* Adds a caution as it is; only `sentence` says why. */
void ts_caution_add(ts_counting *c, const ts_caution *caution);
/* True where the value lies below the least or above the most of the row. */
bool ts_limit_broken(const ts_limit_row *row, ts_dec measured);

#define TS_ASK_BENCH "A qualified bench should judge it."

/* --- facts.c --- */
void ts_count_facts(ts_counting *c);

/* --- small ones --- */
ts_whence ts_whence_of(const ts_counting *c, const ts_part *part, ts_field_id field,
                       const char *says);
const char *ts_count_title(const ts_counting *c, const ts_part *part);
/* What papers call a part: its label, else its title. */
const char *ts_count_item(const ts_counting *c, const ts_part *part);
const char *ts_count_text(const ts_counting *c, ts_dec value);
/* The sentence of a whence; NULL where only figures are asked for. */
/* "halo top 18", and two of them with a plus between. */
const char *ts_count_times(const ts_counting *c, const ts_part *part, int count);
const char *ts_count_also(const ts_counting *c, const char *one, const char *other);
const char *ts_count_says(const ts_counting *c, const char *format, ...) TS_PRINTF(2, 3);
const char *ts_count_main_metal(const ts_counting *c, const char *alloy);
/* The diameter of a round (mean of length and width), the width of other shapes. */
ts_dec ts_count_stone_size(ts_counting *c, int index);
/* The stone that the piece is about: held highest, else the first; -1 without stones. */
int ts_count_centre(const ts_counting *c);

#endif

/* What a ring takes: the hinge between measuring and costing. No price is known here.
 *
 * Everything that costing needs stands in this list and in the books: it can be stored
 * and costed again later without the sheet and without geometry. All numbers are exact
 * decimals; the doubles of geometry were rounded once to a millionth on their way in. */
#ifndef TS_QUANTITIES_QUANTITIES_H
#define TS_QUANTITIES_QUANTITIES_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/base/decimal.h>
#include <tallystone/base/diag.h>
#include <tallystone/book/book.h>
#include <tallystone/design/design.h>
#include <tallystone/geometry/geometry.h>
#include <tallystone/words/words.h>

/* Where a quantity comes from: a row of the sheet, or a formula over measured parts. */
typedef struct ts_whence {
    const char *file; /* the sheet's, as the user named it */
    int line;         /* 0: from a formula alone */
    const char *says; /* "volume × density 15.58 (alloys.csv:7)", "count × copies", ... */
} ts_whence;

/* One row of `tallystone quantities`. `part` "shank", `measure` "volume", `unit` "mm3". */
typedef struct ts_fact {
    const char *part, *measure;
    ts_dec value;
    const char *word; /* where the value is a word (status of a limit), else NULL */
    const char *unit;
    ts_whence whence;
} ts_fact;

/* Finished metal of one alloy. */
typedef struct ts_metal_need {
    const char *alloy;
    const ts_alloy_row *row;
    ts_dec finished_g; /* what is cast or made, less old metal used in the piece */
    ts_dec whole_g;    /* the piece's weight of this alloy, ready-made parts included */
    ts_dec volume_mm3; /* of parts weighed by volume; made_g: of those given by weight */
    ts_dec made_g;
    int castings;
    ts_whence whence;
} ts_metal_need;

/* A ready-made part. */
typedef struct ts_bought_need {
    const char *item; /* for papers */
    const char *alloy;
    int count;
    ts_amount price;  /* each */
    ts_whence whence; /* of its price */
    int count_line;   /* 0: one, by default */
} ts_bought_need;

/* Melee of one lot and size step. */
typedef struct ts_melee_need {
    const char *lot;
    const ts_melee_row *step;
    ts_dec diameter_mm;
    int set;
    bool client; /* the client supplies it */
    ts_whence whence;
} ts_melee_need;

/* A feature stone. */
typedef struct ts_stone_need {
    const char *item; /* for papers: label or "stone NAME" */
    const char *name;
    int shape; /* ts_shape */
    const char *species;
    int origin;  /* ts_origin */
    int setting; /* ts_setting */
    const char *colour, *clarity, *treatment, *report, *condition;
    int count; /* all copies */
    ts_dec length_mm, width_mm, depth_mm;
    ts_dec carats; /* each */
    bool weight_stated;
    ts_dec spread_pct; /* of an estimated weight */
    bool client;
    ts_amount price; /* from the sheet; of NONE where `offer` or `melee` prices it */
    const ts_offer_row *offer;
    const ts_melee_row *melee;
    ts_amount declared;                        /* each; of NONE where not said */
    ts_whence whence;                          /* of its weight or size */
    int count_line, price_line, declared_line; /* sheet lines of those; 0: not given */
} ts_stone_need;

/* Labour to be counted. One line each (in setting one a size, in casting one an alloy). */
typedef struct ts_work_need {
    const char *operation;
    bool has_size;
    ts_dec size_mm;
    const char *alloy; /* or NULL */
    const char *main_metal;
    const char *shape; /* of the stone it is done to, or NULL */
    const char *species;
    bool client;
    int count;
    bool has_minutes; /* a `work` row in minutes: they replace the book's */
    ts_dec minutes;
    bool asked; /* from a `work` row */
    ts_whence whence;
} ts_work_need;

typedef struct ts_service_need {
    const char *service;
    int count;
    bool has_amount;
    ts_amount amount; /* what a percentage is taken of instead */
    ts_whence whence;
    int count_line, amount_line; /* 0: not given */
} ts_service_need;

typedef struct ts_trade_in_need {
    const char *item;
    const char *alloy;
    const ts_alloy_row *row;
    ts_dec weight_g; /* credited part: what the piece does not use */
    ts_dec used_g;   /* used in the piece */
    ts_whence whence;
} ts_trade_in_need;

typedef enum ts_caution_for {
    TS_CAUTION_MAKING, /* the owner's: mended or accepted with a reason */
    TS_CAUTION_WEAR,   /* the client's too: wear and care */
} ts_caution_for;

/* A measurement outside what is usual. `sentence` is complete and defers to a qualified
 * bench, assay office or local law. */
typedef struct ts_caution {
    ts_caution_for who;
    const char *limit; /* "claw diameter" */
    const char *part;  /* "head centre" */
    ts_dec measured;
    bool has_least, has_most;
    ts_dec least, most;
    const char *unit;
    const char *source; /* the limit's origin */
    const char *sentence;
    ts_whence whence;
} ts_caution;

/* What was agreed, apart from the piece. */
typedef struct ts_terms {
    const char *reference, *title, *client, *currency;
    int exponent;
    ts_date date, as_of, deliver_by, valid_until; /* valid_until: TS_DATE_NONE: the policy's days */
    const char *region;
    ts_amount discount;  /* of NONE: none */
    const char *pays_by; /* NULL: not said */
    const char *option_name, *option_label;
    const char *alloy;     /* the ring's */
    const char *size_text; /* "US 6.5" or NULL */
    const char *band_text; /* the shank's sections and measures in words, or NULL */
    const char *finish, *inscription;
    const char *sheet_file;
    int discount_line; /* sheet line of the discount, for traces */
} ts_terms;

typedef struct ts_quantities {
    ts_terms terms;
    ts_dec shank_mm3; /* in the first metal's volume; 0: none, or a mesh replaces it */
    ts_metal_need *metals;
    int metal_count;
    ts_bought_need *bought;
    int bought_count;
    ts_melee_need *melee;
    int melee_count;
    ts_stone_need *stones;
    int stone_count;
    ts_work_need *works;
    int work_count;
    ts_service_need *services;
    int service_count;
    ts_trade_in_need *trade_ins;
    int trade_in_count;
    ts_caution *cautions;
    int caution_count;
    ts_fact *facts;
    int fact_count;
    uint64_t stamp; /* 0, or of a list whose metal alone is weighed anew (ts_quantities_reband):
                       lists of one stamp differ in nothing else */
} ts_quantities;

/* Weighs and counts. Needs the books for densities, size steps, offers and limits, not
 * for prices. Melee or offers that the books do not hold are BOOK_GAP faults. */
ts_status ts_quantities_of(ts_quantities **out, ts_arena *arena, const ts_design *design,
                           const ts_geometry *geometry, const ts_book *book,
                           ts_diag *diag) TS_MUST_USE;
/* The same figures without facts, cautions and the sentences of ts_whence (NULL): for a
 * stream of variants. */
ts_status ts_quantities_bare_of(ts_quantities **out, ts_arena *arena, const ts_design *design,
                                const ts_geometry *geometry, const ts_book *book,
                                ts_diag *diag) TS_MUST_USE;
/* The metal alone anew, of bare quantities whose design has another band now (see
 * ts_geometry_reband); the size in words stays what it was. False where anything is to be
 * said: then all is to be counted. */
bool ts_quantities_reband(ts_quantities *needs, const ts_design *design,
                          const ts_geometry *geometry) TS_MUST_USE;

/* The same list on the rows of `book`, which has the same rows as those that it rests on, with
 * other numbers in them (ts_book_changed): no quantity is counted anew. Arena; borrows the rest. */
ts_quantities *ts_quantities_on(ts_arena *arena, const ts_quantities *needs, const ts_book *book);

/* Adds warnings, into `diag`, on the rows of limits.csv in force on a day that no measurement
 * meets (a limit or a subject spelt otherwise, another unit), and on limits without a row. The
 * built-in table warns of nothing. Scratch in `arena`. */
void ts_limits_audit(const ts_book *book, ts_date on, ts_arena *arena, ts_diag *diag);

#endif

/* A design: one commission's measurements, typed, ranged and complete.
 *
 * A sheet is read once into rows; a design is built from them for the sheet itself and
 * for each option, so that an option is the whole sheet with some rows replaced. Numbers
 * stay exact decimals here (mm, deg, g, ct); geometry turns them into doubles. */
#ifndef TS_DESIGN_DESIGN_H
#define TS_DESIGN_DESIGN_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/date.h>
#include <tallystone/base/decimal.h>
#include <tallystone/base/diag.h>
#include <tallystone/book/book.h>
#include <tallystone/words/field.h>
#include <tallystone/words/words.h>

#define TS_PART_FIELDS 32
#define TS_MOST_OPTIONS 20
#define TS_MOST_STATIONS 34
#define TS_MOST_ROW_STONES 5000

typedef enum ts_part_kind {
    TS_PART_NONE,
#define PART(id, word, type, member, naming, says) TS_PART_##id,
#include <tallystone/design/parts.def>
#undef PART
    TS_PART_COUNT
} ts_part_kind;

/* Every measure of every part: TS_FIELD_STONE_LENGTH, TS_FIELD_HEAD_CLAWS, ... */
typedef enum ts_field_id {
#define FIELD(part, id, word, member, kind, list, need, least, most, dflt, says)                   \
    TS_FIELD_##part##_##id,
#include <tallystone/design/fields.def>
#undef FIELD
    TS_FIELD_COUNT
} ts_field_id;

/* A row of the sheet, as far as a fault or a trace needs it. */
typedef struct ts_sheet_row ts_sheet_row;

/* Heads every part. */
typedef struct ts_part {
    ts_part_kind kind;
    const char *name;  /* folded; "" where it goes without */
    const char *label; /* what the client's paper calls it, or NULL */
    uint32_t given;    /* a bit for each measure that the sheet gives (not for defaults) */
    uint32_t bad;      /* a bit for each whose row is at fault: nothing more is said of it */
    const ts_sheet_row *rows[TS_PART_FIELDS]; /* the row of each given measure, else NULL */
    const ts_sheet_row *first;                /* the part's first row; NULL: none */
} ts_part;

/* A part named by another, resolved. */
typedef struct ts_ref {
    ts_part_kind kind; /* TS_PART_NONE: nothing named */
    int index;
} ts_ref;

typedef struct ts_commission {
    ts_part part;
    const char *reference, *title, *client, *currency;
    ts_date date;
    const char *region;
    ts_date deliver_by, valid_until;
    ts_amount discount;
    const char *pays_by;
} ts_commission;

typedef struct ts_ring {
    ts_part part;
    ts_ring_size size;
    const char *alloy;
    ts_dec height_limit;
    int32_t wear;
    const char *finish, *inscription;
} ts_ring;

typedef struct ts_station_row {
    ts_dec angle, width, thickness;
    int32_t profile; /* 0 where this station names none: blended */
    bool has_width, has_thickness;
    const ts_sheet_row *row;
} ts_station_row;

typedef struct ts_shank {
    ts_part part;
    int32_t profile_top, profile_base;
    ts_dec width_top, width_base, thickness_top, thickness_base, wall, open;
    const char *alloy;
    int32_t made, joints;
    ts_station_row stations[TS_MOST_STATIONS]; /* between top and base, in order of angle */
    int station_count;
} ts_shank;

typedef struct ts_stone {
    ts_part part;
    int32_t shape;
    ts_dec length, width, depth, weight, corner;
    int32_t girdle;
    const char *species;
    int32_t origin;
    const char *colour, *clarity, *treatment, *report, *condition;
    int32_t setting, count;
    ts_amount price;
    const char *lot;
    int32_t supplied_by;
    ts_amount declared;
    int32_t out_of;
    const char *beside;
    ts_dec gap;
    int32_t tip;
    ts_dec turn, drop;
    ts_ref beside_ref;
    int copies; /* count, times the copies of what it stands beside (always 1) */
} ts_stone;

typedef struct ts_head {
    ts_part part;
    const char *holds;
    int32_t claws, claw_style;
    ts_dec claw_diameter, tip_diameter;
    int32_t rails;
    ts_dec rail_diameter, culet_clearance;
    int32_t tip_style;
    ts_dec first_claw;
    int32_t shared;
    ts_dec inset;
    const char *alloy;
    int32_t made, joints;
    ts_ref holds_ref;
} ts_head;

typedef struct ts_bezel {
    ts_part part;
    const char *holds;
    ts_dec wall, height;
    const char *alloy;
    int32_t made, joints;
    ts_ref holds_ref;
} ts_bezel;

typedef struct ts_halo {
    ts_part part;
    const char *around;
    int32_t faces;
    ts_dec gap;
    const char *under;
    ts_dec offset, stone_diameter, spacing; /* stone_diameter 0: fit */
    const char *lot;
    int32_t setting;
    ts_dec thickness, rim, inner_rim;
    int32_t multiple, point;
    ts_dec drop;
    const char *alloy;
    int32_t made, joints, supplied_by;
    ts_ref around_ref, under_ref;
    ts_ref stone_ref;     /* the stone at the bottom of the chain of `around` */
    const ts_dec *fit_mm; /* middles of the lot's size steps, ascending, for `fit` */
    int fit_count;
} ts_halo;

typedef struct ts_row {
    ts_part part;
    ts_dec from, to;
    int32_t count;
    ts_dec stone_diameter, spacing;
    const char *lot;
    int32_t setting, shoulders, lines, faces;
    ts_dec end_diameter;
    int32_t supplied_by;
    const ts_dec *fit_mm; /* the lot's steps, for graduated rows */
    int fit_count;
} ts_row;

typedef struct ts_metal {
    ts_part part;
    ts_dec volume, weight;
    int32_t count;
    const char *alloy;
    int32_t made, joints;
    ts_amount price;
} ts_metal;

typedef struct ts_mesh {
    ts_part part;
    const char *file;
    int32_t unit;
    const char *replaces;
    int32_t is;
    const char *alloy;
    bool replaces_all;
    ts_ref replaced[TS_PART_FIELDS];
    int replaced_count;
    const char *bytes; /* the file, read beside the sheet by the desk; NULL until then */
    size_t length;
} ts_mesh;

typedef struct ts_work {
    ts_part part;
    const char *operation;
    int32_t count;
    ts_dec minutes;
} ts_work;

typedef struct ts_service {
    ts_part part;
    const char *service;
    int32_t count;
    ts_amount amount;
} ts_service;

typedef struct ts_trade_in {
    ts_part part;
    const char *alloy;
    ts_dec weight;
    int32_t use;
} ts_trade_in;

typedef struct ts_sheet ts_sheet;

typedef struct ts_design {
    const ts_sheet *sheet;
    int option;               /* 0: the sheet itself */
    const char *option_name;  /* "base" or the option's */
    const char *option_label; /* for the client, or NULL */
    ts_date as_of;            /* the pricing date */
    int exponent;             /* of the commission's currency */
#define PART(id, word, type, member, naming, says)                                                 \
    type *member;                                                                                  \
    int member##_count;
#include <tallystone/design/parts.def>
#undef PART
} ts_design;

/* Reads a sheet's rows and options ("-": standard input). Row faults go to `diag`. On
 * TS_FAULTY `*out` holds the rows that could be understood, so that ts_design_of can find
 * the other faults, or NULL where there are none. The text given to ts_sheet_parse is
 * borrowed as long as the sheet is used. */
ts_status ts_sheet_read(ts_sheet **out, ts_arena *arena, const char *path,
                        ts_diag *diag) TS_MUST_USE;
ts_status ts_sheet_parse(ts_sheet **out, ts_arena *arena, const char *name, const char *text,
                         size_t length, ts_diag *diag) TS_MUST_USE;
const char *ts_sheet_file(const ts_sheet *sheet);
/* The value cell of the sheet's row that begins on a physical line: later rooms know a row
 * by its line alone. The file alone where no row begins there. */
ts_place ts_sheet_place_of_line(const ts_sheet *sheet, ts_arena *arena, int line);
/* Number of options the sheet has beside itself; each has a number from 1. */
int ts_sheet_options(const ts_sheet *sheet);

/* Builds the design of option `option` (0: the sheet itself): every measure typed and
 * ranged, missing ones named, names resolved, rules across measures judged; open words
 * (alloys, lots, regions, operations, services) must be in the books on the pricing date,
 * which is `as_of` or, where that is TS_DATE_NONE, the sheet's date. All faults come out
 * together; those that option 0 had are not said again for an option. TS_FAULTY too for a
 * sheet that had faults when it was read. Where `book` is NULL open words are not looked
 * up and `fit_mm` stays empty. */
ts_status ts_design_of(ts_design **out, ts_arena *arena, const ts_sheet *sheet, int option,
                       const ts_book *book, ts_date as_of, ts_diag *diag) TS_MUST_USE;

/* True where the sheet gives the measure (a default does not count). */
bool ts_part_has(const ts_part *part, ts_field_id field);
/* Place of a measure's row for a fault, at its value cell; where the sheet does not give it,
 * and in the second form, the part's first row at its name. */
ts_place ts_part_place(const ts_design *design, ts_arena *arena, const ts_part *part,
                       ts_field_id field);
ts_place ts_part_place_any(const ts_design *design, ts_arena *arena, const ts_part *part);
/* File line of a measure's row, 0 where a default stands: for traces. */
int ts_part_line(const ts_part *part, ts_field_id field);
/* "halo inner", "shank": how faults and tables name a part. Into the arena. */
const char *ts_part_title(ts_arena *arena, const ts_part *part);
/* The part at a reference; NULL for TS_PART_NONE. */
const ts_part *ts_design_part(const ts_design *design, ts_ref ref);
/* The alloy a metal part is of: its own or the ring's. */
const char *ts_design_alloy(const ts_design *design, const char *own);
/* Is the measured estimate of this part replaced by a mesh? A mesh that replaces `all`
 * stands for every part in metal but those bought ready-made (`metal` with a `price`). */
bool ts_design_replaced(const ts_design *design, const ts_part *part);

/* The tables, for help, starter sheets, variants and tests. */
const char *ts_part_word(ts_part_kind kind);
const char *ts_part_says(ts_part_kind kind);
const ts_field *ts_part_fields(ts_part_kind kind, size_t *count);
/* Position of a field within its part. */
int ts_field_position(ts_field_id field);

/* A complete, commented starter sheet of a kind ("solitaire", "halo", "double halo",
 * "three stone", "eternity band"; also with hyphens) that prices as it stands. NULL for an unknown
 * kind. */
const char *ts_starter_sheet(ts_arena *arena, const char *kind, const char *name, ts_date date);
/* The kinds, for help and suggestions. */
const char *const *ts_starter_kinds(size_t *count);

#endif

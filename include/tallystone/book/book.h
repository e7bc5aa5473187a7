/* The price books: a folder of CSV files, frozen after loading.
 *
 * Every row keeps its file and line, so that any amount can be traced to it. Lookups take
 * the pricing date: of the rows of one key the one in force is that with the latest `from`
 * among those begun and not ended. Borrowed pointers live as long as the book's arena. */
#ifndef TS_BOOK_BOOK_H
#define TS_BOOK_BOOK_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/csvin.h>
#include <tallystone/base/date.h>
#include <tallystone/base/decimal.h>
#include <tallystone/base/diag.h>
#include <tallystone/words/field.h>
#include <tallystone/words/words.h>

typedef enum ts_book_file {
#define BOOK_FILE(id, name, type, member, needed, says) TS_BOOK_##id,
#include <tallystone/book/files.def>
    TS_BOOK_FILE_COUNT
} ts_book_file;

/* What a price takes in at once: tiers of a section, payment stages, taxes of a category. Books
 * with more in force on one day are at fault. */
#define TS_BOOK_MOST_TIERS 32
#define TS_BOOK_MOST_STAGES 24
#define TS_BOOK_MOST_TAXES 16

/* Heads every row. `given` has a bit for each column of the file that was filled, in the
 * order of files.def. In all rows a text left empty is "", a number or a word its default
 * or zero, a date TS_DATE_NONE, a currency NULL. */
typedef struct ts_book_row {
    ts_book_file file;
    int line; /* physical line in the file */
    int row;  /* as a spreadsheet numbers it */
    uint32_t given;
    ts_date from;
    ts_date until;
    const char *note;
} ts_book_row;

typedef struct ts_studio_row {
    ts_book_row head;
    const char *field, *value;
} ts_studio_row;
typedef struct ts_metal_row {
    ts_book_row head;
    int32_t metal; /* ts_metal_kind */
    ts_dec price;
    const char *currency; /* NULL: the studio's, so in every row below */
    int32_t per;          /* ts_per_weight */
} ts_metal_row;
typedef struct ts_rate_row {
    ts_book_row head;
    const char *currency, *in;
    ts_dec rate;
} ts_rate_row;
typedef struct ts_alloy_row {
    ts_book_row head;
    const char *alloy, *name, *colour, *mark;
    ts_dec fineness[TS_METAL_COUNT];                      /* parts per thousand, by ts_metal_kind */
    ts_dec density;                                       /* g/cm3 */
    ts_dec premium;                                       /* studio's currency a gram */
    ts_dec finishing_loss, sprue, recovery, scrap_payout; /* % */
} ts_alloy_row;
typedef struct ts_melee_row {
    ts_book_row head;
    const char *lot, *species;
    const char *spelt; /* the lot as the book writes it: what is read, never what is looked up */
    int32_t shape, origin;
    const char *colour, *clarity;
    ts_dec from_mm, to_mm, carat_each, price_per_ct;
    const char *currency;
} ts_melee_row;
typedef struct ts_offer_row {
    ts_book_row head;
    const char *lot, *species;
    const char *spelt; /* as above */
    int32_t shape, origin;
    const char *colour, *clarity;
    ts_dec from_ct, to_ct, price_per_ct, price_each;
    const char *currency;
} ts_offer_row;
typedef struct ts_labour_row {
    ts_book_row head;
    const char *operation, *craft;
    int32_t applies, per;
    ts_dec setup_minutes, minutes_each, price_each, minimum;
    const char *currency;
    ts_dec from_mm, to_mm;
    const char *metal, *stone;
} ts_labour_row;
typedef struct ts_craft_row {
    ts_book_row head;
    const char *craft;
    ts_dec rate_per_hour;
    int32_t outside; /* ts_yes */
    ts_dec minutes_per_week;
} ts_craft_row;
typedef struct ts_service_row {
    ts_book_row head;
    const char *service, *applies; /* folded; a word of ts_applies or an alloy */
    int32_t basis;
    ts_dec price, minimum;
    const char *currency;
} ts_service_row;
typedef struct ts_tax_row {
    ts_book_row head;
    const char *region, *category;
    ts_dec rate; /* % */
    const char *name;
    int32_t due, trade_in;
} ts_tax_row;
typedef struct ts_account_row {
    ts_book_row head;
    const char *what, *account;
} ts_account_row;
typedef struct ts_limit_row {
    ts_book_row head;
    const char *limit, *subject, *region;
    ts_dec from_mm, to_mm, least, most;
    const char *unit, *source;
} ts_limit_row;
typedef struct ts_policy_row {
    ts_book_row head;
    int32_t rule;        /* ts_rule */
    const char *subject; /* folded, "" where none */
    const char *spelt;   /* the same as the book writes it, for papers */
    ts_dec above;
    ts_amount amount; /* of NONE where `value` is a word or empty */
    const char *word; /* folded: the value of `tiers` and `rounding`, else "" */
    const char *unit;
} ts_policy_row;

/* An array of one file's rows, in file order. */
#define TS_ROWS(type)                                                                              \
    struct {                                                                                       \
        const type *at;                                                                            \
        size_t count;                                                                              \
    }

/* Where the rows of each name stand among those of a file: open addressing. */
typedef struct ts_book_run {
    const char *name;
    size_t first, count; /* 0: nobody's */
} ts_book_run;

typedef struct ts_book_runs {
    ts_book_run *at;
    size_t room; /* a power of two */
} ts_book_runs;

typedef struct ts_book {
    const char *folder;
    const char *currency; /* the studio's, ISO 4217 */
    int exponent;         /* of that currency */
    TS_ROWS(ts_studio_row) studio;
    TS_ROWS(ts_metal_row) metals;
    TS_ROWS(ts_rate_row) rates;
    TS_ROWS(ts_alloy_row) alloys;
    TS_ROWS(ts_melee_row) melee;
    TS_ROWS(ts_offer_row) offers;
    TS_ROWS(ts_labour_row) labour;
    TS_ROWS(ts_craft_row) crafts;
    TS_ROWS(ts_service_row) services;
    TS_ROWS(ts_tax_row) taxes;
    TS_ROWS(ts_account_row) accounts;
    TS_ROWS(ts_limit_row) limits;
    TS_ROWS(ts_policy_row) policy;
    const ts_csv *text[TS_BOOK_FILE_COUNT]; /* for places in faults; NULL: file not there */
    /* Each file's rows by the name they go by (policy: the subject), then by key and first
     * day; for each of them, where the rows of its key end. */
    const ts_book_row *const *by_name[TS_BOOK_FILE_COUNT];
    const size_t *key_end[TS_BOOK_FILE_COUNT];
    ts_book_runs runs[TS_BOOK_FILE_COUNT];
} ts_book;

/* The runs of rows in the order of their names. */
ts_book_runs ts_book_runs_of(ts_arena *arena, const ts_book_row *const *rows, size_t count);

/* Loads the folder: every file read, every row typed and ranged, keys unique, pairs of
 * from and to in order, currencies known, finenesses at most 1000, a required file there.
 * All faults of all files in one run. TS_MISSING where the folder or a file that is needed
 * is not there. *out is NULL unless TS_OK is answered. */
ts_status ts_book_load(const ts_book **out, ts_arena *arena, const char *folder,
                       ts_diag *diag) TS_MUST_USE;

/* One file's text, borrowed as long as the book is used; NULL: it is not there. */
typedef struct ts_book_text {
    const char *text;
    size_t length;
} ts_book_text;
/* The same from texts in memory, one for each ts_book_file; `folder` is shown in faults. */
ts_status ts_book_parse(const ts_book **out, ts_arena *arena, const char *folder,
                        const ts_book_text *texts, ts_diag *diag) TS_MUST_USE;

/* File name, what it is for, and field table of a book file; `count` of its own columns. */
const char *ts_book_file_name(ts_book_file file);
const char *ts_book_file_says(ts_book_file file);
const ts_field *ts_book_fields(ts_book_file file, size_t *count);
/* What help says of a rule of policy.csv: what it does, for which subjects, and what its value
 * may be. Into the arena. */
typedef struct ts_rule_help {
    const char *means, *subject, *value;
} ts_rule_help;
ts_rule_help ts_book_rule_help(ts_arena *arena, ts_rule rule);
/* What is said of a studio: the fields of studio.csv. */
const char *const *ts_book_studio_fields(size_t *count);
/* Place of a row, and of one of its columns, for faults. */
ts_place ts_book_place(const ts_book *book, ts_arena *arena, const ts_book_row *row,
                       const char *column);
/* The row of a file, by the file's name, that stands on a line; NULL where none does. */
const ts_book_row *ts_book_row_on_line(const ts_book *book, const char *file_name, int line);
/* Would loading take the row with another number in a column of numbers, percentages or
 * amounts: its range, and what is judged of the row alone? */
bool ts_book_takes(ts_arena *scratch, const ts_book *book, const ts_book_row *row,
                   const char *column, ts_dec value);
/* The same books with that number there; into the arena, borrows the rest. */
const ts_book *ts_book_changed(ts_arena *arena, const ts_book *book, const ts_book_row *row,
                               const char *column, ts_dec value);
/* True where the column (by its word) of the row was filled. */
bool ts_book_given(const ts_book_row *row, const char *column);
/* The column of a file that says the currency of its amounts. */
const char *ts_book_currency_column(ts_book_file file);
/* True where the row has begun and not ended on the day. */
bool ts_book_in_force(const ts_book_row *row, ts_date on);
/* True where, beside that, no row of the same key that is in force began later. */
bool ts_book_current(const ts_book *book, const ts_book_row *row, ts_date on);
/* All such rows of a file in the order of names and keys, into the arena; their count. */
size_t ts_book_currents(const ts_book_row *const **out, ts_arena *arena, const ts_book *book,
                        ts_book_file file, ts_date on);

/* Lookups: the row in force on a day, or NULL. Names are folded. */
const char *ts_book_studio(const ts_book *book, const char *field, ts_date on);
const ts_studio_row *ts_book_studio_row(const ts_book *book, const char *field, ts_date on);
const ts_metal_row *ts_book_metal(const ts_book *book, ts_metal_kind metal, ts_date on);
/* Is a word of accounts.csv a way of paying? Others are posted to by themselves. */
bool ts_book_is_way(const ts_book *book, const char *what);
const ts_alloy_row *ts_book_alloy(const ts_book *book, const char *alloy, ts_date on);
const ts_craft_row *ts_book_craft(const ts_book *book, const char *craft, ts_date on);
const ts_melee_row *ts_book_melee(const ts_book *book, const char *lot, ts_dec size_mm, ts_date on);
const ts_offer_row *ts_book_offer(const ts_book *book, const char *lot, ts_dec carats, ts_date on);
/* A lot's size steps in force, in order of size, into the arena. */
size_t ts_book_melee_steps(const ts_melee_row *const **out, ts_arena *arena, const ts_book *book,
                           const char *lot, ts_date on);
/* Is there any row, whenever in force, of such a name? For "nearest" in faults. */
bool ts_book_has_alloy(const ts_book *book, const char *alloy);
/* Distinct names of one file's key, for suggestions; count. */
size_t ts_book_names(const char *const **out, ts_arena *arena, const ts_book *book,
                     ts_book_file file);

/* The rate that turns `from` into `to`: the row in force, or the inverse row. `inverse`
 * says that 1/rate is meant. NULL where neither is there. */
const ts_rate_row *ts_book_rate(const ts_book *book, const char *from, const char *to, ts_date on,
                                bool *inverse);

/* What a labour row is asked for: the operation and what narrows it. */
typedef struct ts_labour_key {
    const char *operation;
    bool has_size;
    ts_dec size_mm;
    const char *alloy;      /* or NULL */
    const char *main_metal; /* of the alloy, or NULL */
    const char *shape;      /* or NULL */
    const char *species;    /* or NULL */
    bool client;            /* a client's stone */
} ts_labour_key;
/* The row with most narrowing columns that fit, then the narrower size. NULL where none
 * fits; `tie` is set to the second row where two fit equally well. */
const ts_labour_row *ts_book_labour(const ts_book *book, const ts_labour_key *key, ts_date on,
                                    const ts_labour_row **tie);
/* A service by name; of several rows in force of one name the first in file order. */
const ts_service_row *ts_book_service(const ts_book *book, const char *service, ts_date on);
/* A policy row by rule and subject, no tiers; NULL where none. */
const ts_policy_row *ts_book_policy(const ts_book *book, ts_rule rule, const char *subject,
                                    ts_date on);
/* The narrowest limit that fits; NULL where none. NULL or "" subject and region are
 * matched by rows without one. `size_mm` may be NULL. */
const ts_limit_row *ts_book_limit(const ts_book *book, const char *limit, const char *subject,
                                  const char *region, const ts_dec *size_mm, ts_date on);
/* The metal an alloy is sold as: platinum or palladium from 500 parts per thousand, gold
 * from 333 (nine karat white gold holds more silver than gold), else what it holds most
 * of. TS_METAL_NONE where the row names no metal. */
ts_metal_kind ts_alloy_main(const ts_alloy_row *alloy);

#endif

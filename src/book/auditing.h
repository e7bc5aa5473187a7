/* The parts of the audit. */
#ifndef TS_BOOK_AUDITING_H
#define TS_BOOK_AUDITING_H

#include <tallystone/book/audit.h>

typedef struct ts_auditing {
    const ts_book *book;
    ts_date on;
    ts_arena *arena;
    ts_diag *diag;
} ts_auditing;

/* Adds a warning at a row's column (NULL: the row). */
void ts_audit_add(const ts_auditing *a, ts_fault code, const ts_book_row *row, const char *column,
                  const char *sentence);
/* Metals and rates: their age, their jumps; alloys: their density. */
void ts_audit_metals(const ts_auditing *a);
/* Melee: age, gaps and weights of the steps in force. */
void ts_audit_melee(const ts_auditing *a);
/* Stones on offer: gaps between the steps in force. */
void ts_audit_offers(const ts_auditing *a);
/* Sizes or weights left out where `next`, the step above `before` (NULL: there is none), begins
 * over its end. */
void ts_audit_gap(const ts_auditing *a, const ts_book_row *before, const ts_book_row *next);
/* Labour: gaps between the steps in force. */
void ts_audit_labour_steps(const ts_auditing *a);
/* Is an operation counted by the size of a stone, or done to one at all? */
bool ts_audit_has_size(const char *operation);
bool ts_audit_has_stone(const char *operation);
/* Labour: operations that geometry counts and no row prices; rows of them that are counted or
 * narrowed otherwise than geometry does. */
void ts_audit_counted(const ts_auditing *a);
/* Labour: rows that fit equally well, and rows that narrower ones always hide. */
void ts_audit_ties(const ts_auditing *a);
/* Policy: a floor that no rule reaches, less kept later than before. */
void ts_audit_terms(const ts_auditing *a);
/* Whole tiers under which a price can fall; tiers that are none. */
void ts_audit_tiers(const ts_auditing *a);
/* Policy: what every price needs and it lacks; amounts that are more than usual, that nobody can
 * pay, or that nothing comes of. */
void ts_audit_policy(const ts_auditing *a);
/* Names of the books that no pricing rule in force answers for. */
void ts_audit_rules(const ts_auditing *a);
/* Currencies of prices in force that no rate turns into the studio's. */
void ts_audit_currencies(const ts_auditing *a);

/* What rows in force need of other files: crafts their hour, alloys their metals' prices (and
 * marks that they bear out), regions a tax for all that is sold, the journal its accounts. */
void ts_audit_crafts(const ts_auditing *a);
void ts_audit_alloys(const ts_auditing *a);
void ts_audit_regions(const ts_auditing *a);
void ts_audit_accounts(const ts_auditing *a);
/* Services that nothing calls for, or that a piece bears twice. */
void ts_audit_services(const ts_auditing *a);

/* Prices far from the row or the step before, or of nothing; lots of several stones. */
void ts_audit_leaps(const ts_auditing *a);
/* limits.csv: gaps between the sizes of one limit, regions that no tax knows. */
void ts_audit_limits(const ts_auditing *a);

/* ---- names ---- */

#define TS_MOST_NAMES 8

/* Groups of words that a name may be one of. */
typedef struct ts_names {
    const char *const *words[TS_MOST_NAMES];
    size_t counts[TS_MOST_NAMES];
    bool sorted[TS_MOST_NAMES]; /* by strcmp: names of the books, which are folded */
    size_t count;
} ts_names;

void ts_names_words(ts_names *n, const char *const *words, size_t count, bool sorted);
void ts_names_list(ts_names *n, ts_list list);
void ts_names_file(ts_names *n, const ts_auditing *a, ts_book_file file);
/* Sorts names and leaves each once; how many are left. */
size_t ts_names_distinct(const char **names, size_t count);
bool ts_names_has(const ts_names *n, const char *name);
/* Warns of a name that nothing answers to, with the nearest that something does. */
void ts_audit_name(const ts_auditing *a, const ts_names *n, const ts_book_row *row,
                   const char *column, const char *name, const char *what);

#endif

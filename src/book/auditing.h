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
/* Policy: a floor that no rule reaches, less kept later than before. */
void ts_audit_terms(const ts_auditing *a);
/* Names of the books that no pricing rule in force answers for. */
void ts_audit_rules(const ts_auditing *a);
/* Currencies of prices in force that no rate turns into the studio's. */
void ts_audit_currencies(const ts_auditing *a);

#endif

/* An issued quote as an OASIS UBL 2.1 Quotation (ISO/IEC 19845).
 *
 * It holds what the client's paper holds and in the detail that the studio chose for it; never
 * a cost, a margin, a lot or an overhead. The piece is one line; what it consists of are its
 * sub-lines, each other option, complete with its own tax, is an alternative of it. Discount,
 * fee, least price and rounding are one allowance or charge a set of tax rates: of the document
 * for the piece as described, of the line for an alternative. Old metal that is taken in is
 * prepaid. A Quotation knows no terms of payment: the stages stand in the transaction conditions,
 * and like all else that the paper says in words, in notes. */
#ifndef TS_PAPERS_QUOTATION_H
#define TS_PAPERS_QUOTATION_H

#include <stdio.h>

#include <tallystone/papers/workbook.h>

/* Errors of the stream stay in the stream. TS_OVERFLOW with a sentence where an amount left
 * the range of exact arithmetic. The same input gives the same bytes. */
ts_status ts_quotation_write(FILE *to, ts_arena *arena, const ts_commission_paper *paper,
                             ts_diag *diag) TS_MUST_USE;

#endif

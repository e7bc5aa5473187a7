/* What loading judges beyond single cells. `faulty` has a mark for each file that already
 * has faults: what would only follow from them is not said again. */
#ifndef TS_BOOK_JUDGE_H
#define TS_BOOK_JUDGE_H

#include <stdbool.h>

#include <tallystone/book/book.h>

typedef struct ts_judging {
    const ts_book *book;
    const bool *faulty; /* by ts_book_file */
    ts_arena *arena;
    ts_diag *diag;
} ts_judging;

/* Keys, intervals, what excludes what, and names that must be there. */
void ts_book_judge(const ts_judging *j);
/* The studio's own rows, before anything else; answers its currency, NULL where none. */
const char *ts_book_judge_studio(const ts_judging *j);
/* Size steps of one lot, or weights of one, that overlap on some day. */
void ts_book_judge_steps(const ts_judging *j);
/* The number in any cell of a row against the row's others: an alloy's finenesses, what a rule
 * of policy.csv may be. Nothing is said of files where no number is judged so. */
void ts_book_judge_row(const ts_judging *j, const ts_book_row *row);
/* One rule of policy.csv by itself. */
void ts_book_judge_rule(const ts_judging *j, const ts_policy_row *row);
/* Rules of policy.csv, row by row, then together. */
void ts_book_judge_policy(const ts_judging *j);
/* Its rows together, where each by itself is good: contradictions, payment stages. */
void ts_book_judge_policy_days(const ts_judging *j);

/* More tiers, stages or taxes at once than a price takes in. */
void ts_book_judge_crowds(const ts_judging *j);

/* Adds a fault at a row's column (NULL: the row) unless the text is empty; the sentence
 * is made with ts_arena_format. */
void ts_book_fault(const ts_judging *j, ts_fault code, const ts_book_row *row, const char *column,
                   const char *sentence);

#endif

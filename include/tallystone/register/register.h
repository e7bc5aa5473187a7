/* The register: what was promised, to whom, on which prices, and what happened since.
 *
 * One SQLite file. What is issued is never altered: a revision is a new quote, a mistake is
 * answered by a void, and each event carries the digest of the one before. */
#ifndef TS_REGISTER_REGISTER_H
#define TS_REGISTER_REGISTER_H

#include <stdbool.h>
#include <stdint.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/diag.h>
#include <tallystone/base/status.h>
#include <tallystone/book/book.h>
#include <tallystone/costing/costing.h>
#include <tallystone/quantities/quantities.h>
#include <tallystone/register/life.h>

typedef struct ts_register ts_register;

typedef enum ts_register_use {
    TS_REGISTER_READ,
    TS_REGISTER_WRITE,
    TS_REGISTER_MAKE, /* `issue` alone: makes the file where there is none */
} ts_register_use;

/* Opens the file and begins a transaction; a file of an older version is read as it is, and
 * migrated before it is written, after a copy FILE.before-vN was left beside it; to write, it holds
 * the file until the end. Waits at most ten seconds for another program. TS_MISSING where there is
 * no register, TS_BUSY, TS_FAULTY (damaged, of a newer version, of another program, a planted
 * object), TS_CANNOT_CREATE, TS_IO; the sentence stands in `diag`. */
ts_status ts_register_open(ts_register **out, ts_arena *arena, const char *path,
                           ts_register_use use, ts_diag *diag) TS_MUST_USE;
/* Ends the transaction: what was written is on the disk when TS_OK comes back. */
ts_status ts_register_commit(ts_register *reg) TS_MUST_USE;
/* Closes; without a commit before, nothing was changed. Accepts NULL. */
void ts_register_close(ts_register *reg);
ts_status ts_register_status(const ts_register *reg);

/* --- issuing --- */

/* A file that a quote was worked out from, or a paper of it. */
typedef struct ts_kept_file {
    const char *role; /* "sheet", "book", "studio" (logo, terms), "mesh" */
    const char *name;
    const char *bytes; /* NULL for a paper */
    size_t length;
    const char *hash; /* of a paper; else worked out here */
} ts_kept_file;

typedef struct ts_issue {
    const ts_costing *const *options; /* [0] is the sheet itself */
    int option_count;
    const char *file_name; /* the reference as a file name */
    const char *sheet;     /* the sheet as the user named it */
    const char *program;   /* version that wrote the papers */
    const ts_kept_file *files;
    size_t file_count;
    const ts_kept_file *papers;
    size_t paper_count;
    ts_date day;
    const char *reason;
    const char *who;
    bool is_revision;
} ts_issue;

/* Which revision an issue would be: 1, or for a revision one more than the newest.
 * TS_REFUSED with the sentence where the reference's state does not let it. */
ts_status ts_register_next_revision(int *revision, ts_register *reg, const char *reference,
                                    const char *file_name, bool is_revision,
                                    ts_date day) TS_MUST_USE;
/* Writes a quote whole, with its event. Nothing is on the disk before the commit. */
ts_status ts_register_issue(ts_register *reg, const ts_issue *issue) TS_MUST_USE;

/* --- events --- */

/* Everything about a reference, its events played. `life->count` is 0 where it is unknown. */
ts_status ts_register_life(ts_life *life, ts_register *reg, const char *reference) TS_MUST_USE;
/* The reference and revision that REF ("HALO-1", "HALO-1-r2") names; revision 0 where it names
 * none. TS_FAULTY with the nearest reference where there is no such quote. */
ts_status ts_register_find(ts_life *life, int *revision, ts_register *reg,
                           const char *ref) TS_MUST_USE;
/* The reference of an event; TS_FAULTY where there is no event of that number. */
ts_status ts_register_find_event(ts_event *event, ts_register *reg, int64_t id) TS_MUST_USE;
/* Adds an event after judging whether it may follow (TS_REFUSED). Fills its number and
 * hashes. `life` is of its reference and is played anew. */
ts_status ts_register_add(ts_register *reg, ts_life *life, ts_event *event) TS_MUST_USE;
/* An earlier payment that this one may be by mistake: the same receipt, or without one the same
 * reference, amount, day and way. 0 where there is none. */
int64_t ts_register_twin(ts_register *reg, const ts_event *event);

/* --- reading --- */

/* Every reference, in the order of issue. */
size_t ts_register_references(const char *const **out, ts_register *reg);
/* Quantities of one option, as stored; book rows not yet found (ts_needs_bind's work is done by
 * ts_register_cost). */
ts_status ts_register_quantities(ts_quantities **out, ts_register *reg, int64_t quote,
                                 int option) TS_MUST_USE;
/* Costs stored quantities by the books as they stand on a day. */
ts_status ts_register_cost(ts_costing **out, ts_arena *arena, ts_quantities *needs,
                           const ts_book *book, ts_date on, ts_diag *diag) TS_MUST_USE;
/* Files kept with a quote, by role and name; papers with their digests. */
ts_status ts_register_files(const ts_kept_file **out, size_t *count, ts_register *reg,
                            int64_t quote) TS_MUST_USE;
size_t ts_register_papers(const ts_kept_file **out, ts_register *reg, int64_t quote);

/* A row of taxes.csv that the quote was taxed by and that the books hold no more as it was,
 * as "sales tax 7.25 %"; NULL where all stand. */
const char *ts_register_tax_moved(ts_register *reg, int64_t quote, int option, const ts_book *book,
                                  ts_date on);
/* Says (RESTS_MOVED warnings) which rows that a new quote rests on have other values on `on`
 * than on its pricing date, or end before it does. */
void ts_register_say_moved(ts_arena *arena, const ts_costing *costing, ts_date on, ts_diag *diag);

/* --- periods --- */

/* First and last day of a stretch of days, both in it. */
typedef struct ts_period {
    ts_date from, to;
} ts_period;

/* References to which something happened in the period, in the order of issue. */
size_t ts_register_touched(const char *const **out, ts_register *reg, ts_period period);
/* Digest of the last event that is dated until a day; zeros where there is none. */
const char *ts_register_head_on(ts_register *reg, ts_date day);

/* A priced line of an option, without what it cost. */
typedef struct ts_kept_line {
    int number; /* from 1 */
    const char *section, *item, *key;
    bool has_quantity; /* false where the quantity is a cost */
    ts_dec quantity;
    const char *unit;
    ts_money price;
} ts_kept_line;
ts_status ts_register_lines(const ts_kept_line **out, size_t *count, ts_register *reg,
                            int64_t quote, int option) TS_MUST_USE;

/* Names of the stages in which a quote is paid, in order. */
ts_status ts_register_stages(const char *const **out, size_t *count, ts_register *reg,
                             int64_t quote) TS_MUST_USE;

/* TS_REFUSED with the sentence where the day lies in a closed period. */
ts_status ts_register_judge_day(ts_register *reg, ts_date day) TS_MUST_USE;
/* Is this very period closed already? */
bool ts_register_is_closed(ts_register *reg, ts_period period);
/* Closes it: an event dated in it is refused from now on, by the file itself too. Nothing
 * is on the disk before the commit. */
ts_status ts_register_close_period(ts_register *reg, ts_period period, const char *who) TS_MUST_USE;

/* --- looking after --- */

/* Checks SQLite's integrity, the chain of events, the digest of each quote and file, that
 * each life could be lived, that columns add up. TS_FAULTY with the first that differs. */
ts_status ts_register_verify(size_t *events, size_t *quotes, ts_register *reg) TS_MUST_USE;
/* Digest of the last event: the head of the chain. Zeros where there is none. */
const char *ts_register_head(ts_register *reg);
/* A whole copy into a staged file, verified. */
ts_status ts_register_backup(ts_register *reg, const char *path) TS_MUST_USE;

/* How `reprice` ended last. */
typedef struct ts_ran {
    const char *ended; /* UTC; NULL: it never ran */
    const char *day, *books, *said;
    int status;
} ts_ran;
ts_ran ts_register_ran(ts_register *reg);
void ts_register_set_ran(ts_register *reg, const ts_ran *ran);

#endif

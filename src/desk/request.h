/* What the command line asked for, and where to say things. */
#ifndef TS_DESK_REQUEST_H
#define TS_DESK_REQUEST_H

#include <stdbool.h>
#include <stdio.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/csvlines.h>
#include <tallystone/base/date.h>
#include <tallystone/base/diag.h>
#include <tallystone/base/file.h>
#include <tallystone/papers/picture.h>
#include <tallystone/papers/table.h>

/* What makes a variant better than another: a higher margin, a lower total, less metal. */
typedef enum ts_best_by { TS_BEST_NONE, TS_BEST_MARGIN, TS_BEST_TOTAL, TS_BEST_METAL } ts_best_by;

/* What commands about the register take. NULL, false or TS_DATE_NONE where not given. */
typedef struct ts_event_ask {
    const char *register_file; /* --register */
    ts_date on;                /* --on */
    const char *reason;        /* --reason */
    const char *by, *stage, *receipt, *keep;
    const char *backup, *reproduce;
    bool dry_run, again, verify, status;
    bool quiet, exit_code; /* reprice */
    ts_date from, to;      /* export */
    bool replace, close;
} ts_event_ask;

/* A studio's logo as it was read last, so that an errand over many sheets reads it once. */
typedef struct ts_logo {
    ts_arena *arena;   /* outlives the commissions */
    const char *bytes; /* of its file; NULL: none was read */
    size_t length;
    ts_picture picture;
} ts_logo;

/* Everything borrowed; `arena` lives for the whole run. */
typedef struct ts_request {
    const char *const *operands;
    int operand_count;
    const char *books;  /* --books */
    const char *out;    /* --out, or NULL */
    const char *like;   /* --like, or NULL */
    const char *option; /* --option, or NULL */
    const char *table;  /* --table, or NULL */
    ts_date as_of;      /* --as-of, or TS_DATE_NONE */
    bool csv;           /* --csv */
    ts_shard shard;     /* --shard, or 1 of 1 */
    int jobs;           /* --jobs, or 1 */
    int best;           /* --best, or 0 */
    ts_best_by best_by; /* --by */

    ts_event_ask event;
    const char *who;     /* who runs the program, for the register */
    const char *program; /* its version */

    ts_logo *logo; /* NULL: it is read for each paper */

    FILE *result; /* what was asked for */
    FILE *said;   /* everything else */
    ts_screen screen;
    bool progress; /* `said` is a terminal */

    ts_arena *arena;
    ts_diag *diag;
    ts_outbox **outbox; /* where an errand keeps what it stages, for a clean end without memory */
    ts_no_memory_fn *no_memory;
    void *no_memory_ctx;
} ts_request;

/* One errand a command. Faults stand in the request's diag; the caller prints them. */
typedef ts_status ts_errand_fn(const ts_request *request);

ts_errand_fn ts_errand_new;
ts_errand_fn ts_errand_check;
ts_errand_fn ts_errand_quantities;
ts_errand_fn ts_errand_price;
ts_errand_fn ts_errand_why;
ts_errand_fn ts_errand_draw;
ts_errand_fn ts_errand_issue;
ts_errand_fn ts_errand_revise;
ts_errand_fn ts_errand_accept;
ts_errand_fn ts_errand_decline;
ts_errand_fn ts_errand_paid;
ts_errand_fn ts_errand_refund;
ts_errand_fn ts_errand_credit;
ts_errand_fn ts_errand_bought;
ts_errand_fn ts_errand_deliver;
ts_errand_fn ts_errand_cancel;
ts_errand_fn ts_errand_void;
ts_errand_fn ts_errand_register;
ts_errand_fn ts_errand_reprice;
ts_errand_fn ts_errand_export;
ts_errand_fn ts_errand_variants;
ts_errand_fn ts_errand_order;

#endif

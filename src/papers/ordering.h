/* Sums over commissions, while the tables of an order are made. */
#ifndef TS_PAPERS_ORDERING_H
#define TS_PAPERS_ORDERING_H

#include <tallystone/papers/order.h>

/* Sums go on after an overflow; `is_past` keeps that there was one. */
typedef struct ts_ordering {
    ts_arena *arena;
    const ts_costing *const *commissions;
    int count;
    ts_date from;  /* the latest commission's date */
    ts_date as_of; /* the latest day that rows were picked for */
    bool is_past;
} ts_ordering;

ts_table *ts_order_stones(ts_ordering *o);  /* orderstones.c */
ts_table *ts_order_casting(ts_ordering *o); /* ordercasting.c */
ts_table *ts_order_bench(ts_ordering *o);   /* orderbench.c */

/* --- what they share: ordertable.c --- */
const ts_terms *ts_order_terms(const ts_ordering *o, int commission);
ts_dec ts_order_sum(ts_ordering *o, ts_dec a, ts_dec b);
ts_dec ts_order_times(ts_ordering *o, ts_dec each, int64_t count);
/* a × percent / 100, six decimals, in the commission's mode. */
ts_dec ts_order_percent(ts_ordering *o, int commission, ts_dec a, ts_dec percent);
ts_cell ts_order_count(int64_t count);

/* Whose a row is: "DEMO-HALO 19, DEMO-BAND 31". Amounts of one commission are added while
 * they come one after another. */
typedef struct ts_order_whose {
    const char *before; /* the commissions before this one; NULL: none */
    int commission;     /* from 1; 0: nobody's yet */
    ts_dec amount;
} ts_order_whose;

void ts_order_whose_add(ts_ordering *o, ts_order_whose *whose, int commission, ts_dec amount,
                        const char *unit);
const char *ts_order_whose_text(ts_ordering *o, const ts_order_whose *whose, const char *unit);

#endif

/* What counting asks of a memory of labour and melee. */
#ifndef TS_QUANTITIES_RECUR_PRIVATE_H
#define TS_QUANTITIES_RECUR_PRIVATE_H

#include <tallystone/quantities/recurring.h>

#include "quantities/counting.h"

const ts_book *ts_recurring_book(const ts_recurring *recurring);
/* Puts melee and works into c->out where they are known; metals have been counted. */
bool ts_recurring_find(ts_recurring *recurring, ts_counting *c);
/* Keeps those of a design that had no fault, after ts_recurring_find answered false. */
void ts_recurring_keep(ts_recurring *recurring, const ts_counting *c);

#endif

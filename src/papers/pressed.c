#include "papers/press.h"

/* The side of the door that lies in the shared object. */

__attribute__((visibility("default"))) const ts_press ts_press_here = {
    .mark = TS_PRESS_MARK,
    .quote = ts_quote_write,
    .margin = ts_margin_write,
    .order = ts_order_write,
    .best = ts_best_write,
    .quotation = ts_quotation_write,
    .picture = ts_picture_read,
    .paint = ts_paint,
};

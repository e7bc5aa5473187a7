#include "desk/promised.h"

#include <tallystone/base/text.h>

#include <string.h>
#include <sys/stat.h>

/* Why this file exists: what is bought for an accepted piece is what was promised, not what
 * its sheet or its books have become since. */

bool ts_promised_is(const char *word)
{
    struct stat about;
    const char *dot = strrchr(word, '.');
    return strcmp(word, "-") != 0 && strchr(word, '/') == NULL &&
           !(dot != NULL && ts_text_same(dot, ".csv")) && stat(word, &about) != 0;
}

static ts_quote *newest_open(const ts_life *life)
{
    for (int i = life->count - 1; i >= 0; i--) {
        if (life->quotes[i].state == TS_STATE_OPEN) {
            return &life->quotes[i];
        }
    }
    return NULL;
}

/* The quote to order for: it must be open or accepted. */
static ts_status choose_quote(ts_quote **out, const ts_request *request, ts_register *reg,
                              const char *word)
{
    ts_life *life = TS_NEW(request->arena, ts_life);
    int revision = 0;
    const ts_status status = ts_register_find(life, &revision, reg, word);
    if (status != TS_OK) {
        return status;
    }
    ts_quote *bound = ts_life_binding(life);
    ts_quote *open = newest_open(life);
    ts_quote *quote = revision > 0 ? &life->quotes[revision - 1]
                      : bound != NULL && bound->state == TS_STATE_ACCEPTED ? bound
                      : open != NULL                                       ? open
                                                                           : ts_life_newest(life);
    if (quote->state != TS_STATE_ACCEPTED && quote->state != TS_STATE_OPEN) {
        ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL,
                    "%s-r%d is %s: an order is made for quotes that are accepted or open",
                    quote->reference, quote->revision, ts_state_word(quote->state));
        return TS_REFUSED;
    }
    if (quote->state == TS_STATE_OPEN) {
        fprintf(request->said, "%s-r%d is open: not accepted yet\n", quote->reference,
                quote->revision);
    }
    *out = quote;
    return TS_OK;
}

static ts_status choose_option(int *out, const ts_request *request, const ts_quote *quote)
{
    const char *names = "";
    *out = quote->state == TS_STATE_ACCEPTED ? quote->option : 0;
    if (request->option == NULL) {
        return TS_OK;
    }
    for (int i = 0; i < quote->option_count; i++) {
        if (ts_text_same(quote->options[i].name, request->option)) {
            *out = i;
            return TS_OK;
        }
        names = ts_text_joined(request->arena, names, ", ", quote->options[i].name);
    }
    ts_diag_add(request->diag, TS_FAULT_REFUSED, NULL, "%s-r%d has no option \"%s\"; it has %s",
                quote->reference, quote->revision,
                ts_text_show(request->arena, request->option, 60), names);
    return TS_FAULTY;
}

ts_status ts_promised_of(ts_costing **out, const ts_request *request, ts_register *reg,
                         const ts_book *book, const char *word)
{
    ts_quote *quote = NULL;
    ts_quantities *needs = NULL;
    int option = 0;
    ts_status status = choose_quote(&quote, request, reg, word);
    if (status == TS_OK) {
        status = choose_option(&option, request, quote);
    }
    if (status == TS_OK) {
        status = ts_register_quantities(&needs, reg, quote->id, option);
    }
    if (status == TS_OK) {
        const ts_date on = ts_date_given(request->as_of) ? request->as_of : quote->as_of;
        status = ts_register_cost(out, request->arena, needs, book, on, request->diag);
    }
    return status;
}

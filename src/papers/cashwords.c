#include <tallystone/papers/cash.h>

#include <tallystone/base/text.h>
#include <tallystone/costing/insight.h>

/* What is bought before it is paid, in one sentence: the terminal and the owner's papers say
 * it alike. It lies outside the press, for the terminal needs none. */

/* "before casting 812.50 is bought and 1469.57 paid" */
static const char *stage_words(ts_arena *arena, const ts_cash *cash, int exponent)
{
    char bought[TS_DECIMAL_TEXT], paid[TS_DECIMAL_TEXT];
    return ts_arena_format(
        arena, "before %s %s is bought and %s paid", ts_text_show(arena, cash->stage, 60),
        ts_money_text(bought, cash->bought, exponent), ts_money_text(paid, cash->paid, exponent));
}

const char *ts_cash_words(ts_arena *arena, const ts_costing *c)
{
    const ts_cash *list = NULL;
    const size_t count = ts_cash_of(&list, arena, c);
    ts_money least = {0};
    char laid_out[TS_DECIMAL_TEXT];
    const char *text = "";
    for (size_t i = 0; i < count; i++) {
        least = list[i].left.minor < least.minor ? list[i].left : least;
        if (i > 0 || list[i].bought.minor != 0) {
            text = ts_text_joined(arena, text, "; ", stage_words(arena, &list[i], c->exponent));
        }
    }
    if (text[0] == '\0') {
        return "Nothing is bought before it is paid.";
    }
    text = ts_arena_format(arena, "In %s, %s", c->currency, text);
    if (least.minor == 0) {
        return ts_arena_format(arena, "%s: the payments cover it.", text);
    }
    least.minor = -least.minor;
    return ts_arena_format(arena, "%s: the studio lays out up to %s of its own.", text,
                           ts_money_text(laid_out, least, c->exponent));
}

#include "papers/margin.h"

#include <tallystone/base/text.h>

#include <math.h>
#include <string.h>

/* How figures look on the owner's sheets, and how much room one takes: a spreadsheet program
 * shows a figure that is wider than its column as ###. Yen have as many digits before the
 * point as others have in all. */

#define DIGIT 556 /* thousandths of the type size; so in both weights of the family */
#define POINT 278 /* a comma too */
#define SIGN 333
#define BODY_PT 10
#define PADDING_MM 1.0

/* Counts and money keep room for six decimals, so that a column stands on one decimal point. */
#define COUNT_FORMAT "#,##0_._0_0_0_0_0_0"

/* Two decimals and those that the value has beyond them; the room of the others is left free
 * digit by digit, for `?` leaves that of a blank, half a digit's in a proportional face. A cell
 * that is changed shows all of its own. */
const char *ts_margin_rate_format(ts_ratio value)
{
    static const char *const formats[] = {"#,##0.00####_0_0_0_0", "#,##0.00####_0_0_0",
                                          "#,##0.00####_0_0", "#,##0.00####_0", "#,##0.00####"};
    ts_dec exact = {0};
    int more = 0;
    if (!ts_ratio_dec(&exact, value, TS_HALF_AWAY)) {
        return "#,##0.00";
    }
    for (int64_t step = 10000; more < 4 && exact.e6 % step != 0; step /= 10) {
        more++;
    }
    return formats[more];
}

const char *ts_margin_quantity_format(ts_ratio value, const char *unit, int exponent)
{
    static const char *const money[] = {COUNT_FORMAT, "#,##0.0_0_0_0_0_0", "#,##0.00_0_0_0_0",
                                        "#,##0.000_0_0_0", "#,##0.0000_0_0"};
    if (ts_text_same(unit, "stones") || ts_text_same(unit, "each")) {
        return COUNT_FORMAT;
    }
    bool known = exponent >= 0 && exponent < (int)(sizeof money / sizeof money[0]);
    return ts_text_same(unit, "%") && known ? money[exponent] : ts_margin_rate_format(value);
}

void ts_margin_widen(double *width_mm, ts_ratio value, const char *format)
{
    ts_dec exact = {0};
    if (!ts_ratio_dec(&exact, value, TS_HALF_AWAY)) {
        return;
    }
    const char *point = strchr(format, '.');
    bool six = strchr(format, '_') != NULL || strstr(format, "####") != NULL;
    int decimals = six ? 6 : point == NULL ? 0 : (int)strlen(point + 1);
    int whole = 1;
    for (int64_t left = exact.e6 / 10000000; left != 0; left /= 10) {
        whole++;
    }
    int wide = (whole + decimals) * DIGIT + ((whole - 1) / 3 + (decimals > 0)) * POINT +
               (exact.e6 < 0) * SIGN;
    *width_mm = fmax(*width_mm, wide * BODY_PT / 1000.0 * 25.4 / 72 + PADDING_MM);
}

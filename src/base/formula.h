/* What a spreadsheet program could take for a formula (CWE-1236): the reader and the
 * writer of CSV must agree on it to the byte, or text would not come back as it went. */
#ifndef TS_BASE_FORMULA_PRIVATE_H
#define TS_BASE_FORMULA_PRIVATE_H

#include <stdbool.h>

/* True where `text` begins, after blanks, line breaks and apostrophes, with = + - @. */
bool ts_formula_like(const char *text);

#endif

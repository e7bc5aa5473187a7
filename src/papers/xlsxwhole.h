/* Whether the workbook library lost anything on the way to the file. */
#ifndef TS_PAPERS_XLSXWHOLE_H
#define TS_PAPERS_XLSXWHOLE_H

#include <stdbool.h>

/* False where a workbook, closed without an error, lacks a part that could not be written to
 * the library's own temporary file, or a piece of one that could not be written to the workbook
 * itself, or cannot be read. */
bool ts_xlsx_is_whole(const char *path);

#endif

/* Text as a workbook file wants it: cells, headers, properties. Names: xlsx.h. */
#ifndef TS_PAPERS_XLSXTEXT_H
#define TS_PAPERS_XLSXTEXT_H

#include <tallystone/base/arena.h>

/* A cell's text: what would be read as a character code keeps its underscore, at most as
 * much as a cell holds, then an ellipsis. */
const char *ts_xlsx_cell_text(ts_arena *arena, const char *text);
/* Text of a header or footer: ampersands doubled, on one line, at most 90 bytes. */
const char *ts_xlsx_band_text(ts_arena *arena, const char *text);
/* A document property: at most 250 bytes; NULL as "". */
char *ts_xlsx_property_text(ts_arena *arena, const char *text);

#endif

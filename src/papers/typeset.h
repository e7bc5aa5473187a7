/* How much room text takes, so that rows of a printed sheet are high enough.
 *
 * A spreadsheet program measures merged cells for nobody: whoever writes them must. */
#ifndef TS_PAPERS_TYPESET_H
#define TS_PAPERS_TYPESET_H

#include <stdbool.h>

/* Width of one line in points. */
double ts_typeset_width_pt(const char *text, int size_pt, bool bold);
/* Lines that the text takes when wrapped at blanks and after hyphens to `width_mm`, the
 * cell's own padding taken off. A word wider than the cell is broken. At least 1. */
int ts_typeset_lines(const char *text, int size_pt, bool bold, double width_mm);
/* Height in points of a row of so many lines. */
double ts_typeset_height_pt(int lines, int size_pt);

#endif

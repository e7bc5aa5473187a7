/* XML 1.0 as it is written: UTF-8, two blanks a level, every text escaped.
 *
 * What XML 1.0 has no sign for (control characters, surrogates, bytes that are no UTF-8)
 * becomes U+FFFD, so that what is written is always well formed; a carriage return is written
 * as a reference, since readers turn a bare one into a line feed (XML 1.0, 2.2 and 2.11). */
#ifndef TS_BASE_XMLOUT_H
#define TS_BASE_XMLOUT_H

#include <stdio.h>

typedef struct ts_xml_out {
    FILE *to; /* errors stay in the stream: whoever opened it asks ferror once at the end */
    int depth;
} ts_xml_out;

/* The declaration and the first element; `attributes` is written as it is ("" for none). */
void ts_xml_begin(ts_xml_out *out, const char *name, const char *attributes);
/* An element that holds others, and its end. */
void ts_xml_open(ts_xml_out *out, const char *name);
void ts_xml_close(ts_xml_out *out, const char *name);
/* An element that holds text; with an attribute where `attribute` is not NULL. */
void ts_xml_text(ts_xml_out *out, const char *name, const char *text);
void ts_xml_with(ts_xml_out *out, const char *name, const char *attribute, const char *value,
                 const char *text);

#endif

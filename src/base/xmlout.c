#include <tallystone/base/xmlout.h>

#include "base/utf8.h"

#include <string.h>

/* A writer for documents of elements and text alone. No mixed content, so line breaks and
 * blanks between elements mean nothing to a reader. */

/* Char of XML 1.0, production 2. */
static bool is_char(uint32_t code)
{
    return code == 0x9 || code == 0xA || code == 0xD || (code >= 0x20 && code <= 0xD7FF) ||
           (code >= 0xE000 && code <= 0xFFFD) || (code >= 0x10000 && code <= 0x10FFFF);
}

static const char *reference_of(uint32_t code)
{
    switch (code) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\r':
        return "&#13;";
    default:
        return NULL;
    }
}

static void put_escaped(FILE *to, const char *text)
{
    size_t left = strlen(text);
    while (left > 0) {
        uint32_t code = 0;
        const size_t length = ts_utf8_next(&code, text, left);
        const char *reference = reference_of(code);
        if (!is_char(code)) {
            fputs("\xef\xbf\xbd", to);
        } else if (reference != NULL) {
            fputs(reference, to);
        } else {
            fwrite(text, 1, length, to);
        }
        text += length;
        left -= length;
    }
}

static void indent(const ts_xml_out *out)
{
    fprintf(out->to, "%*s", 2 * out->depth, "");
}

void ts_xml_begin(ts_xml_out *out, const char *name, const char *attributes)
{
    fprintf(out->to, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<%s%s%s>\n", name,
            attributes[0] == '\0' ? "" : " ", attributes);
    out->depth = 1;
}

void ts_xml_open(ts_xml_out *out, const char *name)
{
    indent(out);
    fprintf(out->to, "<%s>\n", name);
    out->depth++;
}

void ts_xml_close(ts_xml_out *out, const char *name)
{
    out->depth--;
    indent(out);
    fprintf(out->to, "</%s>\n", name);
}

void ts_xml_text(ts_xml_out *out, const char *name, const char *text)
{
    ts_xml_with(out, name, NULL, NULL, text);
}

void ts_xml_with(ts_xml_out *out, const char *name, const char *attribute, const char *value,
                 const char *text)
{
    indent(out);
    fprintf(out->to, "<%s", name);
    if (attribute != NULL) {
        fprintf(out->to, " %s=\"", attribute);
        put_escaped(out->to, value);
        fputc('"', out->to);
    }
    fputc('>', out->to);
    put_escaped(out->to, text);
    fprintf(out->to, "</%s>\n", name);
}

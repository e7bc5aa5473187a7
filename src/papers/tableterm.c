#include <tallystone/base/text.h>
#include <tallystone/papers/table.h>

#include <string.h>

/* The form of a table on a terminal: aligned, at most 100 wide, numbers on their decimal
 * point. Numbers are never cut; text cells give way, the widest first, and wrap. */

#define MOST_WIDTH 100
#define MOST_LINES 24 /* of a text from outside; what is our own is shown whole */
#define MOST_COLUMNS 16
#define LEAST_TEXT 8
#define USUAL_WORD 12
#define GAP 2
#define NARROW_GAP 1

/* One cell as it will be shown. `ahead` and `after` are columns before and behind the
 * decimal point (the point with the latter). */
typedef struct shown {
    const char *text;
    int width, ahead, after;
    bool number;
    bool whole; /* never cut short: a formula without its end says nothing */
} shown;

typedef struct layout {
    const ts_table *table;
    const ts_screen *screen;
    FILE *to;
    int columns[MOST_COLUMNS]; /* of the table, those that are shown */
    int count;
    bool narrow; /* headings are broken at blanks */
    int gap;
    int width[MOST_COLUMNS];
    int least[MOST_COLUMNS]; /* of text: its words whole, where they are no longer than usual */
    int ahead[MOST_COLUMNS], after[MOST_COLUMNS];
    int pending; /* blanks that stand before the next text, never at a line's end */
} layout;

static bool is_numeric(ts_cell_kind kind)
{
    return kind == TS_CELL_NUMBER || kind == TS_CELL_MONEY;
}

/* Decimals beyond what people want are rounded off, zeros at the end not shown. */
static const char *number_text(const layout *l, const ts_cell *cell, int places)
{
    char buffer[TS_DECIMAL_TEXT];
    if (cell->kind == TS_CELL_MONEY) {
        ts_money_text(buffer, cell->money, ts_cell_exponent(l->table, cell));
        return ts_arena_text(l->table->arena, buffer);
    }
    if (places < 0) {
        return ts_arena_text(l->table->arena, ts_dec_text(buffer, cell->number));
    }
    ts_dec_fixed(buffer, cell->number, places);
    char *point = strchr(buffer, '.');
    for (size_t n = strlen(buffer); point != NULL && buffer + n > point; n--) {
        if (buffer[n - 1] != '0' && buffer[n - 1] != '.') {
            break;
        }
        buffer[n - 1] = '\0';
    }
    return ts_arena_text(l->table->arena, strcmp(buffer, "-0") == 0 ? "0" : buffer);
}

/* On a terminal that knows ASCII alone every sign takes a plain form. */
static const char *plain(const layout *l, const char *text)
{
    return l->screen->unicode ? text : ts_text_ascii(l->table->arena, text);
}

static const char *cell_text(const layout *l, const ts_cell *cell, int places)
{
    char buffer[TS_DATE_TEXT];
    switch (cell->kind) {
    case TS_CELL_EMPTY:
        return "";
    case TS_CELL_TEXT:
        return plain(l, ts_text_show(l->table->arena, cell->text, 400));
    case TS_CELL_WORD:
        return plain(l, cell->text);
    case TS_CELL_NUMBER:
    case TS_CELL_MONEY:
        return number_text(l, cell, places);
    case TS_CELL_DATE:
        return ts_arena_text(l->table->arena, ts_date_text(buffer, cell->date));
    }
    return "";
}

/* The cell in a row's k-th column that is shown. */
static shown show(const layout *l, size_t row, int k)
{
    const ts_column *column = &l->table->columns[l->columns[k]];
    const ts_cell *cell = &ts_table_at(l->table, row)[l->columns[k]];
    const int places = column->kind == TS_CELL_MONEY ? 2 : column->places;
    shown s = {.text = cell_text(l, cell, places),
               .number = is_numeric(cell->kind),
               .whole = cell->kind == TS_CELL_WORD};
    s.width = ts_text_width(s.text);
    const char *point = s.number ? strchr(s.text, '.') : NULL;
    s.ahead = point == NULL ? s.width : (int)(point - s.text);
    s.after = s.width - s.ahead;
    return s;
}

/* A word that only repeats the row above it is shown once. */
static bool repeats(const layout *l, size_t row)
{
    if (row == 0 || ts_table_ruled(l->table, row)) {
        return false;
    }
    int column = l->columns[0];
    const ts_cell *at = &ts_table_at(l->table, row)[column];
    const ts_cell *above = &ts_table_at(l->table, row - 1)[column];
    return (at->kind == TS_CELL_TEXT || at->kind == TS_CELL_WORD) && at->kind == above->kind &&
           strcmp(at->text, above->text) == 0;
}

/* A column that holds nothing says nothing, and its room is wanted. */
static bool is_blank(const ts_table *table, int column)
{
    for (size_t r = 0; r < table->row_count; r++) {
        const ts_cell *cell = &ts_table_at(table, r)[column];
        bool text = cell->kind == TS_CELL_TEXT || cell->kind == TS_CELL_WORD;
        if (cell->kind != TS_CELL_EMPTY && !(text && cell->text[0] == '\0')) {
            return false;
        }
    }
    return table->row_count > 0;
}

static void choose_columns(layout *l)
{
    l->count = 0;
    for (int c = 0; c < l->table->column_count && l->count < MOST_COLUMNS; c++) {
        if (l->table->columns[c].screen && !(l->narrow && is_blank(l->table, c))) {
            l->columns[l->count++] = c;
        }
    }
}

static int widest_word(const char *text)
{
    int widest = 0;
    while (*text != '\0') {
        size_t word = strcspn(text, " -");
        word += text[word] == '-';
        widest = (int)word > widest ? (int)word : widest;
        text += word;
        text += strspn(text, " ");
    }
    return widest;
}

/* The widest word of a heading, or the whole of it. */
static int heading_width(const layout *l, const char *heading)
{
    return l->narrow ? widest_word(heading) : ts_text_width(heading);
}

/* What the cells of a column need; the widest of them all. Texts are made again when they are
 * written: kept for a thousand rows they would take more than the table. */
static int measure_cells(layout *l, int k)
{
    int widest = 0;
    l->ahead[k] = l->after[k] = 0;
    l->least[k] = LEAST_TEXT;
    for (size_t r = 0; r < l->table->row_count; r++) {
        const ts_arena_mark mark = ts_arena_mark_of(l->table->arena);
        const shown s = show(l, r, k);
        if (s.number) {
            l->ahead[k] = s.ahead > l->ahead[k] ? s.ahead : l->ahead[k];
            l->after[k] = s.after > l->after[k] ? s.after : l->after[k];
        }
        widest = s.width > widest ? s.width : widest;
        int word = widest_word(s.text);
        l->least[k] = word > l->least[k] && word <= USUAL_WORD ? word : l->least[k];
        ts_arena_rewind(l->table->arena, mark);
    }
    return widest;
}

static void measure(layout *l)
{
    for (int k = 0; k < l->count; k++) {
        const ts_column *column = &l->table->columns[l->columns[k]];
        int widest = measure_cells(l, k);
        int heading = heading_width(l, column->heading);
        bool numeric = is_numeric(column->kind);
        widest = widest > column->width && !numeric ? column->width : widest;
        int aligned = l->ahead[k] + l->after[k];
        widest = aligned > widest ? aligned : widest;
        l->width[k] = heading > widest ? heading : widest;
        int word = widest_word(column->heading);
        l->least[k] = word > l->least[k] ? word : l->least[k];
    }
}

static int total_width(const layout *l)
{
    int sum = l->gap * (l->count - 1);
    for (int k = 0; k < l->count; k++) {
        sum += l->width[k];
    }
    return sum;
}

static int most_width(const layout *l)
{
    return l->screen->width > 0 && l->screen->width < MOST_WIDTH ? l->screen->width : MOST_WIDTH;
}

/* The widest text column gives way until the table fits. */
static void make_fit(layout *l)
{
    int most = most_width(l);
    for (int over = total_width(l) - most; over > 0; over--) {
        int widest = -1;
        for (int k = 0; k < l->count; k++) {
            ts_cell_kind kind = l->table->columns[l->columns[k]].kind;
            bool text = !is_numeric(kind) && kind != TS_CELL_DATE;
            if (text && l->width[k] > l->least[k] &&
                (widest < 0 || l->width[k] > l->width[widest])) {
                widest = k;
            }
        }
        if (widest < 0) {
            return;
        }
        l->width[widest]--;
    }
}

/* ---- writing ---- */

static void put(layout *l, const char *text)
{
    if (text[0] == '\0') {
        return;
    }
    for (; l->pending > 0; l->pending--) {
        fputc(' ', l->to);
    }
    fputs(text, l->to);
}

static void end_line(layout *l)
{
    l->pending = 0;
    fputc('\n', l->to);
}

/* Bytes of `text` that take at most `width` columns, broken after a blank or hyphen where
 * there is one; all that is left when it fits. */
static size_t line_bytes(ts_arena *arena, const char *text, int width)
{
    if (ts_text_width(text) <= width) {
        return strlen(text);
    }
    size_t fits = 0, good = 0;
    for (size_t i = 1; text[i - 1] != '\0'; i++) {
        if (((unsigned char)text[i] & 0xc0u) == 0x80u) {
            continue;
        }
        if (ts_text_width(ts_arena_copy(arena, text, i)) > width) {
            break;
        }
        fits = i;
        if (text[i] == ' ' || text[i - 1] == '-') {
            good = i;
        }
    }
    return good > 0 ? good : fits > 0 ? fits : 1;
}

/* Takes the next line off `*text`; on the last line allowed, what is left ends in a mark. */
static const char *take_line(const layout *l, const char **text, int width, bool last)
{
    ts_arena *arena = l->table->arena;
    size_t bytes = line_bytes(arena, *text, width);
    const char *rest = *text + bytes;
    rest += strspn(rest, " ");
    const char *line = ts_arena_copy(arena, *text, bytes);
    if (last && rest[0] != '\0') {
        const char *mark = l->screen->unicode ? "\xe2\x80\xa6" : "...";
        int room = width - ts_text_width(mark);
        bytes = line_bytes(arena, *text, room > 0 ? room : 1);
        line = ts_arena_format(arena, "%.*s%s", (int)bytes, *text, mark);
        rest += strlen(rest);
    }
    *text = rest;
    return line;
}

static void put_padded(layout *l, const char *text, int width, bool right)
{
    int left = width - ts_text_width(text);
    l->pending += right ? left : 0;
    put(l, text);
    l->pending += right ? 0 : left;
}

static void put_number(layout *l, const shown *s, int k)
{
    l->pending += l->width[k] - l->after[k] - s->ahead;
    put(l, s->text);
    l->pending += l->after[k] - s->after;
}

static void put_row(layout *l, size_t row)
{
    const char *rest[MOST_COLUMNS];
    shown cells[MOST_COLUMNS];
    for (int k = 0; k < l->count; k++) {
        cells[k] = show(l, row, k);
        rest[k] = k == 0 && repeats(l, row) ? "" : cells[k].text;
    }
    bool more = true;
    for (int line = 1; more; line++) {
        more = false;
        for (int k = 0; k < l->count; k++) {
            bool right = is_numeric(l->table->columns[l->columns[k]].kind);
            l->pending += k > 0 ? l->gap : 0;
            if (cells[k].number && line == 1) {
                put_number(l, &cells[k], k);
                rest[k] = "";
                continue;
            }
            const bool last = line >= MOST_LINES && !cells[k].whole;
            put_padded(l, take_line(l, &rest[k], l->width[k], last), l->width[k], right);
            more = more || rest[k][0] != '\0';
        }
        end_line(l);
    }
}

static void put_rule(layout *l)
{
    put(l, l->screen->colour ? "\033[2m" : "");
    for (int i = total_width(l); i > 0; i--) {
        put(l, l->screen->unicode ? "\xe2\x94\x80" : "-");
    }
    put(l, l->screen->colour ? "\033[0m" : "");
    end_line(l);
}

/* Headings of several lines stand on their last one. */
static void put_headings(layout *l)
{
    const char *lines[MOST_COLUMNS][MOST_LINES];
    int counts[MOST_COLUMNS] = {0}, most = 1;
    for (int k = 0; k < l->count; k++) {
        const char *rest = l->table->columns[l->columns[k]].heading;
        for (counts[k] = 0; rest[0] != '\0' && counts[k] < MOST_LINES; counts[k]++) {
            lines[k][counts[k]] = take_line(l, &rest, l->width[k], counts[k] == MOST_LINES - 1);
        }
        most = counts[k] > most ? counts[k] : most;
    }
    for (int line = 0; line < most; line++) {
        put(l, l->screen->colour ? "\033[1m" : "");
        for (int k = 0; k < l->count; k++) {
            int at = line - (most - counts[k]);
            l->pending += k > 0 ? l->gap : 0;
            put_padded(l, at < 0 ? "" : lines[k][at], l->width[k],
                       is_numeric(l->table->columns[l->columns[k]].kind));
        }
        l->pending = 0;
        put(l, l->screen->colour ? "\033[0m" : "");
        end_line(l);
    }
}

void ts_table_print(const ts_table *table, FILE *to, const ts_screen *screen)
{
    ts_arena_mark mark = ts_arena_mark_of(table->arena);
    layout l = {.table = table, .screen = screen, .to = to, .gap = GAP};
    choose_columns(&l);
    measure(&l);
    if (total_width(&l) > most_width(&l)) {
        l.narrow = true;
        choose_columns(&l);
        measure(&l);
    }
    make_fit(&l);
    if (total_width(&l) > most_width(&l)) {
        l.gap = NARROW_GAP;
    }
    if (total_width(&l) > most_width(&l)) {
        for (int k = 0; k < l.count; k++) {
            l.least[k] = LEAST_TEXT;
        }
        make_fit(&l);
    }
    put_headings(&l);
    put_rule(&l);
    for (size_t r = 0; r < table->row_count; r++) {
        const ts_arena_mark before = ts_arena_mark_of(table->arena);
        if (r > 0 && ts_table_ruled(table, r)) {
            put_rule(&l);
        }
        put_row(&l, r);
        ts_arena_rewind(table->arena, before);
    }
    ts_arena_rewind(table->arena, mark);
}

#include "register/holding.h"

#include <tallystone/base/text.h>
#include <tallystone/words/words.h>

#include <string.h>

/* Reading what a period touched. Days are kept as YYYY-MM-DD, so their texts compare as they do. */

size_t ts_register_touched(const char *const **out, ts_register *reg, ts_period period)
{
    char day[TS_DATE_TEXT];
    const char **list = NULL;
    size_t count = 0, room = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT reference FROM quote q WHERE revision = 1 AND EXISTS"
                                     " (SELECT 1 FROM event e WHERE e.reference = q.reference AND"
                                     " e.day BETWEEN ?1 AND ?2) ORDER BY id");
    ts_ask_text(ask, 1, ts_date_text(day, period.from));
    ts_ask_text(ask, 2, ts_date_text(day, period.to));
    while (ts_ask_row(ask)) {
        list = ts_arena_grow(reg->arena, list, count, &room, sizeof *list);
        list[count++] = ts_ask_get_text(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    *out = list;
    return count;
}

const char *ts_register_head_on(ts_register *reg, ts_date day)
{
    char text[TS_DATE_TEXT];
    const char *head = NULL;
    ts_ask *ask =
        ts_db_ask(reg->db, "SELECT hash FROM event WHERE day <= ?1 ORDER BY id DESC LIMIT 1");
    ts_ask_text(ask, 1, ts_date_text(text, day));
    if (ts_ask_row(ask)) {
        head = ts_ask_get_text(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    return head == NULL ? TS_NO_HASH : head;
}

static const char *text_at(const ts_ask *ask, ts_arena *arena, int column)
{
    const char *text = ts_ask_get_text(ask, arena, column);
    return text == NULL ? "" : text;
}

/* The quantity of an overhead or a contingency is the cost that it is a part of. */
static bool hides_quantity(const char *section)
{
    return strcmp(section, ts_list_word(TS_LIST_SECTION, TS_SECTION_OVERHEAD)) == 0 ||
           strcmp(section, ts_list_word(TS_LIST_SECTION, TS_SECTION_CONTINGENCY)) == 0;
}

ts_status ts_register_lines(const ts_kept_line **out, size_t *count, ts_register *reg,
                            int64_t quote, int option)
{
    ts_kept_line *lines = NULL;
    size_t room = 0;
    *count = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT no, section, item, key, quantity, unit, price FROM"
                                     " line WHERE quote = ?1 AND option = ?2 ORDER BY no");
    ts_ask_int(ask, 1, quote);
    ts_ask_int(ask, 2, option);
    while (ts_ask_row(ask)) {
        lines = ts_arena_grow(reg->arena, lines, *count, &room, sizeof *lines);
        ts_kept_line *line = &lines[(*count)++];
        *line = (ts_kept_line){.number = (int)ts_ask_get_int(ask, 0) + 1,
                               .section = text_at(ask, reg->arena, 1),
                               .item = text_at(ask, reg->arena, 2),
                               .key = text_at(ask, reg->arena, 3),
                               .has_quantity = !ts_ask_is_null(ask, 4),
                               .quantity = {ts_ask_get_int(ask, 4)},
                               .unit = text_at(ask, reg->arena, 5),
                               .price = {ts_ask_get_int(ask, 6)}};
        line->has_quantity = line->has_quantity && !hides_quantity(line->section);
    }
    ts_ask_end(ask);
    *out = lines;
    return ts_db_status(reg->db);
}

ts_status ts_register_stages(const char *const **out, size_t *count, ts_register *reg,
                             int64_t quote)
{
    const char **names = NULL;
    size_t room = 0;
    *count = 0;
    ts_ask *ask = ts_db_ask(reg->db, "SELECT item FROM total WHERE quote = ?1 AND option = 0 AND"
                                     " section = 'payment' ORDER BY no");
    ts_ask_int(ask, 1, quote);
    while (ts_ask_row(ask)) {
        names = ts_arena_grow(reg->arena, names, *count, &room, sizeof *names);
        names[(*count)++] = text_at(ask, reg->arena, 0);
    }
    ts_ask_end(ask);
    *out = names;
    return ts_db_status(reg->db);
}

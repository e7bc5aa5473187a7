#include "design/tables.h"

#include <tallystone/base/text.h>

#include <assert.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* What parts.def and fields.def say, as tables: the one place where a measure's row meets
 * the member of the struct that keeps it.
 *
 * Reader, faults, help, starter sheets and options all go through these tables, so a
 * measure that is added to fields.def is known everywhere at once. */

typedef struct part_row {
    const char *word;
    const char *says;
    bool many;
} part_row;

enum { NAMING_ONE = 0, NAMING_MANY = 1 };

/* clang-format off */
static const part_row parts[TS_PART_COUNT] = {
    [TS_PART_NONE] = {"", "", false},
#define PART(id, word, type, member, naming, says) \
    [TS_PART_##id] = {word, says, NAMING_##naming == NAMING_MANY},
#include <tallystone/design/parts.def>
#undef PART
};

static const char *const part_words[TS_PART_COUNT] = {
    [TS_PART_NONE] = NULL,
#define PART(id, word, type, member, naming, says) [TS_PART_##id] = word,
#include <tallystone/design/parts.def>
#undef PART
};

/* The struct of a part by its id. */
#define PART(id, word, type, member, naming, says) typedef type part_of_##id;
#include <tallystone/design/parts.def>
#undef PART

static const ts_field fields[TS_FIELD_COUNT] = {
#define FIELD(part, id, word, member, kind, list, need, least, most, dflt, says) \
    [TS_FIELD_##part##_##id] = {word, TS_KIND_##kind, TS_LIST_##list, TS_NEED_##need, least, \
                                most, dflt, says, offsetof(part_of_##part, member)},
#include <tallystone/design/fields.def>
#undef FIELD
};

static const uint8_t field_parts[TS_FIELD_COUNT] = {
#define FIELD(part, id, word, member, kind, list, need, least, most, dflt, says) \
    [TS_FIELD_##part##_##id] = TS_PART_##part,
#include <tallystone/design/fields.def>
#undef FIELD
};

/* The measures of one part stand together in fields.def; this is the first of each. */
enum {
    FIRST_COMMISSION = TS_FIELD_COMMISSION_REFERENCE,
    FIRST_RING = TS_FIELD_RING_SIZE,
    FIRST_SHANK = TS_FIELD_SHANK_PROFILE_TOP,
    FIRST_STONE = TS_FIELD_STONE_SHAPE,
    FIRST_HEAD = TS_FIELD_HEAD_HOLDS,
    FIRST_BEZEL = TS_FIELD_BEZEL_HOLDS,
    FIRST_HALO = TS_FIELD_HALO_AROUND,
    FIRST_ROW = TS_FIELD_ROW_FROM,
    FIRST_METAL = TS_FIELD_METAL_VOLUME,
    FIRST_MESH = TS_FIELD_MESH_FILE,
    FIRST_WORK = TS_FIELD_WORK_OPERATION,
    FIRST_SERVICE = TS_FIELD_SERVICE_SERVICE,
    FIRST_TRADE_IN = TS_FIELD_TRADE_IN_ALLOY,
};

#define FIELD(part, id, word, member, kind, list, need, least, most, dflt, says) \
    _Static_assert((int)TS_FIELD_##part##_##id >= (int)FIRST_##part, "first of " #part);
#include <tallystone/design/fields.def>
#undef FIELD

static const uint8_t field_positions[TS_FIELD_COUNT] = {
#define FIELD(part, id, word, member, kind, list, need, least, most, dflt, says) \
    [TS_FIELD_##part##_##id] = (uint8_t)((int)TS_FIELD_##part##_##id - (int)FIRST_##part),
#include <tallystone/design/fields.def>
#undef FIELD
};

static const uint8_t first_fields[TS_PART_COUNT] = {
#define PART(id, word, type, member, naming, says) [TS_PART_##id] = (uint8_t)FIRST_##id,
#include <tallystone/design/parts.def>
#undef PART
};
/* clang-format on */

static const ts_field label_field = {
    .word = "label",
    .kind = TS_KIND_LINE,
    .need = TS_NEED_NO,
    .least = "",
    .most = "",
    .dflt = "",
    .says = "what the client's paper calls it",
    .offset = offsetof(ts_part, label),
};

const char *ts_part_word(ts_part_kind kind)
{
    assert((int)kind >= 0 && kind < TS_PART_COUNT);
    return parts[kind].word;
}

const char *ts_part_says(ts_part_kind kind)
{
    assert((int)kind >= 0 && kind < TS_PART_COUNT);
    return parts[kind].says;
}

bool ts_part_many(ts_part_kind kind)
{
    assert((int)kind >= 0 && kind < TS_PART_COUNT);
    return parts[kind].many;
}

bool ts_part_is_metal(ts_part_kind kind)
{
    return kind == TS_PART_SHANK || kind == TS_PART_HEAD || kind == TS_PART_BEZEL ||
           kind == TS_PART_HALO || kind == TS_PART_METAL;
}

const char *const *ts_part_words(size_t *count)
{
    *count = TS_COUNT_OF(part_words);
    return part_words;
}

ts_part_kind ts_part_find(const char *word)
{
    for (int i = 1; i < TS_PART_COUNT; i++) {
        if (strcmp(parts[i].word, word) == 0) {
            return (ts_part_kind)i;
        }
    }
    return TS_PART_NONE;
}

const ts_field *ts_part_fields(ts_part_kind kind, size_t *count)
{
    const int first = kind == TS_PART_NONE ? TS_FIELD_COUNT : first_fields[kind];
    int end = first;

    while (end < TS_FIELD_COUNT && field_parts[end] == kind) {
        end++;
    }
    *count = (size_t)(end - first);
    return fields + first;
}

int ts_field_position(ts_field_id field)
{
    assert((int)field >= 0 && field < TS_FIELD_COUNT);
    return field_positions[field];
}

ts_part_kind ts_field_part(ts_field_id field)
{
    assert((int)field >= 0 && field < TS_FIELD_COUNT);
    return (ts_part_kind)field_parts[field];
}

const ts_field *ts_field_of(ts_field_id field)
{
    assert((int)field >= 0 && field < TS_FIELD_COUNT);
    return &fields[field];
}

int ts_field_find(ts_part_kind kind, const char *word)
{
    size_t count = 0;
    const ts_field *of = ts_part_fields(kind, &count);

    for (size_t i = 0; i < count; i++) {
        if (strcmp(of[i].word, word) == 0) {
            return (int)i;
        }
    }
    return -1;
}

const ts_field *ts_label_field(void)
{
    return &label_field;
}

const char *ts_field_expects(ts_arena *arena, const ts_field *field)
{
    const char *range = "";
    const char *what = ts_kind_says(field->kind);
    char list[400];

    if (field->kind == TS_KIND_WORD) {
        ts_list_sentence(field->list, list, sizeof list);
        what = list;
    }
    if (field->least[0] != '\0' && field->kind != TS_KIND_AMOUNT) {
        const char *unit = ts_kind_unit(field->kind);

        range = ts_arena_format(arena, ", from %s to %s%s%s", field->least, field->most,
                                *unit == '\0' ? "" : " ", unit);
    }
    return ts_arena_format(arena, "%s is expected%s", what, range);
}

const char *ts_claw_words(ts_arena *arena, const char *folded)
{
    static const char prong[] = "prong";
    const size_t length = sizeof prong - 1;

    if (strstr(folded, prong) == NULL) {
        return folded;
    }
    char *copy = ts_arena_text(arena, folded);
    char *to = copy;
    for (const char *at = folded; *at != '\0';) {
        const bool starts = at == folded || at[-1] == ' ';
        const char *end = at + (starts && strncmp(at, prong, length) == 0 ? length : 0);
        const char *after = end > at && *end == 's' ? end + 1 : end;

        if (end == at || (*after != '\0' && *after != ' ')) {
            *to++ = *at++;
            continue;
        }
        memcpy(to, "claw", 4);
        to += 4;
        at = end;
    }
    *to = '\0';
    return copy;
}

/* ---- the parts of a design ---- */

int ts_design_count(const ts_design *design, ts_part_kind kind)
{
    switch (kind) {
    case TS_PART_NONE:
    case TS_PART_COUNT:
        return 0;
/* clang-format off */
#define PART(id, word, type, member, naming, says) \
    case TS_PART_##id: \
        return design->member##_count;
#include <tallystone/design/parts.def>
#undef PART
        /* clang-format on */
    }
    return 0;
}

ts_part *ts_design_at(const ts_design *design, ts_part_kind kind, int index)
{
    if (index < 0 || index >= ts_design_count(design, kind)) {
        return NULL;
    }
    switch (kind) {
    case TS_PART_NONE:
    case TS_PART_COUNT:
        return NULL;
/* clang-format off */
#define PART(id, word, type, member, naming, says) \
    case TS_PART_##id: \
        return &design->member[index].part;
#include <tallystone/design/parts.def>
#undef PART
        /* clang-format on */
    }
    return NULL;
}

void ts_design_reserve(ts_design *design, ts_arena *arena, ts_part_kind kind, int count)
{
    switch (kind) {
    case TS_PART_NONE:
    case TS_PART_COUNT:
        return;
/* clang-format off */
#define PART(id, word, type, member, naming, says) \
    case TS_PART_##id: \
        design->member = count == 0 ? NULL : TS_ARRAY(arena, type, (size_t)count); \
        design->member##_count = count; \
        return;
#include <tallystone/design/parts.def>
#undef PART
        /* clang-format on */
    }
}

#include <tallystone/words/words.h>

#include <assert.h>
#include <string.h>

#include <tallystone/base/text.h>

/* One table for all closed lists of words.
 *
 * The .def files and choices.h are expanded here a second time: the enumerations came
 * from them in words.h, so a value and its word cannot drift apart. Readers of cells go
 * by the name of a list alone; nothing else in the program compares words. */

#define WORD(list, id, word) [TS_##list##_##id] = (word),
#define CHOICE_WORDS(name, LIST, ITEMS)                                                            \
    static const char *const name[TS_##LIST##_COUNT] = {ITEMS(WORD)};

CHOICE_WORDS(claw_words, CLAW, TS_CLAWS)
CHOICE_WORDS(faces_words, FACES, TS_FACES)
CHOICE_WORDS(origin_words, ORIGIN, TS_ORIGINS)
CHOICE_WORDS(wear_words, WEAR, TS_WEARS)
CHOICE_WORDS(supplier_words, SUPPLIER, TS_SUPPLIERS)
CHOICE_WORDS(made_words, MADE, TS_MADES)
CHOICE_WORDS(tip_words, TIP, TS_TIPS)
CHOICE_WORDS(point_words, POINT, TS_POINTS)
CHOICE_WORDS(use_words, USE, TS_USES)
CHOICE_WORDS(solid_words, SOLID, TS_SOLIDS)
CHOICE_WORDS(out_of_words, OUT_OF, TS_OUT_OFS)
CHOICE_WORDS(mesh_unit_words, MESH_UNIT, TS_MESH_UNITS)
CHOICE_WORDS(applies_words, APPLIES, TS_APPLIES)
CHOICE_WORDS(per_words, PER, TS_PERS)
CHOICE_WORDS(basis_words, BASIS, TS_BASES)
CHOICE_WORDS(due_words, DUE, TS_DUES)
CHOICE_WORDS(reduces_words, REDUCES, TS_REDUCES)
CHOICE_WORDS(yes_words, YES, TS_YESSES)
CHOICE_WORDS(per_weight_words, PER_WEIGHT, TS_WEIGHTS)
CHOICE_WORDS(paper_words, PAPER, TS_PAPERS)
CHOICE_WORDS(detail_words, DETAIL, TS_DETAILS)
CHOICE_WORDS(metal_words, METAL, TS_METALS)
CHOICE_WORDS(section_words, SECTION, TS_SECTIONS)
CHOICE_WORDS(rule_words, RULE, TS_RULES)

/* clang-format off */
static const char *const shape_words[TS_SHAPE_COUNT] = {
#define SHAPE(id, word, corner, tip, says) WORD(SHAPE, id, word)
#include <tallystone/words/shapes.def>
#undef SHAPE
};
static const char *const shape_says[TS_SHAPE_COUNT] = {
#define SHAPE(id, word, corner, tip, says) WORD(SHAPE, id, says)
#include <tallystone/words/shapes.def>
#undef SHAPE
};
static const ts_corner shape_corners[TS_SHAPE_COUNT] = {
#define SHAPE(id, word, corner, tip, says) [TS_SHAPE_##id] = TS_CORNER_##corner,
#include <tallystone/words/shapes.def>
#undef SHAPE
};
static const bool shape_tips[TS_SHAPE_COUNT] = {
#define SHAPE(id, word, corner, tip, says) [TS_SHAPE_##id] = (tip),
#include <tallystone/words/shapes.def>
#undef SHAPE
};

static const char *const profile_words[TS_PROFILE_COUNT] = {
#define PROFILE(id, word, alias, says) WORD(PROFILE, id, word)
#include <tallystone/words/profiles.def>
#undef PROFILE
};
static const char *const profile_aliases[TS_PROFILE_COUNT] = {
#define PROFILE(id, word, alias, says) WORD(PROFILE, id, alias)
#include <tallystone/words/profiles.def>
#undef PROFILE
};
static const char *const profile_says[TS_PROFILE_COUNT] = {
#define PROFILE(id, word, alias, says) WORD(PROFILE, id, says)
#include <tallystone/words/profiles.def>
#undef PROFILE
};

static const char *const setting_words[TS_SETTING_COUNT] = {
#define SETTING(id, word, says) WORD(SETTING, id, word)
#include <tallystone/words/settings.def>
#undef SETTING
};
static const char *const setting_says[TS_SETTING_COUNT] = {
#define SETTING(id, word, says) WORD(SETTING, id, says)
#include <tallystone/words/settings.def>
#undef SETTING
};

static const char *const girdle_words[TS_GIRDLE_COUNT] = {
#define GIRDLE(id, word, small, middle, large) WORD(GIRDLE, id, word)
#include <tallystone/words/girdles.def>
#undef GIRDLE
};
static const int girdle_thousandths[TS_GIRDLE_COUNT][3] = {
    {1000, 1000, 1000}, /* no girdle named: no correction */
#define GIRDLE(id, word, small, middle, large) [TS_GIRDLE_##id] = {small, middle, large},
#include <tallystone/words/girdles.def>
#undef GIRDLE
};

static const char *const size_words[TS_SIZE_COUNT] = {
#define SIZE_SYSTEM(id, unit, says) WORD(SIZE, id, unit)
#include <tallystone/words/sizes.def>
#undef SIZE_SYSTEM
};
static const char *const size_says[TS_SIZE_COUNT] = {
#define SIZE_SYSTEM(id, unit, says) WORD(SIZE, id, says)
#include <tallystone/words/sizes.def>
#undef SIZE_SYSTEM
};

static const char *const species_words[TS_SPECIES_COUNT] = {
#define SPECIES(id, word, sg, says) WORD(SPECIES, id, word)
#include <tallystone/words/species.def>
#undef SPECIES
};
static const char *const species_says[TS_SPECIES_COUNT] = {
#define SPECIES(id, word, sg, says) WORD(SPECIES, id, says)
#include <tallystone/words/species.def>
#undef SPECIES
};
static const int species_sg[TS_SPECIES_COUNT] = {
#define SPECIES(id, word, sg, says) [TS_SPECIES_##id] = (sg),
#include <tallystone/words/species.def>
#undef SPECIES
};
/* clang-format on */

typedef struct word_list {
    const char *const *words;
    const char *const *aliases; /* NULL where the list has none */
    const char *const *says;    /* NULL where the list has none */
    size_t count;               /* with the empty [0] */
} word_list;

#define PLAIN(words)                                                                               \
    {                                                                                              \
        (words), NULL, NULL, TS_COUNT_OF(words)                                                    \
    }
#define SAYING(words, says)                                                                        \
    {                                                                                              \
        (words), NULL, (says), TS_COUNT_OF(words)                                                  \
    }

static const word_list lists[TS_LIST_COUNT] = {
    [TS_LIST_CLAW] = PLAIN(claw_words),
    [TS_LIST_FACES] = PLAIN(faces_words),
    [TS_LIST_ORIGIN] = PLAIN(origin_words),
    [TS_LIST_WEAR] = PLAIN(wear_words),
    [TS_LIST_SUPPLIER] = PLAIN(supplier_words),
    [TS_LIST_MADE] = PLAIN(made_words),
    [TS_LIST_TIP] = PLAIN(tip_words),
    [TS_LIST_POINT] = PLAIN(point_words),
    [TS_LIST_USE] = PLAIN(use_words),
    [TS_LIST_SOLID] = PLAIN(solid_words),
    [TS_LIST_OUT_OF] = PLAIN(out_of_words),
    [TS_LIST_MESH_UNIT] = PLAIN(mesh_unit_words),
    [TS_LIST_APPLIES] = PLAIN(applies_words),
    [TS_LIST_PER] = PLAIN(per_words),
    [TS_LIST_BASIS] = PLAIN(basis_words),
    [TS_LIST_DUE] = PLAIN(due_words),
    [TS_LIST_REDUCES] = PLAIN(reduces_words),
    [TS_LIST_YES] = PLAIN(yes_words),
    [TS_LIST_PER_WEIGHT] = PLAIN(per_weight_words),
    [TS_LIST_PAPER] = PLAIN(paper_words),
    [TS_LIST_DETAIL] = PLAIN(detail_words),
    [TS_LIST_METAL] = PLAIN(metal_words),
    [TS_LIST_SECTION] = PLAIN(section_words),
    [TS_LIST_RULE] = PLAIN(rule_words),
    [TS_LIST_SHAPE] = SAYING(shape_words, shape_says),
    [TS_LIST_PROFILE] = {profile_words, profile_aliases, profile_says, TS_PROFILE_COUNT},
    [TS_LIST_SETTING] = SAYING(setting_words, setting_says),
    [TS_LIST_GIRDLE] = PLAIN(girdle_words),
    [TS_LIST_SIZE] = SAYING(size_words, size_says),
    [TS_LIST_SPECIES] = SAYING(species_words, species_says),
};

static const word_list *list_of(ts_list list)
{
    assert(list > TS_LIST_NONE && list < TS_LIST_COUNT);
    return &lists[list];
}

static bool is_value(const word_list *list, int value)
{
    return value > 0 && (size_t)value < list->count;
}

const char *const *ts_list_words(ts_list list, size_t *count)
{
    const word_list *of = list_of(list);

    *count = of->count;
    return of->words;
}

const char *ts_list_word(ts_list list, int value)
{
    const word_list *of = list_of(list);

    return is_value(of, value) ? of->words[value] : "";
}

int ts_list_find(ts_list list, const char *word)
{
    const word_list *of = list_of(list);

    if (word == NULL || ts_text_empty(word)) {
        return 0;
    }
    for (size_t i = 1; i < of->count; i++) {
        if (ts_text_same(of->words[i], word)) {
            return (int)i;
        }
    }
    for (size_t i = 1; of->aliases != NULL && i < of->count; i++) {
        if (of->aliases[i][0] != '\0' && ts_text_same(of->aliases[i], word)) {
            return (int)i;
        }
    }
    return 0;
}

/* Appends what fits, whole or cut, and keeps the buffer terminated. */
static size_t append(char *buffer, size_t size, size_t at, const char *text)
{
    size_t length = strlen(text);

    if (length > size - 1 - at) {
        length = size - 1 - at;
    }
    memcpy(buffer + at, text, length);
    buffer[at + length] = '\0';
    return at + length;
}

void ts_list_sentence(ts_list list, char *buffer, size_t size)
{
    const word_list *of = list_of(list);
    size_t at = 0;

    if (size == 0) {
        return;
    }
    buffer[0] = '\0';
    for (size_t i = 1; i < of->count; i++) {
        if (i > 1) {
            at = append(buffer, size, at, i + 1 == of->count ? " or " : ", ");
        }
        at = append(buffer, size, at, of->words[i]);
    }
}

const char *ts_list_says(ts_list list, int value)
{
    const word_list *of = list_of(list);

    return of->says != NULL && is_value(of, value) ? of->says[value] : "";
}

ts_corner ts_shape_corner(ts_shape shape)
{
    assert((int)shape >= 0 && shape < TS_SHAPE_COUNT);
    return shape_corners[shape];
}

bool ts_shape_has_tip(ts_shape shape)
{
    assert((int)shape >= 0 && shape < TS_SHAPE_COUNT);
    return shape_tips[shape];
}

int ts_girdle_thousandths(ts_girdle girdle, int size_class)
{
    assert((int)girdle >= 0 && girdle < TS_GIRDLE_COUNT);
    assert(size_class >= 0 && size_class <= 2);
    return girdle_thousandths[girdle][size_class];
}

int ts_species_sg(ts_species species)
{
    assert((int)species >= 0 && species < TS_SPECIES_COUNT);
    return species_sg[species];
}

/* The closed vocabulary: every word that code acts on, once.
 *
 * Open words (alloys, lots, operations, services, regions) live in the price books. */
#ifndef TS_WORDS_WORDS_H
#define TS_WORDS_WORDS_H

#include <stdbool.h>
#include <stddef.h>

#include <tallystone/words/choices.h>

#define TS_ENUM_ID(list, id, word) TS_##list##_##id,
#define TS_CHOICE_ENUM(type, LIST, ITEMS)                                                          \
    typedef enum type { TS_##LIST##_NONE, ITEMS(TS_ENUM_ID) TS_##LIST##_COUNT } type

TS_CHOICE_ENUM(ts_claw, CLAW, TS_CLAWS);
TS_CHOICE_ENUM(ts_faces, FACES, TS_FACES);
TS_CHOICE_ENUM(ts_origin, ORIGIN, TS_ORIGINS);
TS_CHOICE_ENUM(ts_wear, WEAR, TS_WEARS);
TS_CHOICE_ENUM(ts_supplier, SUPPLIER, TS_SUPPLIERS);
TS_CHOICE_ENUM(ts_made, MADE, TS_MADES);
TS_CHOICE_ENUM(ts_tip, TIP, TS_TIPS);
TS_CHOICE_ENUM(ts_point_of, POINT, TS_POINTS);
TS_CHOICE_ENUM(ts_use, USE, TS_USES);
TS_CHOICE_ENUM(ts_solid, SOLID, TS_SOLIDS);
TS_CHOICE_ENUM(ts_out_of, OUT_OF, TS_OUT_OFS);
TS_CHOICE_ENUM(ts_mesh_unit, MESH_UNIT, TS_MESH_UNITS);
TS_CHOICE_ENUM(ts_applies, APPLIES, TS_APPLIES);
TS_CHOICE_ENUM(ts_per, PER, TS_PERS);
TS_CHOICE_ENUM(ts_basis, BASIS, TS_BASES);
TS_CHOICE_ENUM(ts_due, DUE, TS_DUES);
TS_CHOICE_ENUM(ts_reduces, REDUCES, TS_REDUCES);
TS_CHOICE_ENUM(ts_yes, YES, TS_YESSES);
TS_CHOICE_ENUM(ts_per_weight, PER_WEIGHT, TS_WEIGHTS);
TS_CHOICE_ENUM(ts_paper, PAPER, TS_PAPERS);
TS_CHOICE_ENUM(ts_detail, DETAIL, TS_DETAILS);
TS_CHOICE_ENUM(ts_metal_kind, METAL, TS_METALS);
TS_CHOICE_ENUM(ts_section, SECTION, TS_SECTIONS);
TS_CHOICE_ENUM(ts_rule, RULE, TS_RULES);

typedef enum ts_corner { TS_CORNER_NONE, TS_CORNER_RADIUS, TS_CORNER_CUT } ts_corner;

typedef enum ts_shape {
    TS_SHAPE_NONE,
#define SHAPE(id, word, corner, tip, says) TS_SHAPE_##id,
#include <tallystone/words/shapes.def>
#undef SHAPE
    TS_SHAPE_COUNT
} ts_shape;

typedef enum ts_profile {
    TS_PROFILE_NONE,
#define PROFILE(id, word, alias, says) TS_PROFILE_##id,
#include <tallystone/words/profiles.def>
#undef PROFILE
    TS_PROFILE_COUNT
} ts_profile;

typedef enum ts_setting {
    TS_SETTING_NONE,
#define SETTING(id, word, says) TS_SETTING_##id,
#include <tallystone/words/settings.def>
#undef SETTING
    TS_SETTING_COUNT
} ts_setting;

typedef enum ts_girdle {
    TS_GIRDLE_NONE,
#define GIRDLE(id, word, small, middle, large) TS_GIRDLE_##id,
#include <tallystone/words/girdles.def>
#undef GIRDLE
    TS_GIRDLE_COUNT
} ts_girdle;

typedef enum ts_size_system {
    TS_SIZE_NONE,
#define SIZE_SYSTEM(id, unit, says) TS_SIZE_##id,
#include <tallystone/words/sizes.def>
#undef SIZE_SYSTEM
    TS_SIZE_COUNT
} ts_size_system;

typedef enum ts_species {
    TS_SPECIES_NONE,
#define SPECIES(id, word, sg, says) TS_SPECIES_##id,
#include <tallystone/words/species.def>
#undef SPECIES
    TS_SPECIES_COUNT
} ts_species;

/* Every list above, by one name, for the reader of cells. */
typedef enum ts_list {
    TS_LIST_NONE,
    TS_LIST_CLAW,
    TS_LIST_FACES,
    TS_LIST_ORIGIN,
    TS_LIST_WEAR,
    TS_LIST_SUPPLIER,
    TS_LIST_MADE,
    TS_LIST_TIP,
    TS_LIST_POINT,
    TS_LIST_USE,
    TS_LIST_SOLID,
    TS_LIST_OUT_OF,
    TS_LIST_MESH_UNIT,
    TS_LIST_APPLIES,
    TS_LIST_PER,
    TS_LIST_BASIS,
    TS_LIST_DUE,
    TS_LIST_REDUCES,
    TS_LIST_YES,
    TS_LIST_PER_WEIGHT,
    TS_LIST_PAPER,
    TS_LIST_DETAIL,
    TS_LIST_METAL,
    TS_LIST_SECTION,
    TS_LIST_RULE,
    TS_LIST_SHAPE,
    TS_LIST_PROFILE,
    TS_LIST_SETTING,
    TS_LIST_GIRDLE,
    TS_LIST_SIZE,
    TS_LIST_SPECIES,
    TS_LIST_COUNT
} ts_list;

/* The words of a list by value; [0] is NULL. Borrowed. */
const char *const *ts_list_words(ts_list list, size_t *count);
/* The word of a value; "" for zero. */
const char *ts_list_word(ts_list list, int value);
/* The value of a word (folded, aliases read), 0 where it is unknown. */
int ts_list_find(ts_list list, const char *word);
/* "a, b or c" into the arena-free caller's buffer of `size` bytes: for faults and help. */
void ts_list_sentence(ts_list list, char *buffer, size_t size);
/* One line of explanation of a word, "" where the list has none. */
const char *ts_list_says(ts_list list, int value);

ts_corner ts_shape_corner(ts_shape shape);
bool ts_shape_has_tip(ts_shape shape);
/* Correction in thousandths for a girdle word and a diameter class 0, 1, 2. */
int ts_girdle_thousandths(ts_girdle girdle, int size_class);
/* Specific gravity in thousandths. */
int ts_species_sg(ts_species species);

#endif

/* Short closed lists of words that code acts on: X(LIST, id, word) gives TS_LIST_id;
 * TS_LIST_NONE, zero, means that nothing was said. */
#ifndef TS_WORDS_CHOICES_H
#define TS_WORDS_CHOICES_H

/* clang-format off */
#define TS_CLAWS(X)     X(CLAW, ROUND, "round") X(CLAW, POINTED, "pointed") X(CLAW, FLAT, "flat") \
                        X(CLAW, V, "v") X(CLAW, DOUBLE, "double")
#define TS_FACES(X)     X(FACES, UP, "up") X(FACES, OUT, "out") X(FACES, SIDE, "side")
#define TS_ORIGINS(X)   X(ORIGIN, NATURAL, "natural") X(ORIGIN, LABORATORY, "laboratory-grown")
#define TS_WEARS(X)     X(WEAR, DAILY, "daily") X(WEAR, OCCASIONAL, "occasional")
#define TS_SUPPLIERS(X) X(SUPPLIER, STUDIO, "studio") X(SUPPLIER, CLIENT, "client")
#define TS_MADES(X)     X(MADE, CAST, "cast") X(MADE, APART, "apart")
#define TS_TIPS(X)      X(TIP, OUT, "out") X(TIP, IN, "in")
#define TS_POINTS(X)    X(POINT, STONE, "stone") X(POINT, CLAW, "claw")
#define TS_USES(X)      X(USE, CREDIT, "credit") X(USE, PIECE, "in the piece")
#define TS_SOLIDS(X)    X(SOLID, MODEL, "model") X(SOLID, FINISHED, "finished")
#define TS_OUT_OFS(X)   X(OUT_OF, OLD_PIECE, "old piece")
#define TS_MESH_UNITS(X) X(MESH_UNIT, MM, "mm") X(MESH_UNIT, IN, "in")
/* the books */
#define TS_APPLIES(X)   X(APPLIES, ALWAYS, "always") X(APPLIES, ASKED, "asked") X(APPLIES, OFFERED, "offered") \
                        X(APPLIES, CLIENT_STONE, "client stone") X(APPLIES, STUDIO_STONE, "studio stone")
#define TS_PERS(X)      X(PER, PIECE, "piece") X(PER, STONE, "stone") X(PER, CLAW, "claw") X(PER, JOINT, "joint") \
                        X(PER, CASTING, "casting") X(PER, HOUR, "hour")
#define TS_BASES(X)     X(BASIS, EACH, "each") X(BASIS, PRICE, "percent of price") \
                        X(BASIS, CLIENT_STONES, "percent of client stones") X(BASIS, VALUE, "percent of value")
#define TS_DUES(X)      X(DUE, PAYMENT, "payment") X(DUE, DELIVERY, "delivery")
#define TS_REDUCES(X)   X(REDUCES, YES, "reduces")
#define TS_YESSES(X)    X(YES, YES, "yes") X(YES, NO, "no")
#define TS_WEIGHTS(X)   X(PER_WEIGHT, TROY_OUNCE, "troy ounce") X(PER_WEIGHT, GRAM, "gram") X(PER_WEIGHT, KILOGRAM, "kilogram")
#define TS_PAPERS(X)    X(PAPER, A4, "A4") X(PAPER, LETTER, "Letter")
#define TS_DETAILS(X)   X(DETAIL, TOTAL, "total") X(DETAIL, SECTIONS, "sections") X(DETAIL, LINES, "lines")
#define TS_METALS(X)    X(METAL, GOLD, "gold") X(METAL, PLATINUM, "platinum") X(METAL, PALLADIUM, "palladium") \
                        X(METAL, SILVER, "silver") X(METAL, NICKEL, "nickel")
/* costing: sections in the order in which they are worked out */
#define TS_SECTIONS(X)  X(SECTION, METAL, "metal") X(SECTION, MELEE, "melee") X(SECTION, STONES, "stones") \
                        X(SECTION, LABOUR, "labour") X(SECTION, OVERHEAD, "overhead") \
                        X(SECTION, CONTINGENCY, "contingency") X(SECTION, SERVICES, "services")
/* policy.csv: rules */
#define TS_RULES(X)     X(RULE, MARKUP, "markup") X(RULE, MARGIN, "margin") X(RULE, AT_COST, "at cost") \
                        X(RULE, TIERS, "tiers") X(RULE, SPARES, "spares") X(RULE, OVERHEAD, "overhead") \
                        X(RULE, CONTINGENCY, "contingency") X(RULE, FLOOR, "floor") X(RULE, MINIMUM, "minimum") \
                        X(RULE, ROUND_UP, "round up") X(RULE, SURCHARGE, "surcharge") X(RULE, PAYMENT, "payment") \
                        X(RULE, KEEP, "keep") X(RULE, VALID, "valid") X(RULE, TOLERANCE, "tolerance") \
                        X(RULE, PLAUSIBLE, "plausible") X(RULE, STALE, "stale") \
                        X(RULE, WEIGHT_ADJUSTS, "weight adjusts") X(RULE, ROUNDING, "rounding")
/* clang-format on */

#endif

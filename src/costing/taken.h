/* The one door through which amounts of the quantities come into figures.
 *
 * A figure's leaf remembers which amount it is (ts_taken and its position), so that the
 * same tree can be worked out for other quantities of the same shape. */
#ifndef TS_COSTING_TAKEN_H
#define TS_COSTING_TAKEN_H

#include <tallystone/quantities/quantities.h>

typedef enum ts_taken {
    TS_TAKEN_NONE, /* a leaf that no quantity stands for */
#define TAKEN(id, holder, member, counted) TS_TAKEN_##id,
#include "costing/taken.def"
#undef TAKEN
    TS_TAKEN_ONCE,          /* 1: what is done once in every piece of the shape */
    TS_TAKEN_DISCOUNT,      /* what was agreed */
    TS_TAKEN_CLIENT_STONES, /* feature stones of the client, all pieces */
    TS_TAKEN_STUDIO_STONES, /* and of the studio */
    TS_TAKEN_COUNT
} ts_taken;

/* An amount's value is that of the quantity over this. */
#define TS_TAKEN_PER(take) ((take).whole ? 1 : 1000000)

typedef enum ts_holder {
    TS_HOLDER_metals,
    TS_HOLDER_bought,
    TS_HOLDER_melee,
    TS_HOLDER_stones,
    TS_HOLDER_works,
    TS_HOLDER_services,
    TS_HOLDER_trade_ins,
    TS_HOLDER_OWN, /* `own` below, in the order of ts_taken from ONCE on */
    TS_HOLDER_COUNT
} ts_holder;

/* Where the amounts of one list of quantities begin, by holder. */
typedef struct ts_takes {
    const char *holders[TS_HOLDER_COUNT];
    int64_t own[TS_TAKEN_COUNT - TS_TAKEN_ONCE];
} ts_takes;

/* A place of an amount: its holder and the bytes from where that begins. */
typedef struct ts_take {
    uint32_t offset;
    uint8_t holder; /* ts_holder */
    bool whole;     /* an int, or an int64_t of the own; else millionths, an int64_t */
} ts_take;

/* `out` points into itself and must stay where it is. */
void ts_takes_of(ts_takes *out, const ts_quantities *needs);
ts_take ts_take_of(ts_taken what, int index);
/* One of the amounts that stand in the list itself. */
int64_t ts_takes_own(const ts_takes *takes, ts_taken what);
int64_t ts_take_value(const ts_takes *takes, const ts_take *take);

#endif

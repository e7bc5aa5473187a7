/* What may become of a price, in sentences for the owner: the metal prices at which it
 * misses the floor, how sure its margin is, what is bought before it is paid, when the piece
 * can be ready. */
#ifndef TS_PAPERS_OUTLOOK_H
#define TS_PAPERS_OUTLOOK_H

#include <tallystone/base/arena.h>
#include <tallystone/costing/costing.h>

/* Whole sentences, into the arena. */
typedef struct ts_outlook {
    const char **metals; /* one for each metal that the price rests on; at least one sentence */
    int metal_count;
    const char *range;
    const char *cash;
    const char *ready;
    bool is_late; /* `ready` lies after the day the client needs it, and says so */
} ts_outlook;

/* Draws are seeded: the same input, the same sentences. */
ts_outlook ts_outlook_of(ts_arena *arena, const ts_costing *costing);

#endif

/* What may follow in a quote's life, for help: the register's table in words. */
#ifndef TS_DESK_FOLLOWING_H
#define TS_DESK_FOLLOWING_H

#include <tallystone/base/arena.h>

typedef struct ts_following {
    const char *state;
    const char *may; /* "accept, decline or revise" */
} ts_following;

int ts_following_count(void);
/* Row `index` from 0, into the arena. */
ts_following ts_following_of(ts_arena *arena, int index);

#endif

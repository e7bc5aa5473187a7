#include "desk/following.h"

#include <tallystone/register/life.h>

/* The command line does not know the register; it asks here what its help says of it. */

int ts_following_count(void)
{
    return TS_STATE_COUNT - 1;
}

ts_following ts_following_of(ts_arena *arena, int index)
{
    const ts_state state = (ts_state)(index + 1);
    return (ts_following){ts_state_word(state), ts_state_may(arena, state)};
}

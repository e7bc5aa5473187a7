#include "costing/taken.h"

#include <stddef.h>
#include <string.h>

/* Amounts by place: a table of members, so that thirty of them are read in a loop. */

typedef struct member {
    ts_holder holder;
    size_t stride;
    size_t offset;
    bool whole;
} member;

#define COUNTED_WHOLE true
#define COUNTED_MILLIONTHS false

static const member members[TS_TAKEN_COUNT] = {
#define TAKEN(id, holder, member, counted)                                                         \
    [TS_TAKEN_##id] = {TS_HOLDER_##holder, sizeof *((ts_quantities *)0)->holder,                   \
                       offsetof(holder_##holder, member), COUNTED_##counted},
#define holder_metals ts_metal_need
#define holder_bought ts_bought_need
#define holder_melee ts_melee_need
#define holder_stones ts_stone_need
#define holder_works ts_work_need
#define holder_services ts_service_need
#define holder_trade_ins ts_trade_in_need
#include "costing/taken.def"
#undef TAKEN
#define OWN(id, counted)                                                                           \
    [TS_TAKEN_##id] = {TS_HOLDER_OWN, 0, (TS_TAKEN_##id - TS_TAKEN_ONCE) * sizeof(int64_t), counted}
    OWN(ONCE, true),
    OWN(DISCOUNT, false),
    OWN(CLIENT_STONES, true),
    OWN(STUDIO_STONES, true),
};

void ts_takes_of(ts_takes *out, const ts_quantities *needs)
{
    int64_t client = 0, studio = 0;
    for (int i = 0; i < needs->stone_count; i++) {
        *(needs->stones[i].client ? &client : &studio) += needs->stones[i].count;
    }
    *out = (ts_takes){
        .holders =
            {
                [TS_HOLDER_metals] = (const char *)needs->metals,
                [TS_HOLDER_bought] = (const char *)needs->bought,
                [TS_HOLDER_melee] = (const char *)needs->melee,
                [TS_HOLDER_stones] = (const char *)needs->stones,
                [TS_HOLDER_works] = (const char *)needs->works,
                [TS_HOLDER_services] = (const char *)needs->services,
                [TS_HOLDER_trade_ins] = (const char *)needs->trade_ins,
                [TS_HOLDER_OWN] = (const char *)out->own,
            },
        .own = {1, needs->terms.discount.value.e6, client, studio},
    };
}

int64_t ts_takes_own(const ts_takes *takes, ts_taken what)
{
    return takes->own[what - TS_TAKEN_ONCE];
}

ts_take ts_take_of(ts_taken what, int index)
{
    const member *at = &members[what];
    return (ts_take){.offset = (uint32_t)((size_t)index * at->stride + at->offset),
                     .holder = (uint8_t)at->holder,
                     .whole = at->whole};
}

int64_t ts_take_value(const ts_takes *takes, const ts_take *take)
{
    const char *from = takes->holders[take->holder] + take->offset;
    int64_t value = 0;
    if (take->whole && take->holder != TS_HOLDER_OWN) {
        int whole = 0;
        memcpy(&whole, from, sizeof whole);
        return whole;
    }
    memcpy(&value, from, sizeof value);
    return value;
}

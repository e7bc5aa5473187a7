/* Any bytes as a mesh: they are measured or refused, and what is said of them holds. */
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "geometry/mesh.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static void hold(int claim)
{
    if (!claim) {
        abort();
    }
}

static void hold_result(const ts_mesh_result *r)
{
    char sentence[TS_MESH_SENTENCE_BYTES];
    ts_mesh_sentence(r, sentence, sizeof sentence);
    const size_t length = strlen(sentence);
    hold(length < sizeof sentence - 1);
    hold((r->reason == TS_MESH_NONE) == (length == 0));
    hold(r->flat_facets >= 0 && r->flat_facets <= r->facets);
    for (int i = 0; ts_mesh_note(r, i, sentence, sizeof sentence); i++) {
        hold(strlen(sentence) > 0 && strlen(sentence) < sizeof sentence - 1);
    }
    if (r->reason != TS_MESH_NONE) {
        hold(r->volume_mm3 == 0.0);
        return;
    }
    hold(isfinite(r->volume_mm3) && r->volume_mm3 > 0.0);
    hold(r->open_edges == 0 && r->facets >= 4 && r->shells > r->hollows);
    for (int axis = 0; axis < 3; axis++) {
        hold(r->low_mm[axis] <= r->high_mm[axis]);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    ts_mesh_result once;
    ts_mesh_result again;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    (void)ts_mesh_measure(&once, arena, (const char *)bytes, length, 1.0);
    hold_result(&once);
    (void)ts_mesh_measure(&again, arena, (const char *)bytes, length, 1.0);
    hold(memcmp(&once.volume_mm3, &again.volume_mm3, sizeof once.volume_mm3) == 0);
    hold(once.reason == again.reason && once.open_edges == again.open_edges);
    hold(memcmp(once.at_mm, again.at_mm, sizeof once.at_mm) == 0);
    ts_arena_free(arena);
    return 0;
}

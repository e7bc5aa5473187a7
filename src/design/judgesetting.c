#include "design/build.h"

#include <tallystone/base/text.h>

#include "design/tables.h"

/* Rules across the measures of what holds stones or carries melee: heads, halos and rows
 * along the shank. */

static bool has(const ts_part *part, ts_field_id field)
{
    return ts_part_has(part, field);
}

static bool sound(const ts_part *part, ts_field_id field)
{
    return ts_build_sound(part, field);
}

/* Two measures of which a part takes one. */
void ts_judge_one_of(const ts_build *b, const ts_part *part, ts_field_id one, ts_field_id other)
{
    if (has(part, one) && has(part, other)) {
        if (sound(part, one) && sound(part, other)) {
            ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part, ts_build_later(part, one, other),
                           "%s: `%s` and `%s` exclude each other; keep one",
                           ts_build_title(b, part), ts_field_of(one)->word,
                           ts_field_of(other)->word);
        }
        return;
    }
    if (!has(part, one) && !has(part, other) && sound(part, one) && sound(part, other)) {
        ts_build_missing(b, part, one,
                         ts_arena_format(b->arena, ", and so is `%s`, which would serve instead",
                                         ts_field_of(other)->word));
    }
}

/* ---- heads ---- */

static void judge_head(const ts_build *b, const ts_head *head)
{
    const ts_part *part = &head->part;

    if (sound(part, TS_FIELD_HEAD_RAILS) && head->rails > 0) {
        ts_build_missing(b, part, TS_FIELD_HEAD_RAIL_DIAMETER, ": it has rails");
    }
    if (ts_build_has(part, TS_FIELD_HEAD_SHARED) && ts_build_has(part, TS_FIELD_HEAD_CLAWS) &&
        head->shared > head->claws) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                       ts_build_later(part, TS_FIELD_HEAD_CLAWS, TS_FIELD_HEAD_SHARED),
                       "%s: %ld of its claws can't be shared, for it has %ld",
                       ts_build_title(b, part), (long)head->shared, (long)head->claws);
    }
}

/* ---- halos ---- */

/* `faces` has three words, of which each part takes two. False where it is another. */
static bool judge_faces(const ts_build *b, ts_part *part, ts_field_id field, int32_t faces,
                        ts_faces refused)
{
    const int one = refused == TS_FACES_UP ? TS_FACES_OUT : TS_FACES_UP;
    const int other = refused == TS_FACES_SIDE ? TS_FACES_OUT : TS_FACES_SIDE;

    if (!ts_build_has(part, field)) {
        return sound(part, field);
    }
    if (faces != (int32_t)refused) {
        return true;
    }
    ts_build_fault(b, TS_FAULT_WORD_UNKNOWN, part, field,
                   "%s can't face \"%s\"; %s or %s is expected", ts_build_title(b, part),
                   ts_list_word(TS_LIST_FACES, (int)refused), ts_list_word(TS_LIST_FACES, one),
                   ts_list_word(TS_LIST_FACES, other));
    ts_build_spoil(part, field);
    return false;
}

/* A measure that only the other way of facing takes. */
static void refuse_for_faces(const ts_build *b, const ts_halo *halo, ts_field_id field,
                             const char *instead)
{
    const ts_part *part = &halo->part;

    if (ts_build_has(part, field)) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                       ts_build_later(part, TS_FIELD_HALO_FACES, field),
                       "%s faces %s and takes no `%s`; %s", ts_build_title(b, part),
                       ts_list_word(TS_LIST_FACES, halo->faces), ts_field_of(field)->word, instead);
    }
}

static void judge_halo_place(const ts_build *b, const ts_halo *halo)
{
    const ts_part *part = &halo->part;

    if (halo->faces == TS_FACES_UP) {
        ts_build_missing(b, part, TS_FIELD_HALO_GAP, ": it faces up");
        refuse_for_faces(b, halo, TS_FIELD_HALO_UNDER, "its place is told by `gap`");
        refuse_for_faces(b, halo, TS_FIELD_HALO_OFFSET, "its place is told by `gap`");
        return;
    }
    refuse_for_faces(b, halo, TS_FIELD_HALO_GAP, "its place is told by `under` or `offset`");
    ts_judge_one_of(b, part, TS_FIELD_HALO_UNDER, TS_FIELD_HALO_OFFSET);
}

static void judge_halo_gap(const ts_build *b, const ts_halo *halo)
{
    const ts_part *part = &halo->part;
    char text[TS_DECIMAL_TEXT];

    if (ts_build_has(part, TS_FIELD_HALO_GAP) && halo->gap.e6 < 0 &&
        sound(part, TS_FIELD_HALO_DROP) && halo->drop.e6 <= 0) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                       ts_build_later(part, TS_FIELD_HALO_GAP, TS_FIELD_HALO_DROP),
                       "%s: a gap of %s mm would put its stones into the one it goes around; a gap "
                       "below 0 is expected only with a `drop` over 0",
                       ts_build_title(b, part), ts_dec_text(text, halo->gap));
    }
}

static bool same_ref(ts_ref one, ts_ref other)
{
    return one.kind == other.kind && one.index == other.index;
}

/* What a halo names must lie flat, for only then it has an outer edge and a line above. */
static void judge_halo_faces_of(const ts_build *b, const ts_halo *halo, ts_field_id field,
                                ts_ref ref, const char *does)
{
    const ts_design *design = b->design;

    if (ref.kind != TS_PART_HALO) {
        return;
    }
    const ts_halo *other = &design->halo[ref.index];
    if (ts_build_has(&other->part, TS_FIELD_HALO_FACES) && other->faces == TS_FACES_OUT) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, &halo->part, field,
                       "%s %s %s, which faces out; a halo that faces up is expected there",
                       ts_build_title(b, &halo->part), does, ts_build_title(b, &other->part));
    }
    if (field == TS_FIELD_HALO_UNDER && halo->stone_ref.kind != TS_PART_NONE &&
        other->stone_ref.kind != TS_PART_NONE && !same_ref(halo->stone_ref, other->stone_ref)) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, &halo->part,
                       ts_build_later(&halo->part, TS_FIELD_HALO_AROUND, TS_FIELD_HALO_UNDER),
                       "%s goes around %s and stands under %s, which goes around %s; one stone is "
                       "expected for both",
                       ts_build_title(b, &halo->part),
                       ts_build_title(b, ts_design_part(design, halo->stone_ref)),
                       ts_build_title(b, &other->part),
                       ts_build_title(b, ts_design_part(design, other->stone_ref)));
    }
}

static void judge_halo(const ts_build *b, ts_halo *halo)
{
    if (judge_faces(b, &halo->part, TS_FIELD_HALO_FACES, halo->faces, TS_FACES_SIDE)) {
        judge_halo_place(b, halo);
    }
    judge_halo_gap(b, halo);
    judge_halo_faces_of(b, halo, TS_FIELD_HALO_AROUND, halo->around_ref, "goes around");
    judge_halo_faces_of(b, halo, TS_FIELD_HALO_UNDER, halo->under_ref, "stands under");
}

/* ---- rows along the shank ---- */

/* Where no other metal is there either the shank has been missed already. */
static void judge_row_shank(const ts_build *b, const ts_part *part)
{
    if (b->design->shank_count == 0 && b->design->metal_count + b->design->mesh_count > 0) {
        const ts_place place = ts_part_place_any(b->design, b->arena, part);

        ts_diag_add(b->diag, TS_FAULT_PART_MISSING, &place,
                    "%s lies along the shank, and the sheet has none", ts_build_title(b, part));
    }
}

static void judge_row(const ts_build *b, ts_row *row)
{
    ts_part *part = &row->part;
    char from[TS_DECIMAL_TEXT];
    char to[TS_DECIMAL_TEXT];

    judge_faces(b, part, TS_FIELD_ROW_FACES, row->faces, TS_FACES_UP);
    ts_judge_one_of(b, part, TS_FIELD_ROW_TO, TS_FIELD_ROW_COUNT);
    if (ts_build_has(part, TS_FIELD_ROW_TO) && ts_build_has(part, TS_FIELD_ROW_FROM) &&
        row->to.e6 <= row->from.e6) {
        ts_build_fault(b, TS_FAULT_MEASURE_CLASH, part,
                       ts_build_later(part, TS_FIELD_ROW_FROM, TS_FIELD_ROW_TO),
                       "%s: it begins at %s deg and ends at %s deg; an end further from the top is "
                       "expected",
                       ts_build_title(b, part), ts_dec_text(from, row->from),
                       ts_dec_text(to, row->to));
    }
    if (ts_build_has(part, TS_FIELD_ROW_END_DIAMETER) &&
        ts_build_has(part, TS_FIELD_ROW_STONE_DIAMETER) &&
        row->end_diameter.e6 >= row->stone_diameter.e6) {
        ts_build_fault(
            b, TS_FAULT_MEASURE_CLASH, part,
            ts_build_later(part, TS_FIELD_ROW_STONE_DIAMETER, TS_FIELD_ROW_END_DIAMETER),
            "%s: a graduated row goes down from %s mm, so an end diameter of %s mm can't "
            "be; a smaller one is expected",
            ts_build_title(b, part), ts_dec_text(from, row->stone_diameter),
            ts_dec_text(to, row->end_diameter));
    }
    judge_row_shank(b, part);
}

void ts_judge_settings(ts_build *b)
{
    for (int i = 0; i < b->design->head_count; i++) {
        judge_head(b, &b->design->head[i]);
    }
    for (int i = 0; i < b->design->halo_count; i++) {
        judge_halo(b, &b->design->halo[i]);
    }
    for (int i = 0; i < b->design->row_count; i++) {
        judge_row(b, &b->design->row[i]);
    }
}

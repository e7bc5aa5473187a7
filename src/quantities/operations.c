#include "quantities/counting.h"

/* Labour to be counted.
 *
 * It comes from three places: the books' operations that always apply, what the piece itself
 * asks for (set, form, cast, join, unset), and the sheet's own work rows. Equal needs are one
 * line, so that a set-up is planned once. */

static void add_work(ts_counting *c, const ts_work_need *work)
{
    ts_quantities *out = c->out;

    if (work->count <= 0 && !work->has_minutes) {
        return;
    }
    out->works = ts_arena_grow(c->arena, out->works, (size_t)out->work_count, &c->work_room,
                               sizeof *out->works);
    out->works[out->work_count++] = *work;
}

static bool same_text(const char *one, const char *other)
{
    if (one == NULL || other == NULL) {
        return one == other;
    }
    return ts_text_same(one, other);
}

static const ts_labour_row *priced_by(const ts_counting *c, const ts_work_need *work)
{
    const ts_labour_row *tie = NULL;
    const ts_labour_key key = {.operation = work->operation,
                               .has_size = work->has_size,
                               .size_mm = work->size_mm,
                               .alloy = work->alloy,
                               .main_metal = work->main_metal,
                               .shape = work->shape,
                               .species = work->species,
                               .client = work->client};

    return ts_book_labour(c->book, &key, c->on, &tie);
}

static bool is_same_key(const ts_work_need *one, const ts_work_need *other)
{
    return same_text(one->alloy, other->alloy) && same_text(one->shape, other->shape) &&
           same_text(one->species, other->species) && one->client == other->client;
}

/* One line an operation, in setting one a size, in casting one an alloy: needs that differ
 * in what no row tells apart are planned together, with one set-up. */
static bool is_same_line(const ts_counting *c, const ts_work_need *one, const ts_work_need *other)
{
    if (!ts_text_same(one->operation, other->operation) || one->has_size != other->has_size ||
        one->size_mm.e6 != other->size_mm.e6 || one->asked || one->has_minutes) {
        return false;
    }
    if (is_same_key(one, other)) {
        return true;
    }
    const ts_labour_row *row = priced_by(c, one);
    return row != NULL && row == priced_by(c, other) && !ts_text_same(one->operation, "cast");
}

/* Adds to the line of the same kind from `first` on, or as a line of its own. */
static void merge_work(ts_counting *c, int first, const ts_work_need *work)
{
    for (int i = first; i < c->out->work_count; i++) {
        ts_work_need *line = &c->out->works[i];
        if (is_same_line(c, line, work)) {
            line->count += work->count;
            line->whence.says = ts_count_also(c, line->whence.says, work->whence.says);
            return;
        }
    }
    add_work(c, work);
}

static ts_work_need work_in(const ts_counting *c, const char *operation, const char *alloy)
{
    return (ts_work_need){.operation = operation,
                          .alloy = alloy,
                          .main_metal = ts_count_main_metal(c, alloy),
                          .whence = {.file = c->file}};
}

/* ---- what always applies ---- */

static int stones_set(const ts_counting *c)
{
    int count = 0;

    for (int i = 0; i < c->out->melee_count; i++) {
        count += c->out->melee[i].set;
    }
    for (int i = 0; i < c->out->stone_count; i++) {
        count += c->out->stones[i].count;
    }
    return count;
}

/* How often an operation is done that is counted by `per` (castings: see below). */
static int count_of(const ts_counting *c, ts_per per)
{
    switch (per) {
    case TS_PER_PIECE:
    case TS_PER_HOUR:
        return 1;
    case TS_PER_STONE:
        return stones_set(c);
    case TS_PER_CLAW:
        return c->claws;
    case TS_PER_JOINT:
        return c->joints;
    case TS_PER_CASTING:
    case TS_PER_NONE:
    case TS_PER_COUNT:
        break;
    }
    return 0;
}

/* The row that an operation is done by in this alloy; NULL where none applies to it. */
static const ts_labour_row *row_for(const ts_counting *c, const ts_work_need *work)
{
    ts_labour_key key = {
        .operation = work->operation, .alloy = work->alloy, .main_metal = work->main_metal};
    const ts_labour_row *tie = NULL;

    return ts_book_labour(c->book, &key, c->on, &tie);
}

static void add_always(ts_counting *c, const char *operation)
{
    ts_work_need work = work_in(c, operation, ts_design_alloy(c->design, NULL));
    const ts_labour_row *row = row_for(c, &work);

    if (row != NULL && row->per != TS_PER_CASTING) {
        work.count = count_of(c, (ts_per)row->per);
        work.whence.says = ts_count_says(c, "always, per %s (labour.csv:%d)",
                                         ts_list_word(TS_LIST_PER, row->per), row->head.line);
        add_work(c, &work);
        return;
    }
    for (int i = 0; i < c->out->metal_count; i++) {
        const ts_metal_need *metal = &c->out->metals[i];
        work = work_in(c, operation, metal->alloy);
        row = row_for(c, &work);
        if (row == NULL || row->per != TS_PER_CASTING) {
            continue;
        }
        work.count = metal->castings;
        work.whence.says = ts_count_says(c, "always, per casting (labour.csv:%d)", row->head.line);
        add_work(c, &work);
    }
}

static bool is_listed(const ts_counting *c, const char *operation)
{
    for (int i = 0; i < c->out->work_count; i++) {
        if (ts_text_same(c->out->works[i].operation, operation)) {
            return true;
        }
    }
    return false;
}

static void count_always(ts_counting *c)
{
    for (size_t i = 0; i < c->book->labour.count; i++) {
        const ts_labour_row *row = &c->book->labour.at[i];
        if (row->applies == TS_APPLIES_ALWAYS && !is_listed(c, row->operation) &&
            ts_book_current(c->book, &row->head, c->on)) {
            add_always(c, row->operation);
        }
    }
}

/* ---- setting ---- */

static const char *set_operation(const ts_counting *c, int setting)
{
    return ts_arena_format(c->arena, "set %s", ts_list_word(TS_LIST_SETTING, setting));
}

/* Melee of a halo or a row. */
typedef struct melee_set {
    const ts_part *part;
    const char *lot;
    const ts_row_shape *shape;
} melee_set;

/* Melee of one halo or row, a line for each size. */
static void set_melee(ts_counting *c, int first, const melee_set *of, const ts_work_need *like)
{
    const ts_row_shape *shape = of->shape;

    for (int i = 0; i < shape->size_count; i++) {
        ts_work_need work = *like;
        work.has_size = true;
        work.size_mm = ts_weigh_measure(c, shape->sizes[i].diameter_mm, "a stone's diameter");
        work.count = shape->sizes[i].stones * shape->copies;
        const ts_melee_row *step = ts_book_melee(c->book, of->lot, work.size_mm, c->on);
        work.shape = step != NULL ? ts_list_word(TS_LIST_SHAPE, step->shape) : NULL;
        work.species = step != NULL ? step->species : NULL;
        work.whence.says = ts_count_times(c, of->part, work.count);
        merge_work(c, first, &work);
    }
}

static void set_rows(ts_counting *c, int first)
{
    const ts_design *d = c->design;

    for (int i = 0; i < d->halo_count; i++) {
        const ts_halo *halo = &d->halo[i];
        ts_work_need work = work_in(c, set_operation(c, halo->setting),
                                    ts_count_alloy_of(c, &halo->part, halo->alloy));
        melee_set of = {&halo->part, halo->lot, &c->geometry->halos[i]};
        work.client = halo->supplied_by == TS_SUPPLIER_CLIENT;
        work.whence.line = ts_part_line(&halo->part, TS_FIELD_HALO_SETTING);
        set_melee(c, first, &of, &work);
    }
    for (int i = 0; i < d->row_count; i++) {
        const ts_row *row = &d->row[i];
        const char *alloy = ts_design_alloy(d, NULL);
        if (d->shank_count > 0) {
            alloy = ts_count_alloy_of(c, &d->shank[0].part, d->shank[0].alloy);
        }
        ts_work_need work = work_in(c, set_operation(c, row->setting), alloy);
        melee_set of = {&row->part, row->lot, &c->geometry->rows[i]};
        work.client = row->supplied_by == TS_SUPPLIER_CLIENT;
        work.whence.line = ts_part_line(&row->part, TS_FIELD_ROW_SETTING);
        set_melee(c, first, &of, &work);
    }
}

/* The metal that holds a stone: of its head, else of its bezel, else the ring's. */
static const char *holder_alloy(const ts_counting *c, int stone)
{
    const ts_design *d = c->design;

    for (int i = 0; i < d->head_count; i++) {
        if (d->head[i].holds_ref.kind == TS_PART_STONE && d->head[i].holds_ref.index == stone) {
            return ts_count_alloy_of(c, &d->head[i].part, d->head[i].alloy);
        }
    }
    for (int i = 0; i < d->bezel_count; i++) {
        if (d->bezel[i].holds_ref.kind == TS_PART_STONE && d->bezel[i].holds_ref.index == stone) {
            return ts_count_alloy_of(c, &d->bezel[i].part, d->bezel[i].alloy);
        }
    }
    return ts_design_alloy(d, NULL);
}

static ts_work_need work_on_stone(ts_counting *c, int index, const char *operation,
                                  ts_field_id field)
{
    const ts_stone *stone = &c->design->stone[index];
    ts_work_need work = work_in(c, operation, holder_alloy(c, index));

    work.shape = ts_list_word(TS_LIST_SHAPE, stone->shape);
    work.species = stone->species;
    work.client = stone->supplied_by == TS_SUPPLIER_CLIENT;
    work.count = c->geometry->stones[index].copies;
    work.whence.line = ts_part_line(&stone->part, field);
    work.whence.says = ts_count_times(c, &stone->part, work.count);
    return work;
}

static void set_stones(ts_counting *c, int first)
{
    for (int i = 0; i < c->design->stone_count; i++) {
        ts_work_need work = work_on_stone(c, i, set_operation(c, c->design->stone[i].setting),
                                          TS_FIELD_STONE_SETTING);
        work.has_size = true;
        work.size_mm = ts_count_stone_size(c, i);
        merge_work(c, first, &work);
    }
}

/* ---- forming, casting, joining, taking out ---- */

static void form(ts_counting *c, int first, int index, ts_claw style, int count)
{
    const ts_head *head = &c->design->head[index];
    const char *operation =
        ts_arena_format(c->arena, "form %s claw", ts_list_word(TS_LIST_CLAW, (int)style));
    ts_work_need work = work_in(c, operation, ts_count_alloy_of(c, &head->part, head->alloy));

    work.count = count * c->geometry->heads[index].copies;
    work.whence.line = ts_part_line(&head->part, TS_FIELD_HEAD_CLAWS);
    work.whence.says = ts_count_times(c, &head->part, work.count);
    if (work.count > 0) {
        merge_work(c, first, &work);
    }
}

static void form_claws(ts_counting *c, int first)
{
    for (int i = 0; i < c->design->head_count; i++) {
        const ts_head_shape *shape = &c->geometry->heads[i];
        form(c, first, i, (ts_claw)c->design->head[i].claw_style, shape->claws - shape->tip_claws);
        form(c, first, i, shape->tip_style, shape->tip_claws);
    }
}

static void cast_and_join(ts_counting *c, int first)
{
    for (int i = 0; i < c->out->metal_count; i++) {
        const ts_metal_need *metal = &c->out->metals[i];
        ts_work_need work = work_in(c, "cast", metal->alloy);
        work.count = metal->castings;
        work.whence.line = metal->whence.line;
        work.whence.says = "castings: one for the parts that are cast, one for each made apart";
        merge_work(c, first, &work);
    }
    for (int i = 0; i < c->joint_alloys; i++) {
        ts_work_need work = work_in(c, "join", c->joint_of[i]);
        work.count = c->joint_counts[i];
        work.whence.says = "joints of parts made apart, or of another alloy than the ring";
        merge_work(c, first, &work);
    }
}

static void unset_stones(ts_counting *c, int first)
{
    for (int i = 0; i < c->design->stone_count; i++) {
        if (c->design->stone[i].out_of == TS_OUT_OF_OLD_PIECE) {
            ts_work_need work = work_on_stone(c, i, "unset", TS_FIELD_STONE_OUT_OF);
            merge_work(c, first, &work);
        }
    }
}

/* ---- what the sheet asks for ---- */

static void count_asked(ts_counting *c)
{
    for (int i = 0; i < c->design->work_count; i++) {
        const ts_work *asked = &c->design->work[i];
        ts_work_need work = work_in(c, asked->operation, ts_design_alloy(c->design, NULL));
        work.asked = true;
        work.has_minutes = asked->minutes.e6 > 0;
        work.minutes = asked->minutes;
        work.count = work.has_minutes ? 1 : asked->count;
        work.whence.line = ts_part_line(&asked->part, work.has_minutes ? TS_FIELD_WORK_MINUTES
                                                                       : TS_FIELD_WORK_COUNT);
        work.whence.says = "as the sheet says";
        add_work(c, &work);
    }
}

void ts_count_operations(ts_counting *c)
{
    for (int i = 0; i < c->design->head_count; i++) {
        c->claws += c->geometry->heads[i].claws * c->geometry->heads[i].copies;
    }
    count_always(c);
    int first = c->out->work_count;
    set_stones(c, first);
    set_rows(c, first);
    form_claws(c, first);
    cast_and_join(c, first);
    unset_stones(c, first);
    count_asked(c);
}

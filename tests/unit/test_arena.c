/* Memory of the arena: what it gives out, what a rewind takes back, how it gives up. */
#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/arena.h>
#include <tallystone/base/status.h>

static void gives_zeroed_memory_also_after_a_rewind(void **state)
{
    (void)state;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    for (int round = 0; round < 3; round++) {
        const ts_arena_mark mark = ts_arena_mark_of(arena);
        for (size_t size = 1; size < 20000000; size = size * 3 + 1) {
            unsigned char *bytes = ts_arena_alloc(arena, size, 1);
            size_t set = 0;
            for (size_t i = 0; i < size; i++) {
                set += bytes[i] != 0;
            }
            assert_int_equal(set, 0);
            memset(bytes, 0xAA, size);
        }
        ts_arena_rewind(arena, mark);
    }
    ts_arena_free(arena);
}

static void aligns_every_object_for_any_type(void **state)
{
    (void)state;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    for (size_t size = 0; size < 100; size++) {
        const uintptr_t at = (uintptr_t)ts_arena_alloc(arena, size, 1);
        assert_int_equal(at % _Alignof(max_align_t), 0);
        const char *behind = ts_arena_text(arena, "odd"); /* texts are not aligned */
        const uintptr_t next = (uintptr_t)ts_arena_alloc(arena, size, 1);
        assert_int_equal(next % _Alignof(max_align_t), 0);
        ts_arena_format(arena, "%zu", size);
        assert_string_equal(behind, "odd");
    }
    ts_arena_free(arena);
}

static void objects_never_overlap(void **state)
{
    (void)state;
    enum { COUNT = 3000 };
    ts_arena *arena = ts_arena_new(NULL, NULL);
    uint32_t *objects[COUNT];
    size_t sizes[COUNT];
    for (uint32_t i = 0; i < COUNT; i++) {
        sizes[i] = i % 97 == 0 ? 40000 : i % 13;
        objects[i] = TS_ARRAY(arena, uint32_t, sizes[i]);
        for (size_t k = 0; k < sizes[i]; k++) {
            objects[i][k] = i;
        }
    }
    for (uint32_t i = 0; i < COUNT; i++) {
        for (size_t k = 0; k < sizes[i]; k++) {
            assert_int_equal(objects[i][k], i);
        }
    }
    ts_arena_free(arena);
}

static void a_rewind_leaves_what_is_older_than_the_mark(void **state)
{
    (void)state;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    const ts_arena_mark empty = ts_arena_mark_of(arena);
    const char *kept = ts_arena_text(arena, "kept");
    const ts_arena_mark mark = ts_arena_mark_of(arena);
    for (int round = 0; round < 1000; round++) {
        ts_arena_format(arena, "row %d of many", round);
        ts_arena_alloc(arena, 100000, 1);
        ts_arena_rewind(arena, mark);
    }
    assert_string_equal(kept, "kept");
    ts_arena_rewind(arena, empty);
    assert_string_equal(ts_arena_text(arena, "anew"), "anew");
    ts_arena_free(arena);
}

static void copies_and_formats_text(void **state)
{
    (void)state;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    assert_string_equal(ts_arena_copy(arena, "shank width", 5), "shank");
    assert_string_equal(ts_arena_copy(arena, NULL, 0), "");
    assert_string_equal(ts_arena_format(arena, "%s %d", "halo", 2), "halo 2");
    assert_string_equal(ts_arena_format(arena, "%d%%%s", INT_MIN, "!"), "-2147483648%!");
    assert_string_equal(ts_arena_format(arena, "%d to %d", 0, INT_MAX), "0 to 2147483647");
    char *longer = ts_arena_format(arena, "%70000d", 7);
    assert_int_equal(strlen(longer), 70000);
    ts_arena_free(arena);
}

static void a_growing_array_keeps_its_elements(void **state)
{
    (void)state;
    ts_arena *arena = ts_arena_new(NULL, NULL);
    size_t *numbers = NULL;
    size_t room = 0;
    for (size_t count = 0; count < 5000; count++) {
        numbers = ts_arena_grow(arena, numbers, count, &room, sizeof *numbers);
        assert_true(room > count);
        numbers[count] = count * count;
    }
    for (size_t i = 0; i < 5000; i++) {
        assert_int_equal(numbers[i], i * i);
    }
    ts_arena_free(arena);
}

static void leave(void *ctx)
{
    longjmp(*(jmp_buf *)ctx, 1);
}

/* True where the arena gives up on so much. */
static int gives_up_on(size_t count, size_t size)
{
    jmp_buf back;
    ts_arena *volatile arena = ts_arena_new(leave, &back);
    volatile int left = 0;
    if (setjmp(back) == 0) {
        ts_arena_alloc(arena, count, size);
    } else {
        left = 1;
    }
    ts_arena_free(arena);
    return left;
}

static void calls_its_handler_where_sizes_overflow(void **state)
{
    (void)state;
    assert_true(gives_up_on(SIZE_MAX, 2));
    assert_true(gives_up_on(2, SIZE_MAX));
    assert_true(gives_up_on(SIZE_MAX, 1));
    assert_true(gives_up_on(SIZE_MAX / 2 + 1, 2));
    assert_false(gives_up_on(1000, 8));
}

static void freeing_nothing_is_well(void **state)
{
    (void)state;
    ts_arena_free(NULL);
}

static void statuses_have_the_exit_codes_of_sysexits(void **state)
{
    (void)state;
    /* source: sysexits.h of 4.3BSD: EX_DATAERR, EX_NOINPUT, EX_CANTCREAT, EX_IOERR */
    assert_int_equal(ts_status_exit(TS_OK), 0);
    assert_int_equal(ts_status_exit(TS_FAULTY), 65);
    assert_int_equal(ts_status_exit(TS_OVERFLOW), 65);
    assert_int_equal(ts_status_exit(TS_MISSING), 66);
    assert_int_equal(ts_status_exit(TS_CANNOT_CREATE), 73);
    assert_int_equal(ts_status_exit(TS_IO), 74);
}

static void the_worse_status_wins_whatever_the_order(void **state)
{
    (void)state;
    static const ts_status order[] = {TS_OK, TS_FAULTY, TS_IO, TS_CANNOT_CREATE, TS_MISSING};
    for (size_t i = 0; i < 5; i++) {
        for (size_t k = 0; k < 5; k++) {
            assert_int_equal(ts_status_worse(order[i], order[k]), order[i > k ? i : k]);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gives_zeroed_memory_also_after_a_rewind),
        cmocka_unit_test(aligns_every_object_for_any_type),
        cmocka_unit_test(objects_never_overlap),
        cmocka_unit_test(a_rewind_leaves_what_is_older_than_the_mark),
        cmocka_unit_test(copies_and_formats_text),
        cmocka_unit_test(a_growing_array_keeps_its_elements),
        cmocka_unit_test(calls_its_handler_where_sizes_overflow),
        cmocka_unit_test(freeing_nothing_is_well),
        cmocka_unit_test(statuses_have_the_exit_codes_of_sysexits),
        cmocka_unit_test(the_worse_status_wins_whatever_the_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

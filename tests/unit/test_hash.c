#include <tallystone/base/hash.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

/* Values of the hash's authors: the test vectors of their reference code (fnv-1a, 64 bits). */
static void texts_hash_as_their_authors_say(void **state)
{
    (void)state;
    assert_true(ts_hash_text(TS_HASH_NONE, "") == UINT64_C(0xcbf29ce484222325));
    assert_true(ts_hash_text(TS_HASH_NONE, "a") == UINT64_C(0xaf63dc4c8601ec8c));
    assert_true(ts_hash_text(TS_HASH_NONE, "foobar") == UINT64_C(0x85944171f73967e8));
}

static void a_text_in_parts_is_the_text(void **state)
{
    (void)state;
    const uint64_t whole = ts_hash_text(TS_HASH_NONE, "foobar");
    assert_true(ts_hash_text(ts_hash_text(TS_HASH_NONE, "foo"), "bar") == whole);
    assert_true(ts_hash_bytes(ts_hash_word(TS_HASH_NONE, 'f'), "oobarn", 5) == whole);
    assert_true(ts_hash_text(whole, NULL) == whole);
    assert_true(ts_hash_bytes(TS_HASH_NONE, "\xff", 1) == ts_hash_word(TS_HASH_NONE, 0xff));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_hash_as_their_authors_say),
        cmocka_unit_test(a_text_in_parts_is_the_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

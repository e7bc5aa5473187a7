#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <tallystone/base/sha256.h>

/* Test vectors. Sources: FIPS 180-2, appendix B.1 to B.3 ("abc", the message of two blocks,
 * a million times "a"), whose examples FIPS 180-4 refers to; the empty message and the
 * lengths about a block's end were computed with `sha256sum` (GNU coreutils). */

static void holds(const char *message, size_t length, const char *digest)
{
    char text[TS_SHA256_TEXT];
    assert_string_equal(ts_sha256_of(text, message, length), digest);
}

static void the_vectors_of_the_standard_hold(void **state)
{
    (void)state;
    holds("abc", 3, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    holds("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 56,
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    holds("", 0, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static void a_million_letters_hold(void **state)
{
    (void)state;
    char *many = malloc(1000000);
    assert_non_null(many);
    memset(many, 'a', 1000000);
    holds(many, 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    free(many);
}

static void lengths_about_a_block_hold(void **state)
{
    (void)state;
    char message[64];
    memset(message, 'b', sizeof message);
    holds(message, 55, "eb2c86e932179f4ba13fe8715a26124b77d6bad290b9b4c1cc140cf633300c19");
    holds(message, 56, "a5fc6e203a4c2b657d0d153885932414b2ffc6a93f0f8bf8b3183315e5a7212c");
    holds(message, 63, "94e419fabac7f930810f9636354042f8c1426d2f834d4ab65c93dc1e69326b13");
    holds(message, 64, "a0fab1377f49a759b57f63318262ebe89fabfc990e8e93ceac2984561482b9d4");
}

static void pieces_give_the_digest_of_the_whole(void **state)
{
    (void)state;
    char message[200], whole[TS_SHA256_TEXT], pieced[TS_SHA256_TEXT];
    for (size_t i = 0; i < sizeof message; i++) {
        message[i] = (char)(i * 7 + 3);
    }
    ts_sha256_of(whole, message, sizeof message);
    for (size_t step = 1; step < 130; step++) {
        ts_sha256 sha;
        ts_sha256_init(&sha);
        for (size_t at = 0; at < sizeof message; at += step) {
            size_t left = sizeof message - at;
            ts_sha256_add(&sha, message + at, left < step ? left : step);
        }
        assert_string_equal(ts_sha256_text(&sha, pieced), whole);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_vectors_of_the_standard_hold),
        cmocka_unit_test(a_million_letters_hold),
        cmocka_unit_test(lengths_about_a_block_hold),
        cmocka_unit_test(pieces_give_the_digest_of_the_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

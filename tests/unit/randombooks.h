/* Price books drawn at random for property tests: the shipped ones with a policy, services,
 * taxes and a currency that are drawn. They load, but are not sensible. */
#ifndef TS_TESTS_RANDOMBOOKS_H
#define TS_TESTS_RANDOMBOOKS_H

#include <stdint.h>

#include <tallystone/book/book.h>

/* splitmix64; the state is the seed. */
uint64_t random_bits(uint64_t *state);
int random_below(uint64_t *state, int count);
bool random_once_in(uint64_t *state, int count);

/* The same seed gives the same books; fails the test where they have faults. */
const ts_book *random_books(ts_arena *arena, uint64_t seed);

#endif

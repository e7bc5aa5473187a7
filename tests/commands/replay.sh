#!/bin/sh
# Every fuzz target over its seeds and over what was found with it: nothing falls, every claim holds.
set -u
programs=build/$MODE/tests/fuzz

# replayed TARGET FILE...
replayed() {
    target=$1
    shift
    set -- "$@" $(find "tests/fuzz/found/$target" -type f 2>/dev/null | sort)
    said=$("$programs/fuzz_$target" "$@" 2>&1)
    status=$?
    if [ "$status" -eq 0 ] && printf '%s\n' "$said" | grep -q "^ok $# files"; then
        echo "ok fuzz_$target over $# files"
    else
        echo "not ok fuzz_$target over $# files (ended with $status)"
        printf '%s\n' "$said" | tail -n 40
        failed=1
    fi
}

failed=0
replayed mesh tests/reference/stl/*.stl
replayed table demo/*.csv tests/reference/csv/*.csv pricebooks/*.csv
replayed sheet demo/*.csv tests/reference/sheets/*.csv
replayed rows tests/fuzz/rows-seed.csv

# A register's input begins with the byte that says what is done: a whole file, changes of one, or one
# value altered, of which the table and the column follow.
{ printf '\0'; cat tests/reference/registers/version-1.db; } >"$TMPDIR/register-whole"
table=0
while [ "$table" -lt 18 ]; do
    for column in 1 3 6; do
        # shellcheck disable=SC2059
        printf "\\3\\$(printf %o "$table")\\$column\\1\\0" >"$TMPDIR/register-$table-$column"
    done
    table=$((table + 1))
done
replayed register tests/fuzz/register/* "$TMPDIR"/register-*

# A book's input begins with the byte that says which file it is.
number=0
while read -r name; do
    # shellcheck disable=SC2059
    { printf "\\$(printf %o "$number")"; cat "pricebooks/$name"; } >"$TMPDIR/$name"
    number=$((number + 1))
done <<NAMES
$(sed -n 's/^BOOK_FILE([^"]*"\([^"]*\)".*/\1/p' include/tallystone/book/files.def)
NAMES
replayed book "$TMPDIR"/*.csv

# A claim that fails must end the program: the driver answers for no file and for none there.
"$programs/fuzz_table" "$TMPDIR/nothing-there" >/dev/null 2>&1
if [ $? -eq 1 ]; then echo 'ok a file that is missing is not a file replayed'; else echo 'not ok a file that is missing is not a file replayed'; failed=1; fi
exit "$failed"

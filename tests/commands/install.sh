#!/bin/sh
# What `make install` puts in place works from there; a program without the part that makes papers,
# or beside that of another build, says so and does the rest.
set -u
. tests/commands/expect

BUILT=${TALLYSTONE%/*}
built=$TALLYSTONE
made() { # TARGET: installs or takes away, without building anything
    make --no-print-directory -s -o all B="$BUILT" MODE="${MODE:-release}" DESTDIR="$WORK/root" \
        prefix=/opt/t "$1" >"$WORK/said" 2>&1
}

made install
holds 'make install' test $? -eq 0
TALLYSTONE=$WORK/root/opt/t/bin/tallystone
run price demo/halo.csv --books "$WORK/root/opt/t/share/tallystone/pricebooks" --out "$WORK/papers"
code 0 'the installed program makes papers'
holds 'the client has one' test -s "$WORK/papers/DEMO-HALO-draft-quote.xlsx"
ln -s "$TALLYSTONE" "$WORK/linked"
TALLYSTONE=$WORK/linked
run draw demo/halo.csv --books "$BOOKS" --out "$WORK/papers/halo.png"
code 0 'and so it does through a link'
made uninstall
holds 'make uninstall leaves nothing' test -z "$(find "$WORK/root" ! -type d)"
holds 'nor a folder of its own' test -z "$(find "$WORK/root" -name '*tallystone*')"

# alone: all that makes no workbook and paints nothing goes on
mkdir "$WORK/alone"
cp "$built" "$WORK/alone"
TALLYSTONE=$WORK/alone/tallystone
run price demo/halo.csv --books "$BOOKS"
code 0 'without the press: price'
run draw demo/halo.csv --books "$BOOKS" --out "$WORK/papers/halo.svg"
code 0 'without the press: an SVG drawing'

refused() { # what
    run price demo/halo.csv --books "$BOOKS" --out "$WORK/none"
    code 69 "$1: no quote"
    err_has 'tallystone-papers.so' "$1: the quote's sentence names it"
    err_has '[program]' "$1: and what to look up"
    holds "$1: nothing half made" test -z "$(find "$WORK/none" -type f 2>/dev/null)"
    run draw demo/halo.csv --books "$BOOKS" --out "$WORK/none.pdf"
    code 69 "$1: no PDF"
    holds "$1: no part of one" test ! -e "$WORK/none.pdf"
    printf 'variant,ring/size\na,6\n' >"$WORK/rows.csv"
    run variants demo/halo.csv "$WORK/rows.csv" --books "$BOOKS" --best 1 --by total \
        --out "$WORK/none.xlsx"
    code 69 "$1: no workbook of the best"
}
refused 'without the press'
err_has 'is not there' 'it is said that it is missing'

echo 'no library' >"$WORK/alone/tallystone-papers.so"
refused 'a file that is no library'
err_has 'cannot be loaded' 'it is said that it cannot be loaded'
for mark in 'int ts_press_other;' 'const char *const ts_press_here[8] = {"another"};'; do
    echo "$mark" | cc -shared -fPIC -x c -o "$WORK/alone/tallystone-papers.so" -
    refused "another's: ${mark%% *}"
    err_has 'of another build' 'it is said that it is of another build'
done

#!/bin/sh
# Usage: help, version, slips of the command line (exit 64), missing and unwritable files.
set -u
. tests/commands/expect

run --help
code 0 'help ends with 0'
out_has 'price' 'help lists the commands'
err_empty 'help says nothing on standard error'
run --version
code 0 'version ends with 0'
out_has 'tallystone ' 'version names the program'
for command in new check quantities price; do
    run "$command" --help
    code 0 "$command --help ends with 0"
    out_has "usage: tallystone $command" "$command --help shows the usage"
    out_has 'exit status' "$command --help shows the exit codes"
    err_empty "$command --help is quiet on standard error"
done
run help halo
code 0 'help on a part ends with 0'
out_has 'stone diameter' 'help on a part lists its measures'
run help metals
out_has 'per' 'help on a book lists its columns'
run help unit-wrong
code 0 'help on a fault ends with 0'
run help nonsense-word
code 64 'help on an unknown word is a slip of usage'
err_has 'parts, books' 'and names the lists there are'
for topic in parts books words units states faults formulas; do
    run help $topic
    code 0 "help on all $topic"
    holds "all $topic fit a screen of 80" test -z "$(awk 'length > 80' "$out")"
done
run help policy.csv
lost=$(sed -n '/TS_RULES(X)/,/[^\\]$/p' include/tallystone/words/choices.h | grep -o '"[^"]*"' |
    tr -d '"' | while read -r rule; do
    grep -A9 "^  $rule  " "$out" | grep -q 'subject: .' || echo "$rule"
done)
holds 'each rule says what it is for' test -z "$lost"
holds 'as many rules as subjects and values' \
    test "$(grep -c 'subject: .' "$out") $(grep -c 'value: .' "$out")" = '19 19'
out_has 'a step in' 'a step may be in the quote’s own currency'
run help studio.csv
out_has 'quote detail      total, sections or lines' 'what a studio says of itself'
run help units
out_has '31.1034768 g' 'a unit says its exact ratio'
run help states
out_has 'accept or decline' 'states say what may follow'
run help manual
code 0 'the manual is printed'
manual=$out.manual
groff -man -ww -Tascii "$out" >"$manual" 2>"$err.groff"
holds 'the formatter has nothing to say about it' test ! -s "$err.groff"
# Whatever the tables hold stands in it: commands, parts, measures, books, columns, faults.
missing=$(
    for list in src/cli/commands.def:COMMAND include/tallystone/design/parts.def:PART \
        include/tallystone/design/fields.def:FIELD include/tallystone/book/files.def:BOOK_FILE \
        include/tallystone/book/files.def:BOOK_COLUMN include/tallystone/base/faults.def:FAULT; do
        sed -n "s/^${list#*:}([^\"]*\"\([^\"]*\)\".*/\1/p" "${list%:*}"
    done | sort -u | while read -r word; do
        sed 's/\\-/-/g' "$out" | grep -q -e "^\\\\fB$word\\\\fR" -e "^\.SS \"$word" || echo "$word"
    done
)
holds 'the manual holds every word of the tables' test -z "$missing"
[ -z "$missing" ] || echo "not in the manual: $missing"

run
code 64 'no command at all'
out_empty 'no command writes nothing to standard output'
run prise demo/halo.csv
code 64 'an unknown command'
err_has 'did you mean "price"?' 'an unknown command is answered by the nearest'
run price
code 64 'price without a sheet'
err_has 'SHEET' 'price without a sheet says what is missing'
run price demo/halo.csv --bokos x
code 64 'an unknown option'
err_has 'did you mean --books?' 'an unknown option is answered by the nearest'
run price demo/halo.csv --books
code 64 'an option without its value'
run price demo/halo.csv --csv=yes
code 64 'a value where none is taken'
run price demo/halo.csv --as-of 2026-02-31
code 64 'a day that is not in the calendar'
err_has '2026-02-31' 'the day is named'
run price -x demo/halo.csv
code 64 'single-letter options are not known'
run quantities demo/halo.csv demo/eternity.csv
code 64 'more sheets than a command takes'
err_has '"demo/eternity.csv" is one word too many; it takes SHEET' 'what is too much is named'
run reprice tonight
code 64 'a word where none is taken'
err_has '"tonight" is one word too many; it takes options alone' 'it is named, too'
run price demo/halo.csv --as-of 2026-11-25 --as-of 2026-11-26
code 64 'an option twice, with two values'
err_has 'as "2026-11-25" and as "2026-11-26"' 'both are named'
run price demo/halo.csv --books "$BOOKS" --books "$BOOKS" --csv --csv
code 0 'an option twice with the same value says nothing else'
run quantities demo/halo.csv --books "$BOOKS" --option lwo
code 65 'an option of the sheet that is not there'
err_has 'it has base, platinum, grown, low' 'those there are'
for name in '' . .. - sheets/ ' '; do
    status=0
    (cd "$WORK" && "$TALLYSTONE" new "$name" >"$out" 2>"$err") || status=$?
    code 64 "new: \"$name\" is no name of a sheet"
    out_empty "new \"$name\" writes none"
done

run price "$WORK/none.csv" --books "$BOOKS"
code 66 'a sheet that is not there'
err_has 'none.csv' 'the missing sheet is named'
run price demo/halo.csv --books "$WORK/nobooks"
code 66 'a books folder that is not there'
run price "$WORK" --books "$BOOKS"
code 66 'a folder in the place of a sheet'

#!/bin/sh
# Hundreds of sheets at once: one bad one named and the rest done, a summary, a bar on a terminal.
# What memory they take is measured in flat-memory.sh.
set -u
. tests/commands/expect
MANY=300
BAD=77

i=0
while [ $((i += 1)) -le $MANY ]; do
    sed "s/DEMO-HALO/MANY-$i/" demo/halo.csv >"$WORK/many-$(printf %03d $i).csv"
done
sed -i 's/^ring,size,.*/ring,size,99,US/' "$WORK/many-0$BAD.csv"

run price "$WORK"/many-*.csv --books "$BOOKS" --as-of 2026-11-25
code 65 'one bad sheet among three hundred'
holds 'each other sheet has its options in the summary' \
    test "$(grep -c 'In platinum 950' "$out")" -eq $((MANY - 1))
holds 'the summary has one heading' test "$(grep -c '^reference' "$out")" -eq 1
err_has "1 of $MANY sheets came to no price: $WORK/many-0$BAD.csv" 'the bad one is named at the end'
err_has "many-0$BAD.csv:13:11: ring: this size has an inside diameter" 'and its fault where it stands'
holds 'no bar where nobody looks' sh -c "! grep -q '###' '$err'"

run price "$WORK"/many-*.csv --books "$BOOKS" --as-of 2026-11-25 --csv
code 65 'the same as CSV'
holds 'its header stands once' test "$(grep -c '^reference,option' "$out")" -eq 1
holds 'and every good sheet under it' test "$(cut -d, -f1 "$out" | sort -u | grep -c '^MANY-')" -eq $((MANY - 1))

run price "$WORK"/many-07[4-9].csv --books "$BOOKS" --as-of 2026-11-25 --out "$WORK/papers"
code 65 'papers with one bad sheet among six'
holds 'five quotes are written' test "$(find "$WORK/papers" -name '*-quote.xlsx' | wc -l)" -eq 5
holds 'and five margin sheets' test "$(find "$WORK/papers/studio" -name '*-margin.xlsx' | wc -l)" -eq 5
holds 'none of the bad one' sh -c "! find '$WORK/papers' | grep -q 'MANY-$BAD'"
err_has "1 of 6 sheets came to no price and no papers: $WORK/many-0$BAD.csv" 'it is named'

# two of one reference, one of them from a pipe that can be read only once
sed 's/MANY-2$/MANY-1/; s/MANY-2,/MANY-1,/' "$WORK/many-002.csv" >"$WORK/same.csv"
"$TALLYSTONE" price "$WORK/many-001.csv" - "$WORK/many-003.csv" --books "$BOOKS" --out "$WORK/twice" \
    <"$WORK/same.csv" >"$out" 2>"$err"
status=$?
code 65 'two sheets of one reference, one from standard input'
err_has 'would both write MANY-1-draft-quote.xlsx' 'both are named'
holds 'neither is written, the third is' sh -c \
    "[ \"\$(cd '$WORK/twice' && echo *.xlsx)\" = MANY-3-draft-quote.xlsx ]"
"$TALLYSTONE" price "$WORK/many-001.csv" - --books "$BOOKS" --out "$WORK/piped" \
    <"$WORK/many-002.csv" >"$out" 2>"$err"
status=$?
code 0 'a sheet from standard input beside another'
holds 'both are written' test "$(find "$WORK/piped" -name '*-quote.xlsx' | wc -l)" -eq 2

# on a terminal
script -qec "'$TALLYSTONE' price $WORK/many-0[0-4]*.csv --books '$BOOKS' >/dev/null" /dev/null \
    </dev/null >"$out" 2>"$err"
out_has '############### 49 of 49 sheets' 'a bar on a terminal shows how far it is'
out_has '#####......................... 9 of 49 sheets' 'and grows'
script -qec "'$TALLYSTONE' price $WORK/many-00*.csv --books '$BOOKS' >/dev/null" /dev/null \
    </dev/null >"$out" 2>"$err"
holds 'none for a handful' sh -c "! grep -q 'sheets' '$out'"

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

# a thousand, ten of them bad and one that cannot be read: all eleven named, in the order given
mkdir "$WORK/thousand"
i=0
while [ $((i += 1)) -le 1000 ]; do
    size='6 1/2'
    [ $((i % 100)) -ne 50 ] || size=99
    sed "/^option/d; s/DEMO-ETERNITY/RING-$i/; s|^ring,size,[^,]*|ring,size,$size|" demo/eternity.csv \
        >"$WORK/thousand/$(printf %04d $i).csv"
done
rm "$WORK/thousand/0700.csv"
mkdir "$WORK/thousand/0700.csv"
run price "$WORK"/thousand/*.csv --books "$BOOKS"
code 66 'a thousand, ten of them bad, and a folder instead of a sheet'
holds 'the others have their line each' test "$(grep -c '^RING-' "$out")" -eq 989
named=$(sed -n 's/^11 of 1000 sheets came to no price://p' "$err" | tr ' ' '\n' | sed -n 's|.*/||p' | tr '\n' ' ')
holds "each bad one is named ($named)" test "$named" = \
    '0050.csv 0150.csv 0250.csv 0350.csv 0450.csv 0550.csv 0650.csv 0700.csv 0750.csv 0850.csv 0950.csv '
holds 'and has its fault' test "$(grep -c '50.csv:14:11: ring: this size' "$err")" -eq 10
err_has '0700.csv: this is a folder' 'what cannot be read, too'

# interrupted: what shows is whole, and the same again does the rest and leaves nothing over
whole() {
    while read -r file; do
        unzip -tq "$file" >"$out" || return 1
    done <"$WORK/shown"
}
rounds=0
for after in 0.05 0.2 0.31 0.43 0.57; do
    timeout -s INT "$after" "$TALLYSTONE" price "$WORK"/thousand/00[0-2]*.csv --books "$BOOKS" \
        --out "$WORK/stopped" >"$out" 2>"$err"
    [ $? -ne 124 ] || rounds=$((rounds + 1))
    find "$WORK/stopped" -name '.tallystone-*' -prune -o -type f -print >"$WORK/shown" 2>"$err"
    holds "what shows after an interruption is whole ($(wc -l <"$WORK/shown") files)" whole
done
holds "runs were interrupted ($rounds of 5)" test "$rounds" -ge 3
run price "$WORK"/thousand/00[0-2]*.csv --books "$BOOKS" --out "$WORK/stopped"
code 0 'the same again'
holds 'all papers are there and nothing else' test "$(find "$WORK/stopped" -type f -name 'RING-*.xlsx' | wc -l)" \
    -eq "$(find "$WORK/stopped" -type f | wc -l)" -a "$(find "$WORK/stopped" -type f | wc -l)" -eq 58 \
    -a "$(find "$WORK/stopped" -mindepth 1 -type d | wc -l)" -eq 1

#!/bin/sh
# The nightly run: what a changed book touches, its classes, the split that adds up to the cent,
# exposure, exit codes, and silence where nothing needs a person.
# options of several words are meant to be parted
# shellcheck disable=SC2086
set -u
. tests/commands/expect

S=$WORK/studio
mkdir -p "$S"
cp -r pricebooks "$S/pricebooks"
METALS=$S/pricebooks/metals.csv
B="--books $S/pricebooks"
sheet() { # file reference: the halo demo, dated, without its old metal
    sed -e 's/^commission,date,[^,]*/commission,date,2026-03-02/' \
        -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' \
        -e "s/DEMO-HALO/$2/" demo/halo.csv | grep -v -e '^option' -e '^trade-in' >"$1"
}
sheet "$S/gold.csv" GOLD
sheet "$S/late.csv" LATE
sheet "$S/sold.csv" SOLD
sheet "$S/plain.csv" PLATINUM
sed -i 's/^ring,alloy,[^,]*/ring,alloy,platinum 950/' "$S/plain.csv"
sed -i 's/^commission,title,/commission,valid until,2026-03-04,,\ncommission,title,/' "$S/late.csv"

run reprice $B
code 66 'without a register'
for one in gold plain sold late; do
    run issue "$S/$one.csv" $B --out "$S/out" --on 2026-03-02 --reason 'for the test'
    code 0 "issue $one"
done
run accept SOLD $B --on 2026-03-02
code 0 'one is accepted'

class() { awk -F, -v ref="$1" '$1 == ref { print $4 }' "$out"; }
is_class() { # reference class name
    [ "$(class "$1")" = "$2" ] && verdict 0 "$3" || verdict 1 "$3 ($2 expected)"
}

# --- nothing changed
run reprice $B --as-of 2026-03-03 --quiet --exit-code --out "$S/reports"
code 0 'nothing changed'
out_empty 'quiet: nothing on standard output'
err_empty 'quiet: nothing on standard error'
holds 'the table is written' test -s "$S/reports/reprice-2026-03-03.csv"
holds 'its columns are as promised' grep -q \
    '^reference,revision,option,class,was,now,difference,margin,why' \
    "$S/reports/reprice-2026-03-03.csv"
cp "$S/reports/reprice-2026-03-03.csv" "$WORK/first.csv"
run reprice $B --as-of 2026-03-03 --quiet --out "$S/reports"
holds 'the same books and day give the same bytes' \
    cmp -s "$S/reports/reprice-2026-03-03.csv" "$WORK/first.csv"
run reprice $B --as-of 2026-03-03 --csv
is_class GOLD unchanged 'no row it rests on changed'
holds 'what is accepted is not repriced' sh -c "! grep -q '^SOLD' '$out'"
run register --status $B
out_has '2026-03-03' 'register --status tells that it ran'

# --- a row confirmed under a new day says the same
echo 'gold,3742.50,USD,troy ounce,2026-03-03,,' >>"$METALS"
run reprice $B --as-of 2026-03-03 --csv
is_class GOLD unchanged 'a price confirmed is no change'

# --- gold up a little
cp pricebooks/metals.csv "$METALS"
echo 'gold,3800,USD,troy ounce,2026-03-05,,' >>"$METALS"
run reprice $B --as-of 2026-03-05 --exit-code --out "$S/reports"
code 1 'a quote needs a person'
out_has 'expired: LATE-r1' 'one has expired'
out_has 'tallystone decline LATE' 'its next command'
holds 'no line is longer than 72 columns' sh -c "! grep -q '.\{73\}' '$out'"
run reprice $B --as-of 2026-03-05 --csv
is_class GOLD within 'within the tolerance'
is_class PLATINUM unchanged 'platinum alone: gold does not touch it'
is_class LATE expired 'expired comes before the others'
holds 'the split adds up to the difference, the difference to the totals' awk -F, '
    NR > 1 && $6 != "" && $7 != "" {
        split($0, cell, ",")
        sum = 0
        for (i = NF - 4; i <= NF; i++) sum += $i * 100
        if (sprintf("%.0f", sum) != sprintf("%.0f", $7 * 100)) bad = 1
        if (sprintf("%.0f", ($6 - $5) * 100) != sprintf("%.0f", $7 * 100)) bad = 1
    }
    END { exit bad }' "$(
    # the words of `why` hold commas: they are taken out
    sed 's/"[^"]*"//' "$out" >"$WORK/plain.csv"
    echo "$WORK/plain.csv"
)"
holds 'exposure lists the metal of the accepted quote' \
    grep -q '^SOLD,1,base,18 karat yellow gold,' "$S/reports/exposure-2026-03-05.csv"
was=$(awk -F, '$1 == "GOLD" { print $5 }' "$out")
now=$(awk -F, '$1 == "GOLD" { print $6 }' "$out")

# the same figure as pricing the sheet anew by these books
"$TALLYSTONE" price "$S/gold.csv" $B --as-of 2026-03-05 --csv >"$WORK/price.csv" 2>/dev/null
anew=$(awk -F, '$3 == "total" && $4 == "total" { print $9 }' "$WORK/price.csv")
holds "stored quantities give what the sheet gives ($now)" test "$now" = "$anew" -a "$now" != "$was"

# --- gold up beyond the tolerance, then under the floor
cp pricebooks/metals.csv "$METALS"
echo 'gold,4200,USD,troy ounce,2026-03-05,,' >>"$METALS"
run reprice $B --as-of 2026-03-05 --csv
is_class GOLD beyond 'beyond the tolerance'
run reprice $B --as-of 2026-03-05
out_has 'tallystone revise GOLD SHEET --out DIR' 'its next command'
code 0 'without --exit-code it ends with 0'
sed 's/^floor,margin,,[0-9]*/floor,margin,,60/' pricebooks/policy.csv >"$S/pricebooks/policy.csv"
run reprice $B --as-of 2026-03-05 --csv
is_class GOLD 'below floor' 'under the floor comes before beyond'
cp pricebooks/policy.csv "$S/pricebooks/policy.csv"

# --- rows that leave no figure, and new ones
cp pricebooks/metals.csv "$METALS"
echo 'round up,total,,50,,2026-03-03,,' >>"$S/pricebooks/policy.csv"
run reprice $B --as-of 2026-03-03 --csv
holds 'a new rule touches every quote' sh -c "! grep -q ',unchanged,' '$out'"
cp pricebooks/policy.csv "$S/pricebooks/policy.csv"
sed 's/^state,all,7.25/state,all,8/' pricebooks/taxes.csv >"$S/pricebooks/taxes.csv"
run reprice $B --as-of 2026-03-03 --csv
holds 'a tax moves the rates alone' awk -F, '$1 == "GOLD" && $(NF - 4) == "0.00" &&
    $(NF - 3) == "0.00" && $(NF - 2) == "0.00" && $(NF - 1) == "0.00" && $NF + 0 > 0 { found = 1 }
    END { exit !found }' "$out"
cp pricebooks/taxes.csv "$S/pricebooks/taxes.csv"

# --- everything moves at once: each part is what the sections of the sheet, priced by both books, differ by
sections() { # FILE: prices by section and the total, of `price --csv`
    sed 's/"[^"]*"//g' "$1" | awk -F, '
        $3 == "metal" { part[1] += $9 }
        $3 == "melee" || $3 == "stones" { part[2] += $9 }
        $3 == "labour" || $3 == "overhead" || $3 == "contingency" { part[3] += $9 }
        $3 == "services" { part[4] += $9 }
        $3 == "total" && $4 == "total" { total = $9 }
        END { printf "%.2f %.2f %.2f %.2f %.2f\n", part[1], part[2], part[3], part[4], total }'
}
"$TALLYSTONE" price "$S/gold.csv" $B --as-of 2026-03-02 --csv >"$WORK/then.csv" 2>/dev/null
echo 'gold,3800,USD,troy ounce,2026-03-03,,' >>"$METALS"
sed -i 's/,787,USD/,830,USD/' "$S/pricebooks/melee.csv"
sed -i 's/^goldsmith,58/goldsmith,65/' "$S/pricebooks/crafts.csv"
sed -i 's/^design rounds,always,each,120/design rounds,always,each,140/' "$S/pricebooks/services.csv"
sed 's/^state,all,7.25/state,all,8/' pricebooks/taxes.csv >"$S/pricebooks/taxes.csv"
"$TALLYSTONE" price "$S/gold.csv" $B --as-of 2026-03-03 --csv >"$WORK/now.csv" 2>/dev/null
run reprice $B --as-of 2026-03-03 --csv
parts=$(sed 's/"[^"]*"//g' "$out" | awk -F, '
    $1 == "GOLD" { printf "%.2f %.2f %.2f %.2f %.2f\n", $(NF - 4), $(NF - 3), $(NF - 2), $(NF - 1), $NF }')
differ=$({ sections "$WORK/then.csv"; sections "$WORK/now.csv"; } | awk '
    NR == 1 { split($0, was) }
    NR == 2 {
        for (i = 1; i < 5; i++) { moved = $i - was[i]; sum += moved; printf "%.2f ", moved }
        printf "%.2f\n", $5 - was[5] - sum
    }')
holds "its parts: $parts" test "$parts" = "$differ"
holds 'none of which is nothing' sh -c "! echo ' $parts ' | grep -q ' 0.00 '"
for book in melee crafts services taxes; do cp "pricebooks/$book.csv" "$S/pricebooks/"; done
cp pricebooks/metals.csv "$METALS"

# --- prices in doubt: the row is named, the others are costed
echo 'gold,6000,USD,troy ounce,2026-03-03,,' >>"$METALS"
run reprice $B --as-of 2026-03-03 --csv
code 65 'an implausible price'
is_class GOLD fault 'stops what rests on it'
out_has 'metals.csv:' 'the row is named'
is_class PLATINUM unchanged 'and nothing else'
cp pricebooks/metals.csv "$METALS"
run reprice $B --as-of 2026-03-16 --csv
code 65 'a stale price'
is_class GOLD fault 'a stale price is a fault'
sed 's/^gold,\([^,]*\),USD,troy ounce,2026-03-02,,/gold,\1,USD,troy ounce,2026-03-02,2026-03-02,/; s/^gold,3610,USD,troy ounce,2026-01-05,,/gold,3610,USD,troy ounce,2026-01-05,2026-03-01,/' \
    pricebooks/metals.csv >"$METALS"
run reprice $B --as-of 2026-03-03 --csv
code 65 'a missing price'
is_class GOLD fault 'a missing price is a fault'
is_class PLATINUM unchanged 'the others are told'
run register --verify $B
code 0 'the register is as it was'

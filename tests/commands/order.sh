#!/bin/sh
# The order over the demo sheets: its sums against `price` and `quantities` of the same
# sheets, added up by another program; the workbook against the tables; slips and faults.
set -u
. tests/commands/expect

run order demo/*.csv --books "$BOOKS"
code 0 'order over three sheets'
out_has 'DEMO-ETERNITY 31' 'the terminal says whose stones they are'
err_empty 'nothing on standard error'
for table in stones casting bench; do
    run order demo/*.csv --books "$BOOKS" --table "$table" --csv
    code 0 "order --table $table --csv"
    cp "$out" "$WORK/$table.csv"
done
holds 'the header of stones is as promised' grep -qx \
    'stone,lot,description,length mm,width mm,depth mm,set,spares,stones,carats,cost,currency,supplied by,for' \
    "$WORK/stones.csv"
holds 'a lot is printed as the book spells it, and looked up folded' grep -q \
    '^natural oval F-VS2 7.70 × 5.70 mm,natural oval f-vs2,' "$WORK/stones.csv"
holds 'the header of casting is as promised' grep -qx \
    'alloy,item,made,count,finished g,with loss g,sprue g,to cast g,old metal g,to buy g,recovered g,for' \
    "$WORK/casting.csv"
holds 'the header of bench is as promised' grep -qx \
    'craft,reference,operation,where,count,minutes,cumulated,week,week from,deliver by,late' \
    "$WORK/bench.csv"
run order demo/three-stone.csv demo/halo.csv demo/eternity.csv --books "$BOOKS" --table casting --csv
cut -d, -f1-11 "$WORK/casting.csv" >"$WORK/one"
cut -d, -f1-11 "$out" >"$WORK/other"
holds 'the order of the sheets changes no sum' cmp -s "$WORK/one" "$WORK/other"

# sums, and what several commissions come to
/usr/bin/python3 tests/commands/order.py "$WORK" || failures=$((failures + 1))

# the workbook: whole, for the owner alone, the same bytes twice
run order demo/*.csv --books "$BOOKS" --out "$WORK/papers/order.xlsx"
code 0 'a workbook'
out_empty 'with --out nothing on standard output'
err_has 'order.xlsx' 'the workbook is named'
holds 'it is 0600' test "$(stat -c %a "$WORK/papers/order.xlsx")" = 600
holds 'nothing staged is left' test -z "$(find "$WORK/papers" -name '.*' -mindepth 1)"
cp "$WORK/papers/order.xlsx" "$WORK/first.xlsx"
sleep 1
run order demo/*.csv --books "$BOOKS" --out "$WORK/papers/order.xlsx" --table stones --csv
holds 'the same bytes again' cmp -s "$WORK/first.xlsx" "$WORK/papers/order.xlsx"
holds '--table prints beside --out' cmp -s "$out" "$WORK/stones.csv"
run order demo/eternity.csv --books "$BOOKS" --option platinum --table casting --csv
code 0 'one option of one sheet'
out_has 'platinum 950' 'it is the option that is ordered'

# slips of the command line
run order
code 64 'no sheet'
run order demo/halo.csv --books "$BOOKS" --out "$WORK/order.csv"
code 64 'a workbook whose name does not end in .xlsx'
run order demo/halo.csv --books "$BOOKS" --csv
code 64 '--csv without --table'
err_has 'stones, casting or bench' '--csv without --table: the tables are named'
run order demo/halo.csv --books "$BOOKS" --table stone --csv
code 64 'an unknown table'
run order demo/halo.csv demo/eternity.csv --books "$BOOKS" --option platinum
code 64 '--option with several sheets'

# faults: nothing at all comes out
sed 's/^shank,width top,[^,]*/shank,width top,45/' demo/halo.csv >"$WORK/bad.csv"
run order "$WORK/bad.csv" demo/eternity.csv --books "$BOOKS" --out "$WORK/none/order.xlsx" --table stones
code 65 'a bad sheet among good ones'
out_empty 'a bad sheet: nothing printed'
err_has 'bad.csv:' 'a bad sheet: it is named'
holds 'a bad sheet: nothing written' sh -c "! find '$WORK/none' -type f 2>/dev/null | grep -q ."
cp demo/halo.csv "$WORK/twin.csv"
run order demo/halo.csv "$WORK/twin.csv" --books "$BOOKS"
code 65 'one reference twice'
err_has 'ordered twice' 'one reference twice: says why'
out_empty 'one reference twice: nothing printed'
run order demo/halo.csv --books "$BOOKS" --option silver
code 65 'an option that is not there'
run order demo/halo.csv "$WORK/nothing.csv" --books "$BOOKS"
code 66 'a sheet that is not there'

# quotes of the register: what was promised, by its stored quantities
S=$WORK/studio
mkdir -p "$S"
cp -r pricebooks "$S/pricebooks"
sed -e 's/^commission,date,[^,]*/commission,date,2026-03-09/' \
    -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' demo/halo.csv >"$S/halo.csv"
sed 's/DEMO-HALO/DEMO-TWO/' "$S/halo.csv" >"$S/two.csv"
run order DEMO-HALO --books "$S/pricebooks"
code 66 'a reference without a register'
for sheet in halo two; do
    run issue "$S/$sheet.csv" --books "$S/pricebooks" --out "$S/out" --on 2026-03-09
    code 0 "issue $sheet"
done
for table in stones casting bench; do
    run order "$S/halo.csv" --books "$S/pricebooks" --table $table --csv
    cp "$out" "$WORK/sheet.csv"
    run order DEMO-HALO --books "$S/pricebooks" --table $table --csv
    code 0 "an open quote: $table"
    holds "an open quote's $table are those of its sheet" cmp -s "$out" "$WORK/sheet.csv"
done
err_has 'DEMO-HALO-r1 is open: not accepted yet' 'an open quote is said to be open'
run order "$S/halo.csv" --books "$S/pricebooks" --option platinum --table casting --csv
cp "$out" "$WORK/sheet.csv"
run order DEMO-HALO --books "$S/pricebooks" --option platinum --table casting --csv
holds 'an option of an open quote' cmp -s "$out" "$WORK/sheet.csv"
run accept DEMO-HALO --option platinum --on 2026-03-10 --books "$S/pricebooks"
code 0 'accept an option'
sed 's/^shank,width top,[^,]*/shank,width top,3.1/' "$S/halo.csv" >"$S/changed.csv"
mv "$S/changed.csv" "$S/halo.csv"
for reference in DEMO-HALO DEMO-HALO-r1; do
    run order $reference --books "$S/pricebooks" --register "$S/tallystone.db" --table casting --csv
    code 0 "$reference after it was accepted"
    holds "$reference: the option accepted, whatever its sheet has become" cmp -s "$out" "$WORK/sheet.csv"
    err_empty "$reference: nothing more to say"
done
run order DEMO-HALO demo/eternity.csv --books "$S/pricebooks" --table bench --csv
code 0 'a quote beside a sheet'
out_has 'DEMO-ETERNITY' 'the sheet is in it'
out_has 'DEMO-HALO' 'and the quote'
run order DEMO-HALO "$S/halo.csv" --books "$S/pricebooks"
code 65 'a quote and its own sheet'
err_has 'ordered twice' 'it would be ordered twice'
run order DEMO-HAL --books "$S/pricebooks"
code 65 'no such quote'
err_has 'DEMO-HALO' 'the nearest is named'
run order DEMO-TWO --option silver --books "$S/pricebooks"
code 65 'an option that the quote has not'
err_has 'platinum' 'its options are named'
run decline DEMO-TWO --on 2026-03-10 --books "$S/pricebooks"
run order DEMO-HALO DEMO-TWO --books "$S/pricebooks" --out "$S/order.xlsx"
code 77 'a declined quote among others'
err_has 'DEMO-TWO-r1 is declined' 'it is named'
holds 'a declined quote: nothing written' test ! -e "$S/order.xlsx"

# places that cannot be written
: >"$WORK/file"
run order demo/halo.csv --books "$BOOKS" --out "$WORK/file/order.xlsx"
code 73 'a folder below a file'
ln -s /nowhere "$WORK/link.xlsx"
run order demo/halo.csv --books "$BOOKS" --out "$WORK/link.xlsx"
code 73 'never through a link'
holds 'the link is left as it was' test -L "$WORK/link.xlsx"
status=0
"$TALLYSTONE" order demo/halo.csv --books "$BOOKS" >/dev/full 2>"$err" || status=$?
: >"$out"
code 74 'a full disk under standard output'

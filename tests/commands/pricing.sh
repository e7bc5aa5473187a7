#!/bin/sh
# Pricing as a user does it: starter sheets, terminal, CSV, papers, options, as-of.
set -u
. tests/commands/expect

for kind in 'solitaire' 'halo' 'double halo' 'three stone' 'eternity band'; do
    name=$(echo "starter-$kind" | tr ' ' -)
    (cd "$WORK" && "$TALLYSTONE" new "$name" --like "$kind" >"$out" 2>"$err")
    status=$?
    code 0 "new --like $kind"
    out_has "$name.csv" "new --like $kind prints the file"
    run check "$WORK/$name.csv" --books "$BOOKS"
    code 0 "the starter sheet $kind has no fault"
    run price "$WORK/$name.csv" --books "$BOOKS"
    code 0 "the starter sheet $kind prices as it stands"
    err_lacks 'the nearest head or bezel' "its ends reach what they carry, $kind"
done
(cd "$WORK" && "$TALLYSTONE" new starter-halo >"$out" 2>"$err")
status=$?
code 73 'new does not write over a sheet that is there'
(cd "$WORK" && "$TALLYSTONE" new q/ring >"$out" 2>"$err")
holds 'new in a folder of one letter says where' grep -qx 'q/ring.csv' "$out"
echo mine >"$WORK/q/ring.csv"
status=0
(cd "$WORK" && "$TALLYSTONE" new q/ring >"$out" 2>"$err") || status=$?
code 73 'nor there over one that is there'
holds 'which stays as it is' grep -qx mine "$WORK/q/ring.csv"
run new "$WORK/x" --like necklace
code 65 'an unknown kind of starter sheet'
err_has 'eternity band' 'the kinds are named'

run price demo/halo.csv --books "$BOOKS"
code 0 'the halo demo prices'
out_has 'to pay' 'the terminal shows what is to pay'
run price demo/halo.csv --books "$BOOKS" --csv
code 0 'price --csv'
holds 'the CSV header is as promised' grep -qx \
    'reference,option,section,item,quantity,unit,unit cost,cost,price,origin' "$out"
holds 'no carriage returns in CSV' sh -c "! grep -q '$(printf '\r')' '$out'"
out_has ',melee,natural melee G-VS 1.00 mm,' 'a lot is printed as the book spells it'
cp "$out" "$WORK/first.csv"
sed 's/natural melee G-VS/Natural MELEE g-vs/' demo/halo.csv >"$WORK/shout.csv"
run price "$WORK/shout.csv" --books "$BOOKS" --csv
holds 'however a sheet writes it' sh -c "cut -d, -f1-9 '$out' >'$WORK/shout-cut'; cut -d, -f1-9 '$WORK/first.csv' |
    cmp -s - '$WORK/shout-cut'"
run price demo/halo.csv --books "$BOOKS" --csv
holds 'the same input gives the same bytes' cmp -s "$out" "$WORK/first.csv"
"$TALLYSTONE" price - --books "$BOOKS" --csv <demo/halo.csv >"$out" 2>"$err"
status=$?
code 0 'a sheet from standard input'
holds 'it prices the same' sh -c "cut -d, -f1-9 '$out' | cmp -s - '$WORK/cut' ||
    { cut -d, -f1-9 '$WORK/first.csv' >'$WORK/cut'; cut -d, -f1-9 '$out' | cmp -s - '$WORK/cut'; }"
holds 'what sets an option apart adds up to the cent, section by section, and to its total' \
    /usr/bin/python3 tests/commands/differences.py "$WORK/first.csv"
run price demo/halo.csv --books "$BOOKS" --as-of 2026-11-25
out_has 'In platinum 950: +75.07, of it metal -248.66 labour +285.99' 'the terminal says the same in a line'
sed 's/^commission,deliver by,.*/commission,deliver by,2026-11-30,,/' demo/halo.csv >"$WORK/soon.csv"
run price "$WORK/soon.csv" --books "$BOOKS" --as-of 2026-11-25
code 0 'a day that cannot be kept is no fault'
err_has 'soon.csv: caution: ready at the earliest by' 'but a caution'
err_has 'after 30 November 2026, the day the client needs it' 'that names the day'
run price "$WORK/soon.csv" demo/eternity.csv --books "$BOOKS" --as-of 2026-11-25
err_has 'soon.csv: caution: ready at the earliest by' 'among several sheets too'
err_lacks 'eternity.csv: caution: ready' 'and only where it is so'
run price "$WORK/soon.csv" --books "$BOOKS" --as-of 2026-11-25 --csv
err_has 'soon.csv: caution: ready at the earliest by' 'and where the table is CSV'
sed 's/^trade-in old,weight,4.2,/trade-in old,weight,420,/' demo/halo.csv >"$WORK/much.csv"
run price "$WORK/much.csv" --books "$BOOKS" --as-of 2026-11-25
code 0 'old metal above the price is no fault'
err_has 'much.csv: caution: the old metal comes to 25307.38 USD more than the price with tax' 'but a caution'
err_has 'much.csv, option low: caution: the old metal comes to' 'of each option'
holds 'the terminal says who owes it' grep -q '^total  *owed to the client  *25307\.38$' "$out"
holds 'and whom each stage is paid to' grep -q '^payment  *deposit, to the client  *10122\.95$' "$out"
run price "$WORK/much.csv" --books "$BOOKS" --as-of 2026-11-25 --csv
out_has ',total,to pay,,,,,-25307.38,' 'a script reads it with its sign'
run quantities demo/halo.csv --books "$BOOKS" --csv
code 0 'quantities --csv'
holds 'the quantities header is as promised' grep -qx 'part,measure,value,unit,origin' "$out"
out_has 'ring,inside diameter,16.51,mm' 'US 6 is 16.51 mm inside'
out_has 'halo top,stones,18' 'the halo holds 18 stones'
run check demo/*.csv --books "$BOOKS" --as-of 2026-11-25
code 0 'the demo sheets and the shipped books have no fault'

# papers appear whole, the owner's for the owner alone
sed 's/DEMO-HALO/demo-halo/' demo/halo.csv >"$WORK/small.csv"
run price demo/halo.csv "$WORK/small.csv" --books "$BOOKS" --out "$WORK/capitals"
code 65 'references that differ in capitals alone'
err_has 'one file where capitals do not count' 'it says why'
holds 'neither is written' test ! -e "$WORK/capitals/DEMO-HALO-draft-quote.xlsx"
run price demo/halo.csv demo/eternity.csv --books "$BOOKS" --out "$WORK/papers/new"
code 0 'papers of two sheets'
holds 'the quote is there' test -s "$WORK/papers/new/DEMO-HALO-draft-quote.xlsx"
holds 'the margin sheet is in studio/' test -s "$WORK/papers/new/studio/DEMO-HALO-draft-margin.xlsx"
holds 'studio/ is 0700' test "$(stat -c %a "$WORK/papers/new/studio")" = 700
holds 'the margin sheet is 0600' \
    test "$(stat -c %a "$WORK/papers/new/studio/DEMO-HALO-draft-margin.xlsx")" = 600
holds 'nothing staged is left' test -z "$(find "$WORK/papers/new" -name '.*' -mindepth 1)"
cp "$WORK/papers/new/DEMO-HALO-draft-quote.xlsx" "$WORK/quote.xlsx"
cp "$WORK/papers/new/studio/DEMO-HALO-draft-margin.xlsx" "$WORK/margin.xlsx"
sleep 1
run price demo/halo.csv --books "$BOOKS" --out "$WORK/papers/new"
holds 'the quote has the same bytes again' \
    cmp -s "$WORK/quote.xlsx" "$WORK/papers/new/DEMO-HALO-draft-quote.xlsx"
holds 'the margin sheet has the same bytes again' \
    cmp -s "$WORK/margin.xlsx" "$WORK/papers/new/studio/DEMO-HALO-draft-margin.xlsx"

# options paid for in different ways: the fee goes by the way that bears it
sed '/^option/d' demo/halo.csv >"$WORK/ways.csv"
echo 'option card,commission/pays by,card,,' >>"$WORK/ways.csv"
run price "$WORK/ways.csv" --books "$BOOKS" --out "$WORK/ways"
code 0 'options paid for in different ways'
unzip -p "$WORK/ways/DEMO-HALO-draft-quote.xlsx" xl/sharedStrings.xml >"$out"
out_has '>Fee for paying by card<' 'the fee is that of the card'
out_has '>Paid by<' 'each option says how it is paid'
holds 'no heading says one way for all' sh -c "! grep -q 'by bank, in stages' '$out'"

# one bad sheet among good ones
sed 's/^shank,width top,[^,]*/shank,width top,45/' demo/halo.csv >"$WORK/bad.csv"
run price "$WORK/bad.csv" demo/eternity.csv --books "$BOOKS" --out "$WORK/mixed"
code 65 'a bad sheet among good ones ends with 65'
err_has 'bad.csv:' 'the bad sheet is named'
holds 'the good one is written' sh -c "ls '$WORK'/mixed/*.xlsx | grep -q ETERNITY"
holds 'the bad one is not' sh -c "! ls '$WORK'/mixed/*.xlsx | grep -q HALO"
cp demo/eternity.csv "$WORK/twin.csv"
run price demo/eternity.csv "$WORK/twin.csv" --books "$BOOKS" --out "$WORK/twins"
code 65 'two sheets of one reference'
holds 'neither is written' sh -c "! ls '$WORK'/twins/*.xlsx 2>/dev/null | grep -q ."

# places that cannot be written
: >"$WORK/file"
run price demo/halo.csv --books "$BOOKS" --out "$WORK/file/below"
code 73 'a folder below a file cannot be made'
mkdir -p "$WORK/link/studio"
ln -s /nowhere "$WORK/link/DEMO-HALO-draft-quote.xlsx"
run price demo/halo.csv --books "$BOOKS" --out "$WORK/link"
code 73 'never through a link'
holds 'the link is left as it was' test -L "$WORK/link/DEMO-HALO-draft-quote.xlsx"
run why demo/halo.csv margn --books "$BOOKS"
code 65 'why of an amount that is not there'
err_has 'did you mean "margin"?' 'why of an amount that is not there: the nearest'
run why demo/halo.csv brake-even --books "$BOOKS"
code 65 'why of a word that is nearly the break-even'
err_has 'did you mean "break-even"?' 'why of a word that is nearly the break-even: the nearest'
run why demo/halo.csv break-even --books "$BOOKS" --csv
code 0 'why of the break-even'
holds 'a metal that never brings the margin to the floor says so' \
    grep -q '^1,break-even of gold,,USD,,no price of gold up to a thousand times' "$out"
holds 'each metal of the piece has its chain' test "$(grep -c '^1,break-even of' "$out")" = 2
mkdir "$WORK/floored"
cp "$BOOKS"/* "$WORK/floored"
sed 's/^floor,margin,,30,/floor,margin,,36.5,/' "$BOOKS/policy.csv" >"$WORK/floored/policy.csv"
run why demo/halo.csv 'break-even of gold' --books "$WORK/floored" --csv
code 0 'why of one break-even'
holds 'the price, how it was found, and where the lines meet' \
    grep -qE '^1,break-even of gold,[0-9.]+,USD,"last\(#2, #3: #4, #5, 0.01: #6\)"' "$out"
holds 'its margin is the floor' grep -q '^2,margin,36.5,%,' "$out"
run why demo/halo.csv 'break-even of palladium' --books "$WORK/floored"
code 65 'the break-even of a metal that is not in the piece'
sed '/^floor,/d' "$BOOKS/policy.csv" >"$WORK/floored/policy.csv"
run why demo/halo.csv break-even --books "$WORK/floored"
code 65 'a break-even without a floor'
err_has 'no floor of the margin in force' 'a break-even without a floor: what is missing'
status=0
"$TALLYSTONE" price demo/halo.csv --books "$BOOKS" >/dev/full 2>"$err" || status=$?
: >"$out"
code 74 'a full disk under standard output'

# as-of picks the rows in force
run price demo/halo.csv --books "$BOOKS" --csv --as-of 2026-03-02
code 0 'an earlier pricing date'
holds 'its prices differ' sh -c "! cmp -s '$out' '$WORK/first.csv'"
cp -r "$BOOKS" "$WORK/later"
tail -n 1 "$BOOKS/metals.csv" >/dev/null
printf 'gold,9999,USD,troy ounce,2027-01-04,,\n' >"$WORK/row"
header=$(head -n 1 "$BOOKS/metals.csv")
holds 'metals.csv has the columns this test adds a row by' \
    test "$header" = 'metal,price,currency,per,from,until,note'
cat "$WORK/row" >>"$WORK/later/metals.csv"
run price demo/halo.csv --books "$WORK/later" --csv
holds 'a row that begins later changes no price' cmp -s "$out" "$WORK/first.csv"

# a figure past what is exact: said of its own sheet, whatever was said of one before
cp -r "$BOOKS" "$WORK/dear"
printf 'KWD,USD,950000,2026-11-21,,\n' >>"$WORK/dear/rates.csv"
sed 's/^shank,width top,[^,]*/shank,width top,45/' demo/halo.csv >"$WORK/slip.csv"
{ cat demo/halo.csv && printf 'metal clasp,weight,1,g,\nmetal clasp,price,10000000,KWD,\n'; } >"$WORK/clasp.csv"
run price "$WORK/slip.csv" "$WORK/clasp.csv" --books "$WORK/dear" --as-of 2026-11-25
code 65 'a price past what is exact, after a sheet with a fault'
err_has 'metal clasp grew past what exact arithmetic holds' 'is said of its own sheet'
err_has '2 of 2 sheets came to no price' 'which has no price'
# a fee that, with the tax on it, is more than the surcharge brings
sed 's/^surcharge,card,,[^,]*/surcharge,card,,95/' "$BOOKS/policy.csv" >"$WORK/dear/policy.csv"
sed 's/^commission,pays by,.*/commission,pays by,card,,/' demo/halo.csv >"$WORK/card.csv"
run price "$WORK/card.csv" --books "$WORK/dear" --as-of 2026-11-20
code 65 'a fee that takes all of its surcharge'
err_has 'policy.csv:33:17: a fee of 95 % for paying by card, taxed as the rest is, takes all' 'names its row'
# nothing earned, no margin: a discount of all lines
sed '/^minimum,net/d' "$BOOKS/policy.csv" >"$WORK/later/policy.csv"
sed -e '/^option/d' -e 's/^commission,region,.*/&\ncommission,discount,3443.06,USD,/' demo/halo.csv >"$WORK/less.csv"
run price "$WORK/less.csv" --books "$WORK/later" --csv --as-of 2026-11-25
code 0 'a discount of all lines'
out_has 'DEMO-HALO,base,total,net,,,,,0.00,' 'a discount of all lines leaves no net'
out_has 'DEMO-HALO,base,total,margin,,%,,,,' 'and no margin'

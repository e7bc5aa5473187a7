#!/bin/sh
# The bookkeeper's export as a user meets it: usage, the folder and its manifest, the same bytes
# again, what differs by name, --replace, --dry-run, periods with nothing in them, places that
# cannot be written and a disk that is full. Figures by hand: the quote of 100.00 below.
# options of several words are meant to be parted
# shellcheck disable=SC2086
set -u
. tests/commands/expect

S=$WORK/studio
mkdir "$S"
cp -r pricebooks "$S/pricebooks"
B="--books $S/pricebooks"
DB=$S/tallystone.db
March="--from 2026-03-01 --to 2026-03-31"
F=$S/x/2026-03-01--2026-03-31
sed -e 's/^commission,date,[^,]*/commission,date,2026-03-09/' \
    -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' \
    demo/halo.csv >"$S/halo.csv"
grep -v '^option' "$S/halo.csv" | sed 's/DEMO-HALO/ONE/' >"$S/one.csv"
sed -e 's/^commission,region,[^,]*/commission,region,vat country/' -e 's/,ONE,/,TWO,/' \
    -e 's/^commission,currency,[^,]*/commission,currency,EUR/' \
    -e 's/^commission,client,[^,]*/commission,client,=1+1 <b> \& Co/' "$S/one.csv" >"$S/two.csv"
happen() { "$TALLYSTONE" "$@" $B >"$out" 2>"$err" </dev/null || verdict 1 "set-up: $*"; }
row() { grep -F -e "$2" "$1"; }
is() { # name expected found
    [ "$2" = "$3" ] && verdict 0 "$1" || {
        verdict 1 "$1"
        printf '  expected: %s\n  found:    %s\n' "$2" "$3"
    }
}
no_leftover() { test -z "$(find "$1" -mindepth 1 -maxdepth 1 -name '.*')"; }

# --- usage
run export $B --out "$S/x"
code 64 'without a period'
run export $B $March
code 64 'without --out'
run export $B --from 2026-03-31 --to 2026-03-01 --out "$S/x"
code 64 'a period that ends before it begins'
err_has '--from lies after --to' 'it says so'
run export $B --from 2026-02-30 --to 2026-03-01 --out "$S/x"
code 64 'a day that is not in the calendar'
run export $B $March --out "$S/x"
code 66 'without a register'
holds 'nothing was made' test ! -e "$S/x"

# --- a register
happen issue "$S/halo.csv" --out "$S/o" --on 2026-03-09
happen issue "$S/one.csv" --out "$S/o" --on 2026-03-09
happen issue "$S/two.csv" --out "$S/o" --on 2026-03-10 --reason 'a caution of the law'
happen accept ONE --on 2026-03-10
happen paid ONE 1000 --on 2026-03-11 --stage deposit --receipt 2026-031
happen accept TWO --on 2026-03-12
happen paid TWO 1000 --on 2026-03-13
happen paid TWO 10 --on 2026-03-13
happen void 8 --on 2026-03-14
run export $B --from 2026-03-01 --to 2199-12-31 --out "$S/x"
code 65 'a period that has not come to its end'
err_has 'lies after today' 'it says so'

# --- dry run, then the folder
run export $B $March --out "$S/x" --dry-run
code 0 'export --dry-run'
out_has "would be: $F" 'it says where'
holds 'it makes nothing' test ! -e "$S/x"
cp "$DB" "$WORK/before.db"
run export $B $March --out "$S/x"
code 0 'export'
out_has "$F" 'the folder is printed'
err_has '3 quotes, 3 taxes, 4 payments, 4 entries, 3 quotations' 'the rest is said'
holds 'the register is not changed' cmp -s "$DB" "$WORK/before.db"
holds 'nothing staged is left' no_leftover "$S/x"
is 'the folder is the owner'"'"'s alone' 700 "$(stat -c %a "$F")"
is 'every file is there' \
    'books.journal lines.csv manifest.csv payments.csv quotes quotes.csv taxes.csv' \
    "$(cd "$F" && echo *)"
is 'a quotation each' 'DEMO-HALO-r1.xml ONE-r1.xml TWO-r1.xml' "$(cd "$F/quotes" && echo *)"

# --- the manifest: bytes, rows, sums, the head of the register
manifest_fits() {
    tail -n +2 "$F/manifest.csv" | while IFS=, read -r file rows sum hash head; do
        [ "$(sha256sum "$F/$file" | cut -d' ' -f1)" = "$hash" ] || echo "$file: hash"
        [ "$head" = "$(sqlite3 "$DB" 'SELECT hash FROM event ORDER BY id DESC LIMIT 1')" ] ||
            echo "$file: head"
        case $file in
        *.csv) [ "$(tail -n +2 "$F/$file" | wc -l)" -eq "$rows" ] || echo "$file: rows" ;;
        *.journal) [ "$(grep -c '^2026' "$F/$file")" -eq "$rows" ] || echo "$file: entries" ;;
        esac
        case $file in
        taxes.csv) column=11 ;;
        payments.csv) column=8 ;;
        *) continue ;;
        esac
        total=$(tail -n +2 "$F/$file" | cut -d, -f$column | paste -sd+ | bc)
        [ "$(echo "$total == $sum" | bc)" -eq 1 ] || echo "$file: sum $sum, $total"
    done
}
is 'hashes, rows, sums and head of the manifest' '' "$(manifest_fits)"

# --- rows (1000 × 584.25 / 3659.25 = 159.66; 1 EUR = 1.0725 USD)
out=$F/payments.csv
out_has 'e5,2026-03-11,' 'a payment has its event as id'
out_has ',ONE,deposit,bank,2026-031,1000.00,USD,' 'stage, way and receipt of a payment'
out_has ',TWO,,bank,,-10.00,EUR,e8' 'a void names what it voids'
out=$F/taxes.csv
out_has 'e7-1,2026-03-13,TWO,1,paid,vat country,all,VAT,19,840.34,159.66,EUR,1.0725,171.24' \
    'tax falls due on payment where the row says so'
is 'and not where it is due on delivery' '' "$(row "$F/taxes.csv" ,ONE,)"
out=$F/quotes.csv
out_has "q3,TWO,1,base,accepted,,'=1+1 <b> & Co,vat country,EUR" 'text never becomes a formula'
out_has 'q1,DEMO-HALO,1,base,expired,' 'one that nobody answered has expired'
out=$F/lines.csv
out_has 'q2-1-20,ONE,1,base,20,contingency,contingency on cost,,,34.48,all' \
    'the quantity of a contingency is a cost and is left out'
out=$WORK/stdout
columns() { head -n 1 "$F/$1"; }
is 'columns of quotes.csv' 'id,reference,revision,option,state,replaces,client,region,currency,issued,accepted,delivered,net,tax,total,trade-in,to pay,paid,balance' "$(columns quotes.csv)"
is 'columns of lines.csv' 'id,reference,revision,option,line,section,item,quantity,unit,price,tax category' "$(columns lines.csv)"
is 'columns of taxes.csv' 'id,date,reference,revision,event,region,category,name,rate,base,tax,currency,home rate,home tax' "$(columns taxes.csv)"
is 'columns of payments.csv' 'id,date,written,reference,stage,by,receipt,amount,currency,voids' "$(columns payments.csv)"
is 'columns of manifest.csv' 'file,rows,sum,sha256,register head' "$(columns manifest.csv)"

# --- other programs read it
holds 'hledger takes the journal, strictly' hledger -f "$F/books.journal" check --strict
holds 'and in the order of days' hledger -f "$F/books.journal" check ordereddates
holds 'ledger takes it, pedantically' sh -c "ledger -f '$F/books.journal' --pedantic bal >'$WORK/bal'"
balance() { hledger -f "$F/books.journal" bal -N -O csv "$1" | tail -n +2; }
out=$WORK/balance
balance Client-Deposits >"$out"
out_has '-1000.00 USD' 'a deposit is a liability'
out_has '-840.34 EUR' 'and stands without the tax that was declared on it'
out=$WORK/stdout
holds 'the quotations are well formed' xmllint --noout --nonet "$F"/quotes/*.xml
is 'what is marked up in XML is escaped' '=1+1 <b> & Co' \
    "$(xmllint --xpath "string(//*[local-name()='BuyerCustomerParty']//*[local-name()='Name'])" "$F/quotes/TWO-r1.xml")"
is 'options are alternatives' 3 \
    "$(xmllint --xpath "count(//*[local-name()='AlternativeLineItem'])" "$F/quotes/DEMO-HALO-r1.xml")"
holds 'no cost, lot or overhead in a quotation' \
    sh -c "! grep -iqE 'overhead|contingency|g-vs|markup|margin' '$F'/quotes/*.xml"

# --- the same again, also after later events
copy() { rm -rf "$WORK/copy" && cp -rp "$F" "$WORK/copy"; }
same() { diff -r "$F" "$WORK/copy" >"$WORK/diff"; }
copy
run export $B $March --out "$S/x"
code 0 'the same export'
err_has 'there already, the same to the byte' 'it says so'
happen bought ONE --on 2026-04-02
happen deliver ONE --on 2026-04-03
happen paid ONE 2000 --on 2026-04-04
happen cancel TWO --keep 300 --on 2026-04-05
run export $B $March --out "$S/x"
code 0 'the same after later events'
holds 'the same bytes' same
holds 'and in another folder' sh -c "'$TALLYSTONE' export $B $March --out '$S/y' >'$out' 2>'$err' && diff -r '$S/y' '$S/x'"

# --- one that was written later and dated in the period
happen refund TWO 100 --on 2026-03-30
run export $B $March --out "$S/x"
code 77 'what is there and differs stays'
err_has 'payments.csv e14 (new)' 'the ids are named'
err_has '--replace' 'it says how'
out_empty 'nothing is printed'
holds 'not a byte changed' same
run export $B $March --out "$S/x" --replace --dry-run
code 0 '--replace --dry-run'
holds 'changes nothing' same
run export $B $March --out "$S/x" --replace
code 0 '--replace'
holds 'the new one is in its place' sh -c "grep -q '^e14,' '$F/payments.csv'"
holds 'nothing of the old one is left' no_leftover "$S/x"
is 'no folder beside it' '2026-03-01--2026-03-31' "$(ls "$S/x")"
hledger_ok() { hledger -f "$F/books.journal" check --strict && ledger -f "$F/books.journal" --pedantic bal >"$WORK/bal"; }
holds 'both journal programs take it' hledger_ok

# --- a period with nothing in it
run export $B --from 2025-01-01 --to 2025-01-31 --out "$S/x"
code 0 'a period with nothing in it'
is 'has headers alone' '5 1 1 1 1' "$(cd "$S/x/2025-01-01--2025-01-31" &&
    for f in manifest quotes lines taxes payments; do wc -l <$f.csv; done | sed 's/^6$/5/' | paste -sd' ')"
holds 'and an empty journal' test ! -s "$S/x/2025-01-01--2025-01-31/books.journal"

# --- what the books lack is said, all in one run, and nothing is written
rm -rf "$S/z"
grep -v '^deposits\|^VAT' pricebooks/accounts.csv >"$S/pricebooks/accounts.csv"
sed '/^EUR,USD/d' pricebooks/rates.csv >"$S/pricebooks/rates.csv"
run export $B $March --out "$S/z"
code 65 'accounts and rates that are missing'
err_has 'no row in force for "deposits"' 'an account is named'
err_has 'no row in force for "VAT"' 'and the other'
err_has 'rates.csv has no rate in force on 13 March 2026 that turns EUR into USD' 'and the rate'
holds 'nothing was made' test ! -e "$S/z"
sed 's/^bank,[^,]*/bank,Assets; Bank/' pricebooks/accounts.csv >"$S/pricebooks/accounts.csv"
cp pricebooks/rates.csv "$S/pricebooks/rates.csv"
run export $B $March --out "$S/z"
code 65 'an account that no journal can hold'
err_has 'accounts.csv:2:' 'its row is named'
cp pricebooks/accounts.csv "$S/pricebooks/accounts.csv"

# --- places that cannot be written
echo text >"$S/file"
run export $B $March --out "$S/file"
code 73 'a file where the folder should be'
mkdir -p "$S/w"
echo text >"$S/w/2026-03-01--2026-03-31"
run export $B $March --out "$S/w"
code 73 'a file in the place of the period'
holds 'it stays' test -f "$S/w/2026-03-01--2026-03-31"
holds 'nothing staged is left there' no_leftover "$S/w"

# --- a disk that is full at the n-th write, rename or flush: the old folder whole, or none
ASAN_OPTIONS=detect_leaks=0
export ASAN_OPTIONS
whole_or_none() { # folder
    [ ! -e "$1" ] || { [ -s "$1/manifest.csv" ] && [ -s "$1/quotes/TWO-r1.xml" ] &&
        [ -s "$1/taxes.csv" ] && [ -s "$1/books.journal" ]; }
}
copy
failed=0
broken=''
try() { # syscall error n
    rm -rf "$S/full"
    strace -f -qq -o /dev/null -e trace="$1" -e inject="$1":error="$2":when="$3" \
        "$TALLYSTONE" export $B $March --out "$S/full" >"$WORK/so" 2>"$WORK/se"
    ended=$?
    [ "$ended" -eq 0 ] || failed=$((failed + 1))
    place=$S/full/2026-03-01--2026-03-31
    whole_or_none "$place" || broken="$broken $1:$3 half written;"
    [ "$ended" -ne 0 ] || [ -e "$place" ] || broken="$broken $1:$3 said done;"
    [ "$ended" -eq 0 ] || [ -s "$WORK/se" ] || broken="$broken $1:$3 silent;"
    [ ! -d "$S/full" ] || no_leftover "$S/full" || broken="$broken $1:$3 leftover;"
}
for n in 1 2 3 4 5 6 7 8 9 10 11 12; do
    try write ENOSPC "$n"
done
for n in 1 4 7 9 10 11 12; do
    try fsync EIO "$n"
done
try rename ENOSPC 1
try mkdir ENOSPC 1
try mkdir ENOSPC 2
is 'a full disk leaves nothing half written' '' "$broken"
holds "and is said ($failed of 22 runs failed)" test "$failed" -ge 18

# --- old metal above the price: the quotation says who owes it, and bears no minus in its words
mkdir "$WORK/owed"
cp -r pricebooks "$WORK/owed/pricebooks"
B="--books $WORK/owed/pricebooks"
sed 's/^trade-in old,weight,4.2,/trade-in old,weight,45,/' "$S/halo.csv" >"$WORK/owed/halo.csv"
happen issue "$WORK/owed/halo.csv" --out "$WORK/owed/o" --on 2026-03-09
run register DEMO-HALO $B
out_has 'owed to the client' 'the register says which options are owed'
run export $B $March --out "$WORK/owed/x"
code 0 'export of a quote that is owed'
out=$WORK/owed/x/2026-03-01--2026-03-31/quotes/DEMO-HALO-r1.xml
out_has '<cbc:Note>To pay: Deposit: when' 'a stage that the client pays'
out_has '<cbc:Note>What we owe you: Deposit, we pay you: when' 'a stage that the client is paid'
is 'no amount in words bears a minus' '' "$(grep -E '<cbc:(Note|Description)>.*: [-−][0-9]' "$out")"
out=$WORK/stdout

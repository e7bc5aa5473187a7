#!/bin/sh
# The register as a user meets it: issue, every event, what is refused, dry runs, both streams,
# the chain of events, papers made again, backups; and files that are not as they should be.
# options of several words are meant to be parted
# shellcheck disable=SC2086
set -u
. tests/commands/expect

# a studio of its own, all in the past, so that no event lies after today
studio() { # folder
    mkdir -p "$1"
    cp -r pricebooks "$1/pricebooks"
    sed -e 's/^commission,date,[^,]*/commission,date,2026-03-09/' \
        -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' \
        demo/halo.csv >"$1/halo.csv"
    sed -e 's/DEMO-HALO/DEMO-TWO/' "$1/halo.csv" >"$1/two.csv"
    grep -v '^option' "$1/two.csv" | sed 's/DEMO-TWO/DEMO-ONE/' >"$1/one.csv"
}
S=$WORK/studio
studio "$S"
B="--books $S/pricebooks"
DB=$S/tallystone.db
same_register() { # name: nothing was written since the copy
    holds "$1" cmp -s "$DB" "$WORK/before.db"
}
keep() { cp "$DB" "$WORK/before.db"; }

# --- before there is a register
for command in 'accept X' 'decline X' 'paid X 1' 'refund X 1' 'credit X 1' 'bought X' 'deliver X' \
    'cancel X' 'void 1' 'register' 'register X' 'register --verify' 'register --status'; do
    run $command $B
    code 66 "without a register: $command"
done
err_has 'tallystone issue' 'it says what makes one'
holds 'none was made' test ! -e "$DB"
: >"$DB"
run register $B
code 66 'an empty file counts as none'
rm "$DB"

# --- issue
run issue "$S/halo.csv" $B
code 64 'issue without --out'
run issue "$S/halo.csv" $B --out "$S/out" --on 2199-01-01
code 65 'a day after today'
run issue "$S/halo.csv" $B --out "$S/out" --on 2026-06-01
code 77 'a quote that would end before it is issued'
run issue "$S/halo.csv" $B --on 2026-03-09 --dry-run
code 0 'issue --dry-run'
out_has 'DEMO-HALO-r1 would be issued' 'it says what would be'
holds 'a dry run makes no register' test ! -e "$DB"
sed 's/DEMO-HALO/DEMO-HALO-r3/' "$S/halo.csv" >"$S/bad.csv"
run issue "$S/bad.csv" $B --out "$S/out" --on 2026-03-09
code 65 'a reference that ends like a revision'
run issue "$S/halo.csv" $B --out "$S/out" --on 2026-03-09
code 0 'issue'
out_has 'DEMO-HALO-r1' 'issue prints the revision'
err_has 'tallystone accept DEMO-HALO' 'issue tells the next command'
holds 'the register is 0600' test "$(stat -c %a "$DB")" = 600
holds 'at rest it is one file' test "$(find "$S" -name 'tallystone.db*' | wc -l)" -eq 1
holds 'the quote that counts is there' test -s "$S/out/DEMO-HALO-r1-quote.xlsx"
holds 'the margin sheet is in studio/' test -s "$S/out/studio/DEMO-HALO-r1-margin.xlsx"
holds 'nothing staged is left' test -z "$(find "$S/out" -mindepth 1 -name '.*')"
holds 'it is no draft' sh -c "! unzip -p '$S/out/DEMO-HALO-r1-quote.xlsx' | grep -q Draft"
keep
run issue "$S/halo.csv" $B --out "$S/out" --on 2026-03-09
code 77 'a reference is issued once'
err_has 'revise DEMO-HALO' 'it names revise'
same_register 'a refused issue changes nothing'
sed 's/DEMO-HALO/DEMO_HALO/' "$S/halo.csv" | sed 's/DEMO_HALO/DEMO HALO/' >"$S/bad.csv"
run issue "$S/bad.csv" $B --out "$S/out" --on 2026-03-09
code 0 'another reference'
sed 's/DEMO-HALO/DEMO.HALO/' "$S/halo.csv" >"$S/bad.csv"
run issue "$S/bad.csv" $B --out "$S/out" --on 2026-03-09
code 65 'two references of one file name'
sed 's/DEMO-HALO/Demo.Halo/' "$S/halo.csv" >"$S/bad.csv"
run issue "$S/bad.csv" $B --out "$S/out" --on 2026-03-09
code 65 'and where capitals alone tell the names apart'
"$TALLYSTONE" issue - $B --out "$S/out" --on 2026-03-09 <"$S/one.csv" >"$out" 2>"$err"
status=$?
code 0 'a sheet from standard input'

# --- a margin under the floor asks for a reason
sed 's/^floor,margin,,[0-9]*/floor,margin,,70/' pricebooks/policy.csv >"$S/pricebooks/policy.csv"
run issue "$S/two.csv" $B --out "$S/out" --on 2026-03-09
code 77 'a margin under the floor'
err_has 'under the floor of 70' 'the floor is named'
run issue "$S/two.csv" $B --out "$S/out" --on 2026-03-09 --reason 'a friend of the house'
code 0 'with a reason it is issued'
run register DEMO-TWO $B
out_has 'a friend of the house' 'the reason is recorded'
cp pricebooks/policy.csv "$S/pricebooks/policy.csv"

# --- rows that moved since, or end before the quote
cp pricebooks/metals.csv "$S/pricebooks/metals.csv"
sed -i 's/^gold,3742.5,USD,troy ounce,2026-03-02,/gold,3742.5,USD,troy ounce,2026-03-02,2026-03-20/' \
    "$S/pricebooks/metals.csv"
sed 's/DEMO-ONE/DEMO-END/' "$S/one.csv" >"$S/end.csv"
run issue "$S/end.csv" $B --on 2026-03-09 --dry-run
err_has 'which ends on 20 March 2026' 'a row that ends before the quote does is said'
cp pricebooks/metals.csv "$S/pricebooks/metals.csv"

# --- accept
keep
run paid DEMO-HALO 100 $B
code 77 'paid before accept'
err_has 'accept' 'it says what may follow'
out_empty 'a refusal writes nothing to standard output'
run accept DEMO-HALO $B --on 2026-03-10
code 77 'several options: which one'
err_has 'platinum' 'the options are named'
run accept DEMO-HALO $B --on 2026-03-10 --option platinm
code 65 'an option that is not there'
err_has 'did you mean "platinum"?' 'the nearest is suggested'
run accept DEMO-HALO $B --on 2026-03-01 --option base
code 77 'before the issue'
run accept DEMO-HALO $B --on 2026-04-20 --option base
code 77 'after valid until'
err_has '--reason' 'it asks for a reason'
run accept DEMO-HALO $B --on 2026-03-10 --option base --dry-run
code 0 'accept --dry-run'
out_has 'would be: DEMO-HALO-r1: accept' 'it says what would be'
same_register 'neither refusals nor the dry run changed a byte'
run accept DEMO-HALO $B --on 2026-03-10 --option base
code 0 'accept'
out_has 'DEMO-HALO-r1: accept; accepted' 'the new state is said'
run accept DEMO-HALO $B --on 2026-03-11 --option base
code 77 'accepted once'
run decline DEMO-HALO $B
code 77 'what is accepted cannot be declined'
run accept DEMO-ONE $B --on 2026-04-20 --reason 'was on a journey'
code 0 'late, with a reason; one option needs no naming'

# --- money
run paid DEMO-HALO 1200 $B --on 2026-03-11 --stage deposit --receipt 2026-031
code 0 'paid'
err_has 'received 1200.00 USD' 'the balance is said'
keep
run paid DEMO-HALO 1200 $B --on 2026-03-12 --receipt 2026-031
code 77 'the same receipt'
err_has '--again' 'it names --again'
for amount in 0 100.005 1e3 abc; do
    run paid DEMO-HALO "$amount" $B
    code 65 "no amount: $amount"
done
run paid DEMO-HALO 10 $B --by crad
code 65 'a way of paying that accounts.csv does not know'
err_has 'did you mean "card"?' 'the nearest way is suggested'
run paid DEMO-HALO 10 $B --by deposits
code 65 'an account that is no way of paying'
run paid DEMO-HALO 10 $B --stage depositt
code 65 'a payment stage that the quote does not have'
err_has 'it has deposit, casting, delivery' 'its stages are named'
err_has 'did you mean "deposit"?' 'and the nearest'
run refund DEMO-HALO 10 $B --stage deposi
code 65 'nor is money given back for one'
same_register 'none of these changed a byte'
run paid DEMO-HALO 300 $B --on 2026-03-12 --by card
code 0 'paid by card'
run paid DEMO-HALO 300 $B --on 2026-03-12 --by card
code 77 'the same reference, amount, day and way'
run paid DEMO-HALO 300 $B --on 2026-03-12 --by card --again
code 0 'again, where it is meant'
run refund DEMO-HALO 5000 $B
code 77 'a refund above the money held'
err_has '1800.00 USD' 'what is held is said'
run refund DEMO-HALO 100 $B --on 2026-03-13
code 0 'refund'
run credit DEMO-HALO 10 $B
code 77 'a credit comes after delivery'

# --- void
last=$(sqlite3 "$DB" 'SELECT max(id) FROM event')
run void "$last" $B
code 0 'void'
run void "$last" $B
code 77 'voided once'
run void 999 $B
code 65 'no such event'
run void one $B
code 65 'no number'
run void 99999999999999999999 $B
code 65 'a number that no event can have'
err_has '"99999999999999999999"' 'is said as it was typed'
run void 1 $B
code 77 'what was issued stays'
accepted=$(sqlite3 "$DB" "SELECT id FROM event WHERE kind='accept' AND reference='DEMO-HALO'")
run void "$accepted" $B
code 77 'an event that others rest on'
err_has 'rests on it' 'it names the one that does'

# --- revise an accepted quote
run revise DEMO-HALO "$S/two.csv" $B --out "$S/out" --on 2026-03-14
code 65 'a revision keeps its reference'
sed 's/^ring,size,[^,]*/ring,size,7/' "$S/halo.csv" >"$S/halo2.csv"
run revise DEMO-HALO "$S/halo2.csv" $B --out "$S/out" --on 2026-03-14
code 0 'revise'
out_has 'DEMO-HALO-r2' 'it is the second revision'
run register DEMO-HALO-r1 $B
out_has 'accepted' 'the accepted one binds'
run paid DEMO-HALO 50 $B --on 2026-03-15
code 0 'money goes to the one that binds'
run accept DEMO-HALO $B --on 2026-03-16 --option base
code 0 'the revision is accepted'
run register DEMO-HALO-r1 $B
out_has 'replaced' 'the first is replaced then'
run paid DEMO-HALO-r1 5 $B
code 77 'nothing follows a replaced quote'

# --- bought, deliver, credit
run bought DEMO-HALO $B --on 2026-03-20
code 0 'bought'
sed 's/^state,all,7.25/state,all,7.5/' pricebooks/taxes.csv >"$S/pricebooks/taxes.csv"
run deliver DEMO-HALO $B --on 2026-03-30
code 77 'the tax rate is no longer the quote'"'"'s'
err_has 'revise DEMO-HALO' 'it names revise'
cp pricebooks/taxes.csv "$S/pricebooks/taxes.csv"
run deliver DEMO-HALO $B --on 2026-03-30
code 0 'deliver'
run credit DEMO-HALO 50 $B --on 2026-04-02 --reason 'a week late'
code 0 'credit'
run credit DEMO-HALO 999999 $B
code 77 'a credit above the total'
run paid DEMO-HALO 100 $B --on 2026-04-03
code 0 'paid after delivery'
run cancel DEMO-HALO $B
code 77 'what is delivered cannot be cancelled'
run revise DEMO-HALO "$S/halo.csv" $B --out "$S/out" --on 2026-04-04
code 77 'nor revised'

# --- decline, cancel
run decline 'DEMO HALO' $B --on 2026-03-12 --reason 'too dear'
code 0 'decline'
run accept 'DEMO HALO' $B --on 2026-03-12 --option base
code 77 'nothing follows a declined quote'
run paid DEMO-ONE 1000 $B --on 2026-04-21
code 0 'a deposit'
run cancel DEMO-ONE $B --on 2026-04-22 --keep 2000
code 77 'more kept than is held'
run cancel DEMO-ONE $B --on 2026-04-22 --keep 300
code 0 'cancel'
err_has 'owed to the client 700.00 USD' 'the rest is owed back'
run refund DEMO-ONE 701 $B
code 77 'no more than that'
run refund DEMO-ONE 700 $B --on 2026-04-23
code 0 'the rest is given back'

# --- looking
run register $B
code 0 'the list'
out_has 'DEMO-HALO-r2' 'it has the quotes'
run register $B --csv
holds 'its columns begin as promised' grep -q \
    '^reference,revision,option,state,client,title,currency,total,issued,valid until,' "$out"
run register DEMO-HALO $B
out_has 'next:' 'the next sensible command'
run register demo-halo $B
code 0 'case does not matter'
sed 's/DEMO-ONE/demo-Halo/' "$S/one.csv" >"$S/capitals.csv"
keep
run issue "$S/capitals.csv" $B --out "$S/out" --on 2026-03-10 --reason 'for the test'
code 65 'so a reference that differs in it alone is refused'
err_has 'demo-Halo and DEMO-HALO, which is in the register, are one reference but for capitals' 'both are named'
same_register 'and nothing is issued'
run register DEMO-HALX $B
code 65 'an unknown reference'
err_has 'did you mean "DEMO-HALO"?' 'the nearest is suggested'
run register DEMO-HALO --verify $B
code 64 'one question at a time'
run register --status $B
code 0 'status'
run register --verify $B
code 0 'verify'
out_has 'all as written' 'all is as it was written'
holds 'SQLite finds it whole' test "$(sqlite3 "$DB" 'PRAGMA integrity_check')" = ok

# --- the same papers again, without sheet and books
run register --reproduce DEMO-HALO-r1 --register "$DB" --books "$WORK/nowhere" --out "$S/again"
code 0 'reproduce'
holds 'the quote has the same bytes' \
    cmp -s "$S/out/DEMO-HALO-r1-quote.xlsx" "$S/again/DEMO-HALO-r1-quote.xlsx"
holds 'the margin sheet too' cmp -s "$S/out/studio/DEMO-HALO-r1-margin.xlsx" \
    "$S/again/studio/DEMO-HALO-r1-margin.xlsx"
awk 'function facet(a, b, c) {
        print "facet normal 0 0 0\nouter loop\nvertex " a "\nvertex " b "\nvertex " c "\nendloop\nendfacet"
    }
    BEGIN {
        print "solid s"
        facet("0 0 0", "0 8 0", "8 0 0"); facet("0 0 0", "8 0 0", "0 0 8")
        facet("0 0 0", "0 0 8", "0 8 0"); facet("8 0 0", "0 8 0", "0 0 8")
        print "endsolid s"
    }' >"$S/model.stl"
{
    sed 's/DEMO-ONE/DEMO-MESH/' "$S/one.csv"
    printf 'mesh model,file,model.stl,,\nmesh model,unit,mm,,\nmesh model,is,model,,\nmesh model,replaces,shank,,\n'
} >"$S/mesh.csv"
run issue "$S/mesh.csv" $B --out "$S/out" --on 2026-03-09 --reason 'for the test'
code 0 'a quote from a casting model'
rm "$S/model.stl"
run register --reproduce DEMO-MESH --register "$DB" --books "$WORK/nowhere" --out "$S/again"
code 0 'its papers again, the model gone'
holds 'with the same bytes' \
    cmp -s "$S/out/DEMO-MESH-r1-quote.xlsx" "$S/again/DEMO-MESH-r1-quote.xlsx"
run register --reproduce DEMO-HALO-r1 $B
code 64 'reproduce without --out'
run register --backup "$S/safe/copy.db" $B
code 0 'backup'
keep
run register --backup "$DB" $B
code 73 'a backup onto the register itself'
same_register 'the register stays'
run register --verify --register "$S/safe/copy.db"
code 0 'the backup holds'
holds 'the backup is 0600' test "$(stat -c %a "$S/safe/copy.db")" = 600

# --- the next sensible command is one that is not refused
mkdir "$WORK/next"
cp -r "$BOOKS" "$WORK/next/books"
sed -i 's/^payment,deposit,/payment,first half,/' "$WORK/next/books/policy.csv"
N="--books $WORK/next/books --on 2026-03-09"
run issue "$S/one.csv" $N --out "$WORK/next/out" --reason 'for the test'
run accept DEMO-ONE $N
run register DEMO-ONE --books "$WORK/next/books"
out_has 'next: tallystone paid DEMO-ONE AMOUNT --stage '"'first half'" 'money comes for the first stage, by its name'
run paid DEMO-ONE 10 $N --stage 'first half'
code 0 'and is taken for it'
run revise DEMO-ONE "$S/one.csv" $N --out "$WORK/next/out" --reason 'for the test'
code 0 'a revision beside the accepted one'
run deliver DEMO-ONE $N
code 0 'which is handed over'
run register DEMO-ONE --books "$WORK/next/books"
out_has 'next: tallystone decline DEMO-ONE' 'what is open beside a delivered piece is declined'
run decline DEMO-ONE $N
code 0 'and can be'

sed "s/DEMO-ONE/ring 12 of O'Hara/" "$S/one.csv" >"$WORK/next/blanks.csv"
run issue "$WORK/next/blanks.csv" $N --out "$WORK/next/out" --reason 'for the test'
err_has "tallystone accept 'ring 12 of O'\\''Hara'" 'a reference with blanks is one word of the next command'
(eval "set -- $(sed -n 's/.*tallystone accept //p' "$err")" && "$TALLYSTONE" accept "$@" $N) >"$out" 2>&1
status=$?
code 0 'which can be typed as it stands'

# --- nothing can be changed in passing
for sql in "UPDATE event SET amount = 1 WHERE kind = 'paid'" 'DELETE FROM event' 'DELETE FROM quote' \
    "UPDATE quote SET client = 'x'" 'UPDATE line SET price = price + 1' 'DELETE FROM need' \
    "INSERT INTO line SELECT quote, option, 9999, section, kind, item, key, quantity, unit, unit_cost, cost, price, rule, tax_group FROM line LIMIT 1" \
    "INSERT OR REPLACE INTO paper SELECT quote, name, hash FROM paper LIMIT 1"; do
    holds "refused by the file itself: $sql" sh -c "! sqlite3 '$DB' \"$sql\" 2>/dev/null"
done

# --- what was changed from outside is named
changed() { # name, text expected, sql...
    cp "$DB" "$WORK/changed.db"
    for trigger in $(sqlite3 "$DB" "SELECT name FROM sqlite_schema WHERE type = 'trigger'"); do
        sqlite3 "$DB" "SELECT sql || ';' FROM sqlite_schema WHERE name = '$trigger'" \
            >>"$WORK/triggers.sql"
        echo "DROP TRIGGER $trigger;"
    done >"$WORK/drop.sql"
    sqlite3 "$WORK/changed.db" <"$WORK/drop.sql"
    sqlite3 "$WORK/changed.db" "$3"
    sqlite3 "$WORK/changed.db" <"$WORK/triggers.sql"
    rm "$WORK/triggers.sql"
    run register --verify --register "$WORK/changed.db"
    code 65 "verify finds $1"
    err_has "$2" "and names it: $1"
}
changed 'an amount' 'event 7 ' "UPDATE event SET amount = amount + 1 WHERE id = 7"
changed 'an event gone' 'event 9' "DELETE FROM event WHERE id = 9"
changed 'a line' 'DEMO-HALO-r1' "UPDATE line SET item = item || '.' WHERE quote = 1 AND no = 2"
changed 'a quantity' 'DEMO-HALO-r1' "UPDATE need SET record = record || '0' WHERE quote = 1 AND kind = 'metal'"
changed 'a sheet' 'changed file' "UPDATE file SET bytes = CAST(bytes || x'00' AS BLOB) WHERE hash = (SELECT hash FROM quote_file WHERE quote = 1 AND role = 'sheet')"
changed 'a state' 'listed otherwise' "UPDATE standing SET state = 'open' WHERE quote = 1"
changed 'a book row' 'DEMO-' "UPDATE book_row SET says = says || '1' WHERE id = (SELECT row FROM rests LIMIT 1)"

# --- files that are no register of ours
keep
planted() { # name, text, sql
    cp "$DB" "$WORK/planted.db"
    sqlite3 "$WORK/planted.db" "$3"
    sum=$(sha256sum <"$WORK/planted.db")
    run accept DEMO-TWO --option base --on 2026-03-12 $B --register "$WORK/planted.db"
    code 65 "$1"
    err_has "$2" "$1: a sentence"
    holds "$1: left as it was" test "$(sha256sum <"$WORK/planted.db")" = "$sum"
}
planted 'a planted trigger' 'did not write' \
    'CREATE TRIGGER t AFTER INSERT ON event BEGIN DELETE FROM standing; END'
planted 'a planted view' 'did not write' 'CREATE VIEW v AS SELECT 1'
planted 'a newer version' 'newer tallystone' 'PRAGMA user_version=3'
planted 'another program' 'another program' 'PRAGMA application_id = 7'
planted 'a table gone' 'lacks a table' 'DROP TABLE ran'
printf 'this is no database, it only lies in its place\n' >"$WORK/none.db"
run register --register "$WORK/none.db" $B
code 65 'a file that is no database'
run issue "$S/one.csv" $B --register "$WORK/none.db" --out "$S/out2" --on 2026-03-09
code 65 'issue does not write into it either'
cp "$DB" "$WORK/torn.db"
dd if=/dev/urandom of="$WORK/torn.db" bs=4096 seek=3 count=20 conv=notrunc 2>/dev/null
run register --verify --register "$WORK/torn.db" $B
code 65 'a damaged file'
ln -s "$DB" "$WORK/link.db"
run register --register "$WORK/link.db" $B
code 73 'a link in its place'
run register --register "$WORK" $B
code 73 'a folder in its place'

# --- another program holds it
(
    echo 'BEGIN IMMEDIATE;'
    sleep 13
    echo 'ROLLBACK;'
) | sqlite3 "$DB" &
holder=$!
sleep 1
run accept DEMO-TWO $B --option base --on 2026-03-12
code 75 'held by another program for more than ten seconds'
err_has 'again' 'it says to try again'
wait "$holder"
same_register 'nothing was changed meanwhile'

# --- two at once: both are recorded, none is lost
run accept DEMO-TWO $B --option base --on 2026-03-12
code 0 'accept once it is free'
i=1
pids=
while [ $i -le 8 ]; do
    "$TALLYSTONE" paid DEMO-TWO "$i" $B --on 2026-03-13 >/dev/null 2>&1 &
    pids="$pids $!"
    i=$((i + 1))
done
for pid in $pids; do
    wait "$pid" || echo "writer $pid ended with $?" >>"$WORK/lost"
done
holds 'eight writers at once end well' test ! -e "$WORK/lost"
holds 'all eight are recorded' test \
    "$(sqlite3 "$DB" "SELECT sum(amount) FROM event WHERE reference='DEMO-TWO' AND kind='paid'")" = 3600
run register --verify $B
code 0 'the chain holds after them'

# --- a folder that cannot be written
R=$WORK/ro
studio "$R"
if unshare -m true 2>/dev/null; then
    keep
    cp "$DB" "$R/tallystone.db"
    unshare -m sh -c "mount --bind '$R' '$R' && mount -o remount,ro,bind '$R' &&
        '$TALLYSTONE' paid DEMO-TWO 9 --books '$R/pricebooks' --on 2026-03-14" >"$out" 2>"$err"
    status=$?
    code 73 'a read-only folder'
    holds 'the register there is as it was' cmp -s "$DB" "$R/tallystone.db"
else
    chmod 500 "$R"
    run issue "$R/one.csv" --books "$R/pricebooks" --out "$S/out3" --on 2026-03-09
    code 73 'a read-only folder'
    chmod 700 "$R"
fi

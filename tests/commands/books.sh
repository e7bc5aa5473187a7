#!/bin/sh
# `check` over copies of the price books that ship, each with one slip: a fault where no price can
# be right (exit 65), else a warning (exit 0); either with its place. Untouched it says nothing.
set -u
. tests/commands/expect

DAY=2026-11-25

# slip CODE FILE SED PLACE SENTENCE NAME: the books with one file changed. PLACE is a column of
# the first line that changed, or where it begins with a letter, the beginning of another place.
slip() {
    rm -rf "$WORK/books"
    cp -r "$BOOKS" "$WORK/books"
    sed "$3" "$BOOKS/$2" >"$WORK/books/$2"
    line=$(awk 'NR == FNR { row[NR] = $0; count = NR; next }
        FNR > count || $0 != row[FNR] { print FNR; exit }' "$BOOKS/$2" "$WORK/books/$2")
    if cmp -s "$BOOKS/$2" "$WORK/books/$2"; then
        status=0
        verdict 1 "$6: the book has no such row to change"
    fi
    case $4 in
    [0-9]*) place=$2:$line:$4: ;;
    *) place=$4 ;;
    esac
    run check --books "$WORK/books" --as-of "$DAY"
    code "$1" "$6: exit $1"
    grep -F -e "$WORK/books/$place" "$err" | grep -qF -e "$5"
    verdict $? "$6: said at its place"
}
bad() { slip 65 "$@"; }
odd() { slip 0 "$@"; }
hint() { err_has "did you mean \"$1\"?" "$2: nearest"; }

run check demo/*.csv --books "$BOOKS" --as-of "$DAY"
code 0 'the books that ship: exit 0'
err_empty 'the books that ship: nothing is said'

# policy: what no price can bear
bad policy.csv 's/^round up,net,,5,/round up,net,,0.015,USD/' 15 'a multiple of 0.01 USD is expected' 'a step that nobody can pay'
odd policy.csv 's/^round up,net,,5,/round up,net,,0.015,/' 15 'in USD, so that no quote in USD can be priced' "a step finer than the studio's coins"
bad policy.csv 's/^round up,net,,5,/round up,net,,2.5,JPY/' 15 'a multiple of 1 JPY is expected' 'a step of half a yen'
bad policy.csv 's/^keep,casting,,60/keep,casting,,160/' 15 'more than all that is to pay' 'more kept than there is'
bad policy.csv '$s/$/\nmarkup,melee,0,90,%,,,/' 1 'has a rule in line 5 (markup)' 'two first tiers'
bad policy.csv '$s/$/\nround up,total,,0.05,JPY,2026-05-01,2026-04-01,/' policy.csv: 'must not come before the first' 'until before from'
bad limits.csv 's/^melee spacing,,,,,0.1,0.3/melee spacing,,,,,0.3,0.1/' 23 'least 0.3 is over most 0.1' 'a limit that nothing meets'
bad studio.csv 's/^logo,logo.png/logo,terms.txt/' 6 'is no PNG' 'a logo of letters'
slip 66 studio.csv 's/^terms,terms.txt/terms,conditions.txt/' 7 'is not there' 'terms that are not there'

# policy: what is hardly meant
odd policy.csv '/^payment,/d' policy.csv:1: 'no stage of payment is in force' 'no stage of payment'
odd policy.csv '/^valid,/d' policy.csv:1: 'how long a quote is valid' 'no validity'
odd policy.csv '/^spares,melee,/d' policy.csv:1: 'spares of "blue sapphire melee"' 'no spares'
odd policy.csv 's/^valid,quote,,21/valid,quote,,0/' 14 'at least 1 is expected' 'a quote for no day'
odd policy.csv 's/^valid,quote,,21/valid,quote,,367/' 14 'up to 366 is usual' 'a quote for ever'
odd policy.csv 's/^minimum,net,,450,USD/minimum,net,,450.005,USD/' 14 'at most 2 decimals' 'a minimum that nobody can pay'
odd policy.csv 's/^minimum,net,,450,USD/minimum,net,,450,NOK/' 18 'no rate in force that turns NOK into USD' 'a minimum without a rate'
odd policy.csv 's/^keep,deposit,,300,USD/keep,deposit,,41,%/' 15 '40 % has been paid after "deposit", but 41 % is kept' 'more kept than was paid'
odd policy.csv 's/^payment,casting,,30/payment,casting,,60/' policy.csv: 'nothing is left to pay at the stage "delivery"' 'a rest of nothing'
odd policy.csv 's/^surcharge,card/surcharge,crad/' 11 'no way of paying' 'a surcharge on no way of paying'
hint card 'a surcharge on no way of paying'
odd policy.csv 's/^surcharge,card/surcharge,retained/' 11 '"retained" is no way of paying' 'a surcharge on what is posted by itself'
odd policy.csv 's/^spares,melee,,4,/spares,melee,,400,/' 15 'up to 100 % is usual' 'four times as many spares'
odd policy.csv '$s/$/\ncontingency,metal,,1,%,,,/' policy.csv: 'metal bears contingency twice' 'contingency twice'
odd policy.csv '$s/$/\ntiers,services,,whole,,,,/' policy.csv: 'there are no tiers' 'tiers of nothing'

# labour and crafts
odd crafts.csv '$s/$/\nenameller,60,no,,,,/' 1 'is done by "enameller"' 'a craft without work'
odd crafts.csv 's/^polisher,46,no,1200,2026-01-05,/&2026-06-30/' labour.csv: 'no row in force for "polisher"' 'a craft that ended'
odd crafts.csv 's/^polisher,46,/polisher,0,/' 10 'a rate of 0' 'an hour for nothing'
odd crafts.csv 's/^setter,68,/setter,6.8,/' 8 'rate per hour went from 64 in line 4 to 6.8' 'an hour at a tenth'
odd labour.csv '$s/$/\ncast,caster,asked,casting,,,99,,,,,platinum 950,,,,/' 1 'fit equally well where both do' 'an alloy beside its metal'
odd labour.csv '$s/$/\nset claw,setter,asked,stone,5,6,,,,1.25,1.75,,,,,/' 1 'fit equally well where both do' 'steps of one width that overlap'
odd labour.csv '$s/$/\nset claw,setter,asked,stone,5,6,,,,6,15,,,,,/' 36 'can never apply' 'a step that narrower ones hide'
odd labour.csv '$s/$/\nset claww,setter,asked,stone,5,6,,,,,,,,,,/' 1 'no piece counts "set claww"' 'a setting a letter off'
hint 'set claw' 'a setting a letter off'
odd labour.csv '$s/$/\ncast,caster,asked,casting,,,99,,,1,2,,,,,/' 34 'counted without a size' 'a casting of a size'
odd labour.csv '$s/$/\njoin,goldsmith,asked,joint,,9,,,,,,,client,,,/' 37 'counted without a stone' 'a joint of a stone'
odd labour.csv 's/^cast,caster,asked,\(casting,,,48\)/cast,caster,always,\1/' labour.csv: 'charges it once' \
    'casting that is counted and always charged, too'
odd labour.csv 's/^unset,\([^,]*\),asked,stone/unset,\1,asked,piece/' labour.csv: 'is counted per stone' 'unset by the piece'

# services, taxes, accounts
odd services.csv '$s/$/\ncare,offered,percent of price,1,,,,,/' 14 'basis each is expected' 'an offer without a price'
odd services.csv '$s/$/\ncare,always,percent of price,150,,,,,/' 30 'more than the whole' 'more than all of the price'
odd services.csv '$s/$/\ninsured carriage,asked,each,40,,,,,/' 1 'takes its first row' 'a second row to ask for'
odd services.csv '$s/$/\nrhodium plating,always,each,40,,,,,/' 17 'some pieces bear it twice' 'a service borne twice'
odd alloys.csv 's/^silver 925\(.*\),,,\("density.*\)/silver 925\1,,2026-06-30,\2/' services.csv: 'no row in force for "silver 925"' 'a service of an alloy that ended'
odd taxes.csv '/^export,all/d' taxes.csv: 'has no row in force for: metal, melee' 'a region without a tax'
odd taxes.csv '/^export,retained/d' taxes.csv: 'no row in force for retained' 'a region that keeps nothing'
odd taxes.csv 's/2026-07-01/2026-12-01/' taxes.csv: '"vat country" has no row in force for: metal' 'a region with a gap of days'
odd accounts.csv '/^deposits,/d' accounts.csv:1: 'no row in force for: deposits;' 'an account that is not there'
odd accounts.csv 's/^VAT,/VTA,/' accounts.csv:1: 'no row in force for: VAT;' 'the account of a tax spelt otherwise'
odd accounts.csv '$s/$/\nsales labor,Income:Work,,,/' 1 '"labor" is no section' 'sales of nothing'
hint labour 'sales of nothing'

# metals, alloys, rates
odd metals.csv '/^palladium,/d' alloys.csv: 'no price of palladium in force' 'a metal without a price'
odd metals.csv 's/^gold,4036,USD/gold,9036,EUR/' 6 'the price of gold rose by' 'a leap from one currency to another'
odd alloys.csv 's/^\(375 yellow,[^,]*,yellow\),375/\1,750/' alloys.csv:2: 'at least 750 is expected' 'a mark that promises too much'
odd alloys.csv 's/^\(silver 925.*\),94,75,/\1,94,95,/' alloys.csv: 'of which a refiner pays 94 %' 'more for old metal than it brings'
odd rates.csv 's/^EUR,USD,1.0845/EUR,USD,10.845/' 9 'rate went from 1.088 in line 4 to 10.845' 'a rate ten times as high'

# stones
lot='natural melee G-VS,diamond,round,natural,G,VS'
odd melee.csv "s/^\\($lot,0.6,0.7,0.001014\\),[0-9.]*,USD,2026-09-15/\\1,9104,USD,2026-09-15/" 64 'price per ct went from 1104 in line 3 to 9104' 'melee eight times as dear'
odd melee.csv "s/^\\($lot,0.6,0.7,0.001014\\),[0-9.]*/\\1,0/" melee.csv: 'a price of 0' 'melee for nothing'
odd melee.csv "s/^\\($lot,0.6,0.7,0.001014\\),[0-9.]*/\\1,110400/" melee.csv: 'less than ten times as much is expected' 'a step a hundred times as dear'
odd melee.csv 's/^\(natural melee G-VS\),diamond\(,round,natural,G,VS,0.6\)/\1,ruby\2/' melee.csv: 'is ruby here and diamond' 'a lot of two species'
odd melee.csv 's/^\(natural melee G-VS,diamond,round\),natural\(,G,VS,0.6\)/\1,laboratory-grown\2/' melee.csv: 'is laboratory-grown here and natural' 'a lot of two origins'
odd stones.csv 's/^natural round F-VS2,diamond/natural round F-VS2,diamnod/' stones.csv: '"diamnod" is no species' 'a species a letter off'
hint diamond 'a species a letter off'

# limits
odd limits.csv 's/^claw diameter,/claw diamter,/' limits.csv: 'nothing is measured as "claw diamter"' 'a limit a letter off'
hint 'claw diameter' 'a limit a letter off'
err_has 'no row in force for: claw diameter; no caution will be given' 'a limit a letter off: what it leaves out'
odd limits.csv 's/^shank thickness,gold/shank thickness,glod/' 17 '"glod" is no metal' 'a limit for no metal'
odd limits.csv 's/^hallmark weight,gold,vat country/hallmark weight,gold,vat contry/' 22 '"vat contry" is no region' 'a limit for no region'
hint 'vat country' 'a limit for no region'
odd limits.csv 's/^\(shank width,,,,,1.5,\),mm/\1,in/' 22 'held against numbers in mm' 'a limit in inches'
odd limits.csv '/^claw diameter,,,4,6,/d' limits.csv: 'has no step from 4 to 6 mm' 'a limit with a gap'
odd studio.csv '/^name,/d' studio.csv:1: "the studio's name is not said" 'a studio without a name'

# a step in the quote's own currency is held against that currency's coins when it is known
rm -rf "$WORK/books"
cp -r "$BOOKS" "$WORK/books"
sed 's/^round up,net,,5,/round up,net,,0.5,/' "$BOOKS/policy.csv" >"$WORK/books/policy.csv"
sed 's/^commission,currency,[^,]*/commission,currency,JPY/' demo/halo.csv >"$WORK/sheet.csv"
run check "$WORK/sheet.csv" --books "$WORK/books" --as-of "$DAY"
code 65 'a step finer than the coins of the quote: exit 65'
err_has 'a step of 0.5 ends between two amounts that can be paid in JPY' 'a step finer than the coins of the quote: says so'
sed 's/^round up,net,,5,/round up,net,,0.005,/' "$BOOKS/policy.csv" >"$WORK/books/policy.csv"
sed 's/^commission,currency,[^,]*/commission,currency,KWD/' demo/halo.csv >"$WORK/sheet.csv"
run check "$WORK/sheet.csv" --books "$WORK/books" --as-of "$DAY"
code 0 "a step of the quote's coins that the studio's are not"

#!/bin/sh
# `variants`: exit codes and streams, the header's faults, rows that fail alone, a full disk, a closed
# pipe, shards through GNU parallel.
set -u
# shellcheck disable=SC2016
. tests/commands/expect

cp demo/halo.csv "$WORK/ring.csv"
cd "$WORK" || exit 1
header='variant,status,metal g,stones,stones ct,minutes,cost,net,tax,total,margin,message'

printf 'variant,ring/size,shank/width top,halo wall\nas it is,,,\nwider,7,2.4 mm,\nlow,,,none\n' >good.csv
run variants ring.csv good.csv --books "$BOOKS"
code 0 'all rows priced ends with 0'
out_has "$header" 'the header is there'
out_has 'as it is,priced,' 'a row without overrides is priced'
err_empty 'nothing is said where all is well'
holds 'a header and three rows' test "$(wc -l <"$out")" -eq 4
cp "$out" whole.csv

printf 'variant;ring/size;shank/width top;halo wall\r\nas it is;;;\r\nwider;7;2,4 mm;\r\nlow;;;none\r\n' >semicolons.csv
run variants ring.csv semicolons.csv --books "$BOOKS"
holds 'semicolons, CRLF and a decimal comma are the same rows' cmp -s "$out" whole.csv
status=0
"$TALLYSTONE" variants ring.csv --books "$BOOKS" <good.csv >"$out" 2>"$err" || status=$?
code 0 'the table may come from standard input'
holds 'and gives the same bytes' cmp -s "$out" whole.csv

printf 'variant,ring/alloy,shank/width top\none,999 tin,\ntwo,,45\n"three\nfour,,\n=five,,2.1\nsix,a,b,c\n' >bad.csv
run variants ring.csv bad.csv --books "$BOOKS"
code 65 'a row at fault ends with 65'
out_has 'one,fault,,,,,,,,,,"ring: no row of alloys.csv has the alloy' 'a row says what is wrong with it'
out_has 'two,fault,,,,,,,,,,shank width top 45 mm is over 30 mm' 'a row says the limit'
out_has 'is not closed on its line' 'a quotation mark spoils its own row alone'
out_has 'four,priced,' 'the stream goes on'
out_has "'=five,priced," 'a name is no formula'
out_has 'six,fault,' 'a row with too many cells is at fault'
err_has '4 of 6 variants' 'how many failed is said on standard error'

printf 'variant,ring/aloy,shnk/width top,halo tpo/gap,halo rim,ring/size,ring/size\nx,,,,,,\n' >header.csv
run variants ring.csv header.csv --books "$BOOKS"
code 65 'a header at fault ends with 65'
out_empty 'and nothing is streamed'
err_has 'did you mean "alloy"?' 'an unknown measure is answered by the nearest'
err_has 'did you mean "shank"?' 'an unknown kind of part too'
err_has 'did you mean "halo top"?' 'and a part that the sheet has not'
err_has 'the sheet has no part "halo rim" to leave out' 'and one that is to be left out'
err_has 'the column `ring/size` stands twice' 'a column that stands twice'
printf 'name,ring/size\nx,\n' >header.csv
run variants ring.csv header.csv --books "$BOOKS"
code 65 'a header without `variant`'
err_has 'the column `variant` is missing' 'is said'
: >empty.csv
run variants ring.csv empty.csv --books "$BOOKS"
code 65 'an empty table'
printf 'variant,ring/size\n' >none.csv
run variants ring.csv none.csv --books "$BOOKS"
code 0 'a table without rows is no fault'

run variants ring.csv nowhere.csv --books "$BOOKS"
code 66 'a table that is not there'
run variants - --books "$BOOKS"
code 64 'sheet and table from one stream'
run variants ring.csv --shard 1/2 --books "$BOOKS"
code 64 'a shard of a stream'
for value in 0/2 3/2 x/2 1 1/0; do
    run variants ring.csv good.csv --shard "$value" --books "$BOOKS"
    code 64 "--shard $value"
done
run variants ring.csv good.csv --jobs 0 --books "$BOOKS"
code 64 '--jobs 0'
run variants ring.csv good.csv --best 2 --books "$BOOKS"
code 64 '--best without --by'
run variants ring.csv good.csv --out x.xlsx --books "$BOOKS"
code 64 '--out without --best'

run variants ring.csv good.csv --best 1 --by metal --csv --books "$BOOKS"
code 0 'the best'
out_has 'low,priced,' 'is the lightest'
run variants ring.csv good.csv --best 2 --by margin --out best.xlsx --books "$BOOKS"
code 0 'the best as a workbook'
holds 'a workbook is written' test -s best.xlsx
holds 'readable by its owner alone' test "$(stat -c %a best.xlsx)" = 600

awk 'BEGIN { print "variant,ring/size,shank/width top"
             for (i = 1; i <= 3000; i++) printf "catalogue number %d of the season,%s,%.2f\n", i, 4 + i % 17 / 2, 1.9 + i % 90 / 100 }' \
    >season.csv
run variants ring.csv season.csv --books "$BOOKS"
code 0 'a season of three thousand'
cp "$out" season-whole.csv
run variants ring.csv season.csv --jobs 3 --books "$BOOKS"
holds 'three jobs give the same bytes' cmp -s "$out" season-whole.csv
: >parts.csv
for part in 1 2 3 4; do
    run variants ring.csv season.csv --shard "$part/4" --books "$BOOKS"
    cat "$out" >>parts.csv
    err_has "shard $part/4, " "shard $part says what it was"
    sed 's/.*books //' "$err" >>digests
done
holds 'four shards in order are the whole' cmp -s parts.csv season-whole.csv
holds 'all name the same books' test "$(sort -u digests | wc -l)" -eq 1
holds 'GNU parallel is there' command -v parallel
parallel -k "$TALLYSTONE" variants ring.csv season.csv --books "$BOOKS" --shard '{}/4' ::: 1 2 3 4 >parts.csv 2>"$err"
holds 'GNU parallel over four shards gives the whole' cmp -s parts.csv season-whole.csv
cp -r "$BOOKS" other
printf '#\n' >>other/crafts.csv
# a name is no number: it does not decide which mark a table's numbers have
printf 'variant;ring/size;shank/width top\n1.1;6;2,2\n' >named.csv
run variants ring.csv named.csv --books "$BOOKS"
code 0 'names with a point in a table of decimal commas'
printf 'variant;ring/size;shank/width top\n\n1;6;2,2\n2;6.5;2\n' >marks.csv
run variants ring.csv marks.csv --books "$BOOKS"
code 65 'two decimal marks in one table'
err_has 'marks.csv:4: "2,2" in line 3 has a decimal comma, but "6.5" in line 4' 'both lines are named'

run variants ring.csv season.csv --shard 1/4 --books other
holds 'other books have another digest' test "$(sed 's/.*books //' "$err")" != "$(head -n 1 digests)"

status=0
"$TALLYSTONE" variants ring.csv season.csv --books "$BOOKS" >/dev/full 2>"$err" || status=$?
: >"$out"
holds 'a full disk is said once' test "$(wc -l <"$err")" -eq 1
code 74 'a full disk'
err_has 'standard output cannot be written' 'is said'
status=0
{ "$TALLYSTONE" variants ring.csv season.csv --books "$BOOKS" --jobs 2 2>"$err"; echo $? >ended; } | head -n 2 >"$out"
err_empty 'a closed pipe is quiet'
holds 'and ends with 74' test "$(cat ended)" -eq 74
mkfifo feed
"$TALLYSTONE" variants ring.csv --books "$BOOKS" <feed >"$out" 2>"$err" &
child=$!
exec 9>feed
printf 'variant,ring/size\none,7\n' >&9
tries=0
until grep -q 'one,priced' "$out" || [ "$tries" -ge 100 ]; do
    sleep 0.1
    tries=$((tries + 1))
done
out_has 'one,priced' 'rows are answered as they come'
kill -INT "$child" 2>/dev/null || :
kill -TERM "$child"
exec 9>&-
wait "$child" 2>/dev/null
holds 'an interrupted stream ends in a whole line' test "$(tail -c 1 "$out" | od -An -c | tr -d ' ')" = '\n'
cd "$TOP" || exit 1

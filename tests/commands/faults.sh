#!/bin/sh
# Bad input: each a sentence with its place, exit 65, nothing written.
set -u
. tests/commands/expect

# bad NAME SENTENCE: prices $WORK/sheet.csv, expects 65, the sentence, and no papers
bad() {
    rm -rf "$WORK/papers"
    run price "$WORK/sheet.csv" --books "$BOOKS" --out "$WORK/papers"
    code 65 "$1: exit 65"
    err_has "$2" "$1: says so"
    out_empty "$1: nothing on standard output"
    holds "$1: nothing written" sh -c "! find '$WORK/papers' -type f 2>/dev/null | grep -q ."
}
# change SED NAME SENTENCE: the halo demo with one change
change() {
    sed "$1" demo/halo.csv >"$WORK/sheet.csv"
    if cmp -s demo/halo.csv "$WORK/sheet.csv"; then
        status=0
        verdict 1 "$2: the demo sheet has no such row to change"
    fi
    bad "$2" "$3"
}

: >"$WORK/sheet.csv"
bad 'an empty file' '[empty]'
head -c 5000 "$TALLYSTONE" >"$WORK/sheet.csv"
bad 'a binary file' '[not-text]'
{ printf 'part,measure,value,unit,note\nring,size,6,US,'; head -c 17000000 /dev/zero | tr '\0' a; } >"$WORK/sheet.csv"
bad 'a single line of 17 MB' '16 MiB'
{ printf 'part,measure,value,unit,note\nring,size'; yes ,x | head -n 10000 | tr -d '\n'; echo; } >"$WORK/sheet.csv"
bad 'ten thousand columns' '256'
printf 'part,measure,value,unit,note\nring,size,6\0,US,\n' >"$WORK/sheet.csv"
bad 'a NUL byte' ':2:12: '
printf 'part,measure,value,unit,note\nring,finish,caf\351,,\n' >"$WORK/sheet.csv"
bad 'a Latin-1 byte' ':2:16: '
printf '\377\376p\0a\0r\0t\0' >"$WORK/sheet.csv"
bad 'UTF-16' 'UTF-8'
printf 'part,measure,value,unit,note\nring,"size,6,US,\n' >"$WORK/sheet.csv"
bad 'an unclosed quotation mark' ':2:'
printf 'width,2.0\n' >"$WORK/sheet.csv"
bad 'no header' '[header]'

change 's/^shank,width top/shnak,width top/' 'an unknown part' 'did you mean "shank"?'
change 's/^shank,width top/shank,widht top/' 'an unknown measure' 'did you mean "width top"?'
change 's/^\(shank,width top,[^,]*\),mm/\1,mn/' 'an unknown unit' 'did you mean "mm"?'
change 's/^\(shank,width top,[^,]*\),mm/\1,g/' 'a unit of another kind' '[unit-wrong]'
change 's/^shank,width top,[^,]*/shank,width top,1e999/' 'a number with an exponent' '"1e999"'
change 's/^shank,width top,[^,]*/shank,width top,nan/' 'nan' '"nan"'
change 's/^shank,width top,[^,]*/shank,width top,0x10/' 'a hexadecimal number' '"0x10"'
change 's/^shank,width top,[^,]*/shank,width top,"1,234"/' 'a doubtful comma' '[number-unclear]'
change 's/^shank,thickness top,[^,]*/shank,thickness top,-1.8/' 'a negative thickness' '[range]'
change 's/^shank,width top,[^,]*/shank,width top,45/' 'a width out of range' '30'
change 's/^commission,date,[^,]*/commission,date,2026-02-31/' '31 February' '2026-02-31'
change 's/^commission,currency,[^,]*/commission,currency,XYZ/' 'an unknown currency' '[currency]'
change 's/^ring,alloy,[^,]*/ring,alloy,750 yelow/' 'an unknown alloy' 'did you mean "750 yellow"?'
change 's/^commission,region,[^,]*/commission,region,stat/' 'an unknown region' 'did you mean "state"?'
change '/^shank,width top/p' 'a measure twice' '[measure-twice]'
change '/^commission,/d' 'no commission' '[part-missing]'

# more off than there is, a way of paying that nobody knows: never a figure that is quietly wrong
change 's/^commission,pays by,.*/commission,pays by,crad,,/' 'a way of paying misspelt' 'did you mean "card"?'
change 's/^commission,pays by,.*/commission,pays by,sales,,/' 'an account that is no way of paying' '"sales" is no way of paying'
sed '/^option/d; s/^commission,pays by,.*/commission,discount,3443.07,USD,/' demo/halo.csv >"$WORK/sheet.csv"
bad 'a discount above the lines' 'a discount of 3443.07 USD is more than the lines come to, 3443.06 USD'
err_has 'sheet.csv:10:21: ' 'its cell is named'
sed '/^option/d; s/^commission,pays by,.*/commission,discount,3443.06,USD,/' demo/halo.csv >"$WORK/sheet.csv"
run price "$WORK/sheet.csv" --books "$BOOKS"
code 0 'a discount of all the lines is one'

# what the whole quotation says once is no option's
for change in reference,OTHER title,other client,other currency,EUR date,2026-11-20 'region,vat country' \
    'deliver by,2027-01-01' 'valid until,2026-12-01' 'deliver by,none'; do
    { cat demo/halo.csv; echo "option low,commission/$change,,"; } >"$WORK/sheet.csv"
    bad "an option with its own ${change%%,*}" "\"${change%%,*}\" is one for the whole quotation"
done
{ cat demo/halo.csv; printf 'option low,commission/%s\n' 'discount,5,%,' 'pays by,card,,'; } >"$WORK/sheet.csv"
run price "$WORK/sheet.csv" --books "$BOOKS"
code 0 'an option with a discount and a way of paying of its own'

{ cat demo/halo.csv; echo 'option other,label,In platinum 950,,'; } >"$WORK/sheet.csv"
bad 'two options with one label' 'would read "In platinum 950" over the options platinum and other'
{ cat demo/halo.csv; echo 'option other,label,As described,,'; } >"$WORK/sheet.csv"
bad 'an option called as the sheet itself' 'over the options base and other'

# two words may differ in nothing that is seen
mark=$(printf '\342\200\213')
change "s/^ring,alloy,/ring,alloy,$mark/" 'a space without width' 'the alloy "\xE2\x80\x8B750 yellow"'
err_has 'ring,alloy,\xE2\x80\x8B750 yellow,' 'the row shows it too'
mark=$(printf '\302\255')
change "s/^ring,alloy,750 yel/ring,alloy,750 yel$mark/" 'a soft hyphen' '"750 yel\xC2\xADlow"'

# every required measure missing in turn, one run each: the measure is named
grep -E '^(commission|ring|shank),' demo/halo.csv | cut -d, -f1,2 | sort -u |
    grep -Ev ',(deliver by|valid until|discount|pays by|height limit|wear|finish|inscription|wall|open|alloy|made|joints)$' \
        >"$WORK/required"
echo 'ring,alloy' >>"$WORK/required"
while IFS=, read -r part measure; do
    grep -v "^$part,$measure," demo/halo.csv >"$WORK/sheet.csv"
    run price "$WORK/sheet.csv" --books "$BOOKS"
    code 65 "without $part $measure: exit 65"
    err_has "\"$measure\"" "without $part $measure: names it"
done <"$WORK/required"

# all faults come out together, each with its cell
sed -e 's/^shank,width top,[^,]*/shank,width top,45/' -e 's/^ring,wear,[^,]*/ring,wear,dayly/' \
    -e 's/^shank,thickness top,[^,]*/shank,thickness top,abc/' demo/halo.csv >"$WORK/sheet.csv"
run price "$WORK/sheet.csv" --books "$BOOKS"
err_has '[range]' 'first fault of three'
err_has 'did you mean "daily"?' 'second fault of three'
err_has '"abc"' 'third fault of three'
line=$(grep -n '^shank,width top' "$WORK/sheet.csv" | cut -d: -f1)
err_has "sheet.csv:$line:17: " 'line and column of the value'
err_has "C$line" 'the cell as a spreadsheet names it'

# a fault that only costing finds names its cell too
change '/^stone centre,declared value/d' 'a declared value missing where a percentage needs it' '"declared value" is missing'
line=$(grep -n '^stone centre,weight' "$WORK/sheet.csv" | cut -d: -f1)
err_has "sheet.csv:$line:21: " 'with line and column'

# stale and implausible prices are warned of and block nothing
rm -rf "$WORK/books"
cp -r "$BOOKS" "$WORK/books"
printf 'gold,9000,USD,troy ounce,2026-11-24,,\n' >>"$WORK/books/metals.csv"
run price demo/halo.csv --books "$WORK/books"
code 0 'a price that jumped blocks nothing'
err_has '[book-jump]' 'a price that jumped is warned of'
run price demo/halo.csv --books "$BOOKS" --as-of 2026-12-20
code 0 'a stale price blocks nothing'
err_has '[book-stale]' 'a stale price is warned of'

# the same sheet as spreadsheet programs save it
run price demo/halo.csv --books "$BOOKS" --csv
cut -d, -f1-9 "$out" >"$WORK/plain"
same() {
    run price "$WORK/sheet.csv" --books "$BOOKS" --csv
    code 0 "$1: read"
    cut -d, -f1-9 "$out" >"$WORK/other"
    holds "$1: priced the same" cmp -s "$WORK/plain" "$WORK/other"
}
{ printf '\357\273\277'; cat demo/halo.csv; } >"$WORK/sheet.csv"
same 'a byte-order mark'
sed 's/$/\r/' demo/halo.csv >"$WORK/sheet.csv"
same 'CRLF'
sed 's/$/,,,/' demo/halo.csv >"$WORK/sheet.csv"
same 'trailing empty columns'
/usr/bin/python3 - "$WORK" <<'P'
import csv, re, sys
rows = list(csv.reader(open("demo/halo.csv", encoding="utf-8", newline="")))
def write(name, delimiter, comma):
    with open(f"{sys.argv[1]}/{name}", "w", encoding="utf-8", newline="") as f:
        w = csv.writer(f, delimiter=delimiter, lineterminator="\n")
        for r in rows:
            if comma:
                r = [re.sub(r"^(-?\d+)\.(\d+)$", r"\1,\2", c) if i == 2 else c for i, c in enumerate(r)]
            w.writerow(r)
write("semicolon.csv", ";", True)
write("semipoint.csv", ";", False)
write("tab.csv", "\t", True)
P
sed '3s/[^;]*$/1,5/' "$WORK/semipoint.csv" >"$WORK/semi-note.csv"
for form in semicolon semipoint tab semi-note; do
    cp "$WORK/$form.csv" "$WORK/sheet.csv"
    same "$form"
done

# books that contradict each other, and a policy with gaps
books() { # file sed name sentence
    rm -rf "$WORK/books"
    cp -r "$BOOKS" "$WORK/books"
    sed "$2" "$BOOKS/$1" >"$WORK/books/$1"
    if cmp -s "$BOOKS/$1" "$WORK/books/$1"; then
        status=0
        verdict 1 "$3: the book has no such row to change"
    fi
    rm -rf "$WORK/papers"
    run price demo/halo.csv --books "$WORK/books" --out "$WORK/papers"
    code 65 "$3: exit 65"
    err_has "$4" "$3: says so"
    holds "$3: nothing written" sh -c "! find '$WORK/papers' -type f 2>/dev/null | grep -q ."
}
books metals.csv '2p' 'a book row twice' '[book-twice]'
books alloys.csv 's/^750 yellow,\([^,]*\),\([^,]*\),\([^,]*\),750/750 yellow,\1,\2,\3,1750/' 'over 1,000 parts per thousand' 'alloys.csv:'
books policy.csv '/^markup,labour/d' 'a policy without a rule for a section' 'labour'
books policy.csv 's/^payment,delivery,,/payment,delivery,,10/' 'stages that do not add up' '[policy]'
books policy.csv 's/^markup,metal,,45,%/margin,metal,,100,%/' 'a margin of 100 %' '[policy]'
books policy.csv 's/^valid,quote,,21/valid,quote,,3651/' 'a quote of more than ten years' 'at most 3650'
books labour.csv '/^cast,/d' 'an operation without a price' 'cast'
books metals.csv 's/^metal,price/metal,prise/' 'an unknown column' 'did you mean "price"?'
books crafts.csv 's/^setter,/settler,/' 'a craft that is not there' 'setter'
rm -rf "$WORK/books"
cp -r "$BOOKS" "$WORK/books"
sed -i 's/^terms,terms.txt/terms,trems.txt/; s/^logo,logo.png/logo,lgoo.png/' "$WORK/books/studio.csv"
run check demo/halo.csv --books "$WORK/books"
code 66 'check: files that studio.csv names and that are not there'
err_has '"trems.txt" is not there' 'the terms are named'
err_has '"lgoo.png" is not there' 'the logo is named'
rm "$WORK/books/policy.csv"
run price demo/halo.csv --books "$WORK/books"
code 66 'a needed book that is not there'
err_has 'policy.csv' 'the missing book is named'

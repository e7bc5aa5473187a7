#!/bin/sh
# Stones that cannot be set and meshes that cannot be measured: each the exact sentence, with
# what would fit.
set -u
. tests/commands/expect

cat >"$WORK/base" <<'END'
part,measure,value,unit,note
commission,reference,BAD,,
commission,title,a ring,,
commission,client,nobody,,
commission,currency,USD,,
commission,date,2026-11-25,,
commission,region,state,,
ring,size,6,US,
ring,alloy,750 yellow,,
shank,profile top,flat,,
shank,profile base,flat,,
shank,width top,2.8,mm,
shank,width base,2.8,mm,
shank,thickness top,2,mm,
shank,thickness base,2,mm,
END
cat >"$WORK/stone" <<'END'
stone centre,shape,oval,,
stone centre,length,8,mm,
stone centre,width,6,mm,
stone centre,depth,3.9,mm,
stone centre,species,diamond,,
stone centre,origin,natural,,
stone centre,setting,claw,,
stone centre,price,100,each,
END
cat >"$WORK/head" <<'END'
head h,holds,centre,,
head h,claws,6,,
head h,claw style,round,,
head h,claw diameter,1,mm,
head h,tip diameter,0.8,mm,
head h,rails,2,,
head h,rail diameter,0.8,mm,
head h,culet clearance,1,mm,
END
cat >"$WORK/row" <<'END'
row r,stone diameter,1.5,mm,
row r,spacing,0.1,mm,
row r,lot,natural melee G-VS,,
row r,setting,bead,,
END

# says NAME EXIT SENTENCE: checks $WORK/sheet.csv
says() {
    run check "$WORK/sheet.csv" --books "$BOOKS"
    code "$2" "$1: exit $2"
    err_has ": $3" "$1: says so"
}
# with NAME SENTENCE PART...: the ring, those parts, and the rows of standard input; no sentence
# where all is well
with() {
    name=$1 sentence=$2
    shift 2
    { cat "$WORK/base"; for part in "$@"; do cat "$WORK/$part"; done; cat; } >"$WORK/sheet.csv"
    if [ -n "$sentence" ]; then
        says "$name" 65 "$sentence"
        return
    fi
    run check "$WORK/sheet.csv" --books "$BOOKS"
    code 0 "$name"
}

# ---- rows ----

with 'a row with no room for a stone' \
    'row r: no stone of 1.5 mm fits between 20 and 25 deg; it takes 8.577 deg' row <<'END'
row r,from,20,deg,
row r,to,25,deg,
END
with 'and with just that room a stone fits' '' row <<'END'
row r,from,20,deg,
row r,to,28.578,deg,
END
with 'a counted row too long' \
    'row r: 40 stones of 1.5 mm don'"'"'t fit between 20 deg and the base; 17 do' row <<'END'
row r,from,20,deg,
row r,count,40,,
END
with 'lines wider than the shank' \
    'row r: its stones take 3.1 mm across; the shank is 2.8 mm wide there' row <<'END'
row r,from,20,deg,
row r,to,60,deg,
row r,lines,2,,
END
with 'an open arc that swallows a row' \
    'row r: begins 10 deg from the top, where the shank is open; a row can begin at 60 deg' row <<'END'
shank,open,120,deg,
row r,from,10,deg,
row r,to,50,deg,
END
sed 's/^row r/row s/' "$WORK/row" >"$WORK/other"
with 'two rows over one arc' \
    'row s: its stone at ' row other <<'END'
row r,from,20,deg,
row r,count,4,,
row s,from,30,deg,
row s,to,60,deg,
END
err_has ' stands where one of row r does, which takes 20 to ' 'two rows over one arc: says which is in the way'
err_has ' deg; a row that ends before that or begins after it is clear of it [cannot-be-made]' \
    'two rows over one arc: says what would fit'
with 'two rows one behind the other' '' row other <<'END'
row r,from,20,deg,
row r,count,4,,
row s,from,60,deg,
row s,to,90,deg,
END

# ---- offsets, heads, bezels, stations ----

with 'a rail inside of which nothing is left' \
    'head h: no rail is left 4 mm inside the girdle; the stone leaves room for an inset below 3 mm' \
    stone head <<'END'
head h,inset,4,mm,
END
with 'a line of stones inside of which nothing is left' \
    'halo x: no line is left 4 mm inside the girdle; the stone leaves room for less than 3 mm' stone head <<'END'
halo x,around,centre,,
halo x,faces,out,,
halo x,offset,-4,mm,
halo x,stone diameter,1,mm,
halo x,spacing,0.1,mm,
halo x,lot,natural melee G-VS,,
halo x,setting,bead,,
halo x,thickness,1,mm,
halo x,rim,0.3,mm,
halo x,drop,1,mm,
END
sed 's/claws,6/claws,16/; s/tip diameter,0.8/tip diameter,2.5/; s/claw diameter,1/claw diameter,2.5/' "$WORK/head" >"$WORK/thick"
with 'a head too small for its claws' \
    'head h: 16 claws that are 2.5 mm thick at the girdle run into each other round this stone, which leaves ' \
    stone thick </dev/null
err_has ' mm from one to the next; thinner or fewer claws fit [cannot-be-made]' 'a head too small: says what would fit'
with 'a bezel thinner than nothing' \
    'bezel b wall -0.2 mm is under 0 mm: from 0 to 10 mm is expected' stone <<'END'
bezel b,holds,centre,,
bezel b,wall,-0.2,mm,
bezel b,height,2,mm,
END
with 'a bezel of nothing' \
    'bezel b: a wall of 0 mm is no metal and holds no stone; a thickness above that is expected' stone <<'END'
bezel b,holds,centre,,
bezel b,wall,0,mm,
bezel b,height,2,mm,
END
with 'a station beyond the base' \
    'a station at 200 deg is out of range; it lies between the top, 0, and the base, 180' <<'END'
shank,width 200,3,mm,
END
with 'a station twice' '"width 60" of shank stands in row 16 already; keep one of the two rows' <<'END'
shank,width 60,3,mm,
shank,width 60,3.1,mm,
END
# The order of a sheet's rows is free, so stations out of order are put in order.
for order in '30 2.5 60 3' '60 3 30 2.5'; do
    # shellcheck disable=SC2086 # four words are meant
    set -- $order
    { cat "$WORK/base"; printf 'shank,width %s,%s,mm,\nshank,width %s,%s,mm,\n' "$@"; } >"$WORK/sheet.csv"
    run quantities "$WORK/sheet.csv" --books "$BOOKS" --csv
    cut -d, -f1-4 "$out" >"$WORK/stations-$1"
done
holds 'stations out of order are put in order' cmp "$WORK/stations-30" "$WORK/stations-60"
holds 'and are measured at all' grep -q '^shank,volume,[0-9]' "$WORK/stations-30"

# ---- meshes ----

# mesh NAME EXIT SENTENCE FILE
mesh() {
    { cat "$WORK/base"
      printf 'mesh model,file,%s,,\nmesh model,unit,mm,,\nmesh model,replaces,all,,\nmesh model,is,model,,\n' "$4"
    } >"$WORK/sheet.csv"
    says "$1" "$2" "$3"
}
STL=$TOP/tests/reference/stl
cp "$STL/ring_flat.stl" "$WORK/ring.stl"
ln -s ring.stl "$WORK/link.stl"
mkdir "$WORK/folder" && cp "$WORK/ring.stl" "$WORK/folder/"
mkfifo "$WORK/pipe.stl"
truncate -s 600M "$WORK/huge.stl"
printf 'ply\nformat ascii 1.0\n' >"$WORK/other.stl"
head -c 3000 "$WORK/ring.stl" >"$WORK/cut.stl"
{ head -c 80 "$WORK/ring.stl"; printf '\377\377\377\377'; } >"$WORK/count.stl"
: >"$WORK/empty.stl"

mesh 'a mesh that is not there' 66 '"nowhere.stl" is not there' nowhere.stl
mesh 'a mesh too large' 65 '"huge.stl" is larger than the 512 MiB that are read' huge.stl
mesh 'a mesh cut short' 65 'mesh model: the mesh file promises 1440 facets and holds 58, so it was cut short or damaged; export or copy it again' cut.stl
mesh 'a count of four billion' 65 'mesh model: the mesh file promises 4294967295 facets and holds 0, so it was cut short or damaged; export or copy it again' count.stl
mesh 'an empty mesh' 65 'mesh model: the mesh file is empty; export the model again' empty.stl
mesh 'another format' 65 'mesh model: the mesh file is no STL: as text it would begin with "solid"; export the model as STL' other.stl
mesh 'a link' 66 '"link.stl" is a link; the file itself must lie in the same folder' link.stl
mesh 'a folder' 66 '"folder" is a folder; a file is read' folder
mesh 'a pipe' 66 '"pipe.stl" is no regular file; only such are read' pipe.stl
mesh 'a folder beside' 65 'mesh model: "folder/ring.stl" is no plain file name; the file must lie in the sheet'"'"'s folder' folder/ring.stl
mesh 'a folder above' 65 'mesh model: "../ring.stl" is no plain file name; the file must lie in the sheet'"'"'s folder' ../ring.stl
mesh 'an absolute path' 65 'mesh model: "/etc/passwd" is no plain file name; the file must lie in the sheet'"'"'s folder' /etc/passwd

# text NAME NUMBER SENTENCE: a mesh of text with that coordinate
text() {
    { printf 'solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 '; cat "$2"
      printf ' 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n'; } >"$WORK/text.stl"
    mesh "$1" 65 "mesh model: line 5 of the mesh$3" text.stl
}
finite() { printf '%s' ": facet 1 has the coordinate \"$1\", which is no finite number; export the model again"; }
word() { printf '%s' "$1" >"$WORK/word"; }
word 12x; text 'rubbish for a number' "$WORK/word" ' has "12x" where a number is expected'
word 1,5; text 'a decimal comma' "$WORK/word" ' has a comma in "1,5"; a mesh takes a decimal point and blanks between numbers'
word nan; text 'nan in a mesh' "$WORK/word" "$(finite nan)"
word -inf; text 'infinity in a mesh' "$WORK/word" "$(finite -inf)"
head -c 9000000 /dev/zero | tr '\0' 9 >"$WORK/word"
text 'a number of nine million digits' "$WORK/word" "$(finite 999999999999999999999999999999999...)"
head -c 9000000 /dev/zero | tr '\0' x >"$WORK/word"
text 'a line of nine megabytes' "$WORK/word" ' has "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx..." where a number is expected'
LC_ALL=de_DE.UTF-8 LC_NUMERIC=de_DE.UTF-8
export LC_ALL LC_NUMERIC
cp "$STL/box_ascii.stl" "$WORK/box.stl"
{ cat "$WORK/base"
  printf 'mesh model,file,box.stl,,\nmesh model,unit,mm,,\nmesh model,replaces,all,,\nmesh model,is,finished,,\n'
} >"$WORK/sheet.csv"
run quantities "$WORK/sheet.csv" --books "$BOOKS" --csv
out_has 'mesh model,volume,' 'a mesh of text is read whatever the locale'

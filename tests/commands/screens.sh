#!/bin/sh
# What is shown on terminals of 80 and 120 columns, in UTF-8 and in ASCII, with and without colour.
set -u
. tests/commands/expect

S=$WORK/studio
mkdir -p "$S"
cp -r pricebooks "$S/pricebooks"
sed -e 's/^commission,date,[^,]*/commission,date,2026-03-09/' \
    -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' demo/halo.csv >"$S/halo.csv"
sed -e 's/^shank,width top,[^,]*/shank,width top,45/' -e 's/^ring,alloy,[^,]*/ring,alloy,750 yelow/' \
    -e 's/about a third/about a third, as the client wishes it and as the bench has agreed to make it,/' \
    demo/halo.csv >"$S/bad.csv"
run issue "$S/halo.csv" --books "$S/pricebooks" --out "$S/out" --on 2026-03-09
code 0 'a quote to list'
STUDIO=$S /usr/bin/python3 tests/commands/screens.py || failures=$((failures + 1))

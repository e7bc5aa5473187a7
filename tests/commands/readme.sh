#!/bin/sh
# What the README shows is what the program prints.
set -u
. tests/commands/expect

# every line of the README's fenced blocks that holds TEXT stands in standard output or error
shows() { # name text
    sed -n '/^```/,/^```/p' README.md | grep -F -e "$2" >"$WORK/shown"
    holds "$1: the README has such a line" test -s "$WORK/shown"
    cat "$out" "$err" >"$WORK/said"
    missing=$(sed 's/ *$//' "$WORK/said" | grep -vxF -f - "$WORK/shown" || :)
    holds "$1: printed so" test -z "$missing"
}

run price demo/*.csv --books "$BOOKS"
shows 'the summary' 'DEMO-HALO      base'
shows 'an option of it' 'In platinum 950         2192.01'
sed 's/^shank,width top,[^,]*/shank,width top,45/' demo/halo.csv >"$WORK/halo.csv"
status=0
(cd "$WORK" && "$TALLYSTONE" price halo.csv --books "$BOOKS" >"$out" 2>"$err") || status=$?
code 65 'the slip that the README shows'
shows 'its first line' 'halo.csv:23:17:'
shows 'its row' 'C23 (value)'
run --help
for command in $(grep -o '`*tallystone [a-z]*' README.md | sed 's/.* //' | sort -u); do
    out_has "$command" "the README's command $command is one"
done
for target in $(grep -o '^make [a-z-]*' README.md | sed 's/make //' | sort -u); do
    holds "make $target is a target" grep -q "^$target:" Makefile
done

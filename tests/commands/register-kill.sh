#!/bin/sh
# SIGKILL at the n-th write to the register, swept over issue, paid and --backup, and at random
# moments: afterwards the register opens, its chain holds, all that was reported as done is there
# and a quote is there whole or not at all.
# options of several words are meant to be parted
# shellcheck disable=SC2086
set -u
. tests/commands/expect
export ASAN_OPTIONS=detect_leaks=0 # leak detection cannot work under strace

S=$WORK/studio
mkdir -p "$S"
cp -r pricebooks "$S/pricebooks"
sed -e 's/^commission,date,[^,]*/commission,date,2026-03-09/' \
    -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' \
    demo/halo.csv | grep -v '^option' >"$S/halo.csv"
sed 's/DEMO-HALO/DEMO-TWO/' "$S/halo.csv" >"$S/two.csv"
B="--books $S/pricebooks"

# killed N COMMAND...: the command, killed at its Nth write to a database file. `status` is 137
# where it was.
killed() {
    at=$1
    shift
    status=0
    strace -f -o /dev/null -e trace=pwrite64 -e "inject=pwrite64:signal=SIGKILL:when=$at" \
        "$TALLYSTONE" "$@" >"$out" 2>"$err" </dev/null || status=$?
}
failed=
fail() { failed="$failed $1"; }

# What must hold of the register in $1 whatever happened. $2: the reference that was being issued,
# $3: yes where that was reported as done.
judge() {
    done_said=$3
    "$TALLYSTONE" register --verify --register "$1/tallystone.db" >"$WORK/verify" 2>&1
    code=$?
    count=0
    if [ "$code" -eq 0 ]; then
        count=$(sqlite3 "$1/tallystone.db" "SELECT count(*) FROM quote WHERE reference='$2'")
    elif [ "$code" -ne 66 ]; then
        fail "verify:$code"
    fi
    [ "$done_said" = no ] || [ "$count" -eq 1 ] || fail lost
    if [ "$count" -eq 0 ]; then
        [ -z "$(find "$1/out" -name "$2-r1-*" 2>/dev/null)" ] || fail papers-without-quote
    else
        rm -rf "$1/again"
        "$TALLYSTONE" register --reproduce "$2" --register "$1/tallystone.db" --out "$1/again" \
            >/dev/null 2>&1 || fail reproduce
        [ -s "$1/again/$2-r1-quote.xlsx" ] || fail no-paper
    fi
}

# --- issue into a new register, and into one that holds a quote
"$TALLYSTONE" issue "$S/halo.csv" $B --out "$S/out" --on 2026-03-09 >/dev/null 2>&1
holds 'a register to begin from' test -s "$S/tallystone.db"
cp "$S/tallystone.db" "$WORK/one.db"
for start in new one; do
    failed=
    kills=0
    for at in 1 2 3 4 6 9 14 22 40 70 110 160 230 400; do
        T=$WORK/issue
        rm -rf "$T"
        mkdir "$T"
        [ $start = new ] || cp "$WORK/one.db" "$T/tallystone.db"
        killed $at issue "$S/two.csv" $B --register "$T/tallystone.db" --out "$T/out" \
            --on 2026-03-09
        said=no
        [ "$status" -eq 0 ] && said=yes
        [ "$status" -eq 137 ] && kills=$((kills + 1))
        judge "$T" DEMO-TWO $said
        [ $start = new ] || [ "$(sqlite3 "$T/tallystone.db" \
            "SELECT count(*) FROM quote WHERE reference='DEMO-HALO'")" -eq 1 ] || fail old-quote
        if [ "$status" -eq 0 ]; then
            break
        fi
        # and it can be done now
        if [ "$count" -eq 0 ]; then
            "$TALLYSTONE" issue "$S/two.csv" $B --register "$T/tallystone.db" --out "$T/out" \
                --on 2026-03-09 >/dev/null 2>&1 || fail "again:$?"
        fi
    done
    holds "issue ($start register): killed $kills times, whole or nothing" test -z "$failed"
    holds "issue ($start register): the sweep went through" test "$status" -eq 0 -a "$kills" -ge 5
done

# --- paid: at every write until it ends
"$TALLYSTONE" accept DEMO-HALO $B --on 2026-03-10 >/dev/null 2>&1
failed=
kills=0
at=1
said=0
status=137
while [ "$status" -eq 137 ] && [ $at -lt 100 ]; do
    before=$(sqlite3 "$S/tallystone.db" "SELECT count(*) FROM event")
    killed $at paid DEMO-HALO "$at" $B --on 2026-03-11
    after=$(sqlite3 "$S/tallystone.db" "SELECT count(*) FROM event")
    [ "$status" -eq 137 ] && kills=$((kills + 1))
    [ "$status" -eq 137 ] || [ "$after" -eq $((before + 1)) ] || fail lost
    [ "$after" -le $((before + 1)) ] || fail twice
    "$TALLYSTONE" register --verify $B >/dev/null 2>&1 || fail "verify:$at"
    at=$((at + 1))
done
holds "paid: killed $kills times, the chain holds each time" test -z "$failed"
holds 'paid: the sweep went through' test "$status" -eq 0 -a "$kills" -ge 3

# --- backup: the old copy or the new one
"$TALLYSTONE" register --backup "$S/safe/copy.db" $B >/dev/null 2>&1
old=$(sha256sum <"$S/safe/copy.db")
"$TALLYSTONE" paid DEMO-HALO 5.55 $B --on 2026-03-12 >/dev/null 2>&1
failed=
kills=0
for at in 1 2 5 20 60 120 400 1000; do
    killed $at register --backup "$S/safe/copy.db" $B
    [ "$status" -eq 137 ] || break
    kills=$((kills + 1))
    [ "$(sha256sum <"$S/safe/copy.db")" = "$old" ] || fail "copy:$at"
done
holds "backup: killed $kills times, the old copy stays" test -z "$failed" -a "$kills" -ge 3
run register --verify --register "$S/safe/copy.db"
code 0 'backup: what there is holds'

# --- random moments
failed=
said=0
"$TALLYSTONE" register $B --csv >/dev/null 2>&1
before=$(sqlite3 "$S/tallystone.db" "SELECT count(*) FROM event")
i=1
while [ $i -le 12 ]; do
    "$TALLYSTONE" paid DEMO-HALO "7.$((10 + i))" $B --on 2026-03-13 >"$WORK/said.$i" 2>/dev/null &
    pid=$!
    sleep "0.0$(((i * 7) % 10))"
    kill -9 "$pid" 2>/dev/null
    wait "$pid" 2>/dev/null
    grep -q '; accepted, event' "$WORK/said.$i" && said=$((said + 1))
    i=$((i + 1))
done
after=$(sqlite3 "$S/tallystone.db" "SELECT count(*) FROM event")
[ $((after - before)) -ge $said ] || fail "lost: $said said, $((after - before)) there"
holds 'killed at random: all that was said is there' test -z "$failed"
run register --verify $B
code 0 'killed at random: the chain holds'
holds 'killed at random: SQLite finds it whole' \
    test "$(sqlite3 "$S/tallystone.db" 'PRAGMA integrity_check')" = ok

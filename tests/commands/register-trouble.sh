#!/bin/sh
# The register in trouble: a full disk, a read-only folder, files that are damaged or no register,
# a newer version, planted objects, a hot journal, a register that is held, many writers at once.
# Each is a sentence and its exit code, and what was there stays.
# options of several words are meant to be parted
# shellcheck disable=SC2086
set -u
. tests/commands/expect
export ASAN_OPTIONS="${ASAN_OPTIONS:-}:detect_leaks=0" # leak detection cannot work under strace

S=$WORK/studio
mkdir -p "$S"
cp -r pricebooks "$S/pricebooks"
sed -e 's/^commission,date,[^,]*/commission,date,2026-03-02/' \
    -e 's/^commission,deliver by,[^,]*/commission,deliver by,2026-06-12/' \
    -e 's/DEMO-ETERNITY/ONE/' demo/eternity.csv | grep -v '^option' >"$S/one.csv"
sed 's/ONE/TWO/' "$S/one.csv" >"$S/two.csv"
B="--books $S/pricebooks"
DB=$S/tallystone.db
for words in "issue $S/one.csv --out $S/out --on 2026-03-09" 'accept ONE --on 2026-03-10' \
    'paid ONE 100 --on 2026-03-10'; do
    run $words $B
    code 0 "to begin from: ${words%% *}"
done
cp "$DB" "$WORK/good.db"
keep() { cp "$DB" "$WORK/before.db"; }
same() { holds "$1: not a byte of the register changed" cmp -s "$DB" "$WORK/before.db"; }
sentence() { # name: one line at least that is a sentence of the program's
    if grep -q '^tallystone: .\{20,\}' "$err"; then verdict 0 "$1: a sentence"; else verdict 1 "$1: a sentence"; fi
}
# The commands that write, each as a user types it.
ISSUE="issue $S/two.csv --out $S/out --on 2026-03-09"
PAID='paid ONE 200 --on 2026-03-11'
NIGHT="reprice --out $S/reports --as-of 2026-03-10 --quiet"

# refused CODE NAME FILE: every kind of command answers a register in FILE with CODE and a sentence,
# and leaves the file as it is.
refused() {
    cp -a "$3" "$WORK/as-it-was" 2>/dev/null
    for words in "$ISSUE" "$PAID" "$NIGHT" 'register --verify' 'register' "register --backup $WORK/copy.db"; do
        run $words $B --register "$3"
        if [ "$status" -ne "$1" ] || ! grep -q '^tallystone: .\{20,\}' "$err"; then
            verdict 1 "$2: ${words%% --*} ($1 and a sentence expected)"
            return
        fi
    done
    verdict 0 "$2: exit $1 and a sentence"
    if [ -f "$3" ]; then
        holds "$2: left as it is" cmp -s "$3" "$WORK/as-it-was"
    fi
    holds "$2: no paper, no copy" test ! -e "$S/out/TWO-r1-quote.xlsx" -a ! -e "$WORK/copy.db"
    rm -rf "$WORK/as-it-was"
}

# --- files that are no register
X=$WORK/x.db
echo 'a text file, not a register of quotes, of some length so that it could be one' >"$X"
refused 65 'a text file' "$X"
head -c 100000 "$TALLYSTONE" >"$X"
refused 65 'a binary file' "$X"
rm "$X"
mkdir "$X"
refused 73 'a folder' "$X"
rmdir "$X"
mkfifo "$X"
refused 73 'a pipe' "$X"
rm "$X"
ln -s "$DB" "$X"
refused 73 'a link to a register' "$X"
same_target() { cmp -s "$DB" "$WORK/good.db"; }
holds 'a link: what it points to stays' same_target
rm "$X"
ln -s "$WORK/nowhere.db" "$X"
refused 73 'a link to nothing' "$X"
holds 'a link to nothing: none was made' test ! -e "$WORK/nowhere.db"
rm "$X"
sqlite3 "$X" 'CREATE TABLE customer (name); INSERT INTO customer VALUES (1)'
refused 65 'a database of another program' "$X"
for half in 1 100 4096 50000; do
    head -c "$half" "$WORK/good.db" >"$X"
    refused 65 "cut off after $half bytes" "$X"
done
cp "$WORK/good.db" "$X"
sqlite3 "$X" 'PRAGMA user_version=99'
refused 65 'a newer version' "$X"
err_has 'newer tallystone' 'a newer version: it says so'

# --- planted objects
plant() { # name, sql
    cp "$WORK/good.db" "$X"
    sqlite3 "$X" "$2"
    refused 65 "$1" "$X"
    holds "$1: it was not run" test "$(sqlite3 "$X" 'SELECT count(*) FROM event')" -eq 3
}
plant 'a planted trigger' "CREATE TRIGGER extra AFTER INSERT ON event BEGIN UPDATE standing SET state = 'open'; END"
plant 'a planted view' 'CREATE VIEW extra AS SELECT * FROM event'
plant 'a planted table' 'CREATE TABLE extra (a)'
plant 'a planted index' 'CREATE INDEX extra ON event (day)'
plant 'a guard taken away' 'DROP TRIGGER event_stays'
plant 'a table with the name of a view' "PRAGMA writable_schema=ON; UPDATE sqlite_schema SET type = 'view', sql = 'CREATE VIEW ran AS SELECT 1 AS id', rootpage = 0 WHERE name = 'ran'"

# --- bytes flipped all over the file: found by --verify, or without effect; never a crash, and what
# cannot be read is not written to
/usr/bin/python3 - "$WORK/good.db" "$X" "$TALLYSTONE" "${MODE:-release}" <<'P' && verdict 0 'bytes flipped: found, or without effect' || verdict 1 'bytes flipped'
import random, sqlite3, subprocess, sys
good, bad, program, mode = sys.argv[1:]
whole = open(good, "rb").read()
draw = random.Random(7)
def ends(*words):
    done = subprocess.run([program, *words, "--register", bad], capture_output=True, text=True, errors="replace")
    return done.returncode, done.stdout, done.stderr
def content(path):
    db = sqlite3.connect(path)
    try:
        return [db.execute(f"SELECT * FROM {t} ORDER BY 1, 2").fetchall() for t in
                ("quote", "alternative", "line", "total", "tax", "need", "event", "standing", "file", "book_row")]
    except sqlite3.Error:
        return None
    finally:
        db.close()
wrong = found = 0
rounds = 40 if mode == "asan" else 120
for i in range(rounds):
    bytes_ = bytearray(whole)
    at = draw.randrange(min(len(whole), 200)) if i % 8 == 0 else draw.randrange(len(whole))
    for k in range(1 if i % 2 else 8):
        bytes_[(at + 37 * k) % len(whole)] ^= 1 << draw.randrange(8)
    open(bad, "wb").write(bytes_)
    code, _, said = ends("register", "--verify")
    other, _, words = ends("register", "--csv")
    if code not in (0, 65, 66, 73, 74) or other not in (0, 65, 66, 73, 74) or (code and not said.startswith("tallystone: ")):
        wrong += 1
        print(f"  byte {at}: --verify {code}, register {other}: {said}{words}")
    found += code != 0
    if code == 0 and content(bad) != content(good):
        wrong += 1
        print(f"  byte {at}: another content passes --verify")
print(f"  {found} of {rounds} found")
sys.exit(wrong > 0 or found < rounds / 4)
P

# --- a hot journal: a writer that was killed amid its commit is undone by the next command
strace -o /dev/null -e trace=unlink -e inject=unlink:signal=SIGKILL:when=1 \
    "$TALLYSTONE" $PAID $B >/dev/null 2>&1
holds 'a hot journal is left by a kill' test -s "$DB-journal"
mkdir -p "$WORK/hot"
cp "$DB" "$WORK/hot/tallystone.db"
cp "$DB-journal" "$WORK/hot/tallystone.db-journal"
run register --verify $B
code 0 'a hot journal is undone'
out_has '3 events' 'and the old state is there'
holds 'the journal is gone' test ! -e "$DB-journal"
holds 'every page is as before' test "$(sqlite3 "$DB" .dump | sha256sum)" = "$(sqlite3 "$WORK/good.db" .dump | sha256sum)"
head -c 300 /dev/urandom >"$DB-journal"
run register --verify $B
code 0 'a journal of nonsense harms nothing'
rm -f "$DB-journal"
cp "$WORK/good.db" "$DB"
mkdir "$DB-journal"
keep
run $PAID $B
[ "$status" -eq 73 ] || [ "$status" -eq 74 ]
verdict $? 'a journal that cannot be made: exit 73 or 74'
sentence 'a journal that cannot be made'
same 'a journal that cannot be made'
rmdir "$DB-journal"

# --- a register that is held: 75 after at most ten seconds
keep
/usr/bin/python3 - "$DB" "$WORK/held" <<'P' &
import sqlite3, sys, time
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("BEGIN EXCLUSIVE")
open(sys.argv[2], "w").close()
time.sleep(60)
P
holder=$!
while [ ! -e "$WORK/held" ]; do sleep 0.05; done
began=$(date +%s)
"$TALLYSTONE" $PAID $B >"$out" 2>"$err" &
one=$!
"$TALLYSTONE" $NIGHT $B >"$WORK/night" 2>&1 &
two=$!
"$TALLYSTONE" $ISSUE $B >"$WORK/issue" 2>&1 &
three=$!
wait "$one"
status=$?
code 75 'held: paid ends with 75'
sentence 'held'
wait "$two"
status=$?
code 75 'held: reprice ends with 75'
wait "$three"
status=$?
code 75 'held: issue ends with 75'
took=$(($(date +%s) - began))
holds "held: after ten seconds, not more than fourteen ($took)" test "$took" -ge 9 -a "$took" -le 14
kill "$holder"
wait "$holder" 2>/dev/null
same 'held'
holds 'held: no paper' test ! -e "$S/out/TWO-r1-quote.xlsx"

# --- many at once: neither is lost
i=0
pids=
while [ $i -lt 8 ]; do
    "$TALLYSTONE" paid ONE "3$i" $B --on 2026-03-11 >"$WORK/at-once.$i" 2>&1 &
    pids="$pids $!"
    if [ $((i % 2)) -eq 0 ]; then
        "$TALLYSTONE" reprice --out "$S/reports-$i" --as-of 2026-03-10 --quiet $B >"$WORK/night.$i" 2>&1 &
        pids="$pids $!"
    fi
    i=$((i + 1))
done
"$TALLYSTONE" issue "$S/two.csv" --out "$S/out" --on 2026-03-09 $B >"$WORK/issue" 2>&1 &
pids="$pids $!"
failed=
for pid in $pids; do
    wait "$pid" || failed="$failed $?"
done
holds "eight payments, four nightly runs and an issue at once: all end well${failed:+, but$failed}" test -z "$failed"
holds 'all payments are there' test \
    "$(sqlite3 "$DB" "SELECT count(*) FROM event WHERE kind = 'paid' AND amount BETWEEN 3000 AND 3799")" -eq 8
run register --verify $B
code 0 'the chain is whole'
out_has '2 quotes, 12 events' 'and has each of them'

# --- small and read-only file systems, in a mount name space of their own
cat >"$WORK/mounts" <<'M'
# small KB: the studio on a file system of that size, in $SMALL
set -u
small() {
    mkdir -p "$SMALL"
    mount -t tmpfs -o "size=$1k,mode=0700" tmpfs "$SMALL" || exit 99
    cp "$GOOD" "$SMALL/tallystone.db"
}
case $1 in
small)
    small "$2"
    shift 2
    "$TALLYSTONE" "$@"
    code=$?
    "$TALLYSTONE" register --verify --register "$SMALL/tallystone.db" >"$SMALL.verify" 2>&1
    echo $? >"$SMALL.code"
    cp "$SMALL/tallystone.db" "$SMALL.db"
    find "$SMALL" -mindepth 1 >"$SMALL.files"
    exit $code
    ;;
read-only)
    shift
    mount --bind "$RO" "$RO" && mount -o remount,ro,bind "$RO" || exit 99
    "$TALLYSTONE" "$@"
    ;;
esac
M
if [ "$(id -u)" -eq 0 ] && unshare -m true 2>/dev/null; then
    apart='unshare -m'
elif unshare -rm true 2>/dev/null; then
    apart='unshare -rm'
else
    apart=
    status=0
    verdict 1 'file systems can be mounted here (root, or name spaces of users, is needed)'
fi
export SMALL="$WORK/small" RO="$WORK/ro" GOOD="$WORK/good.db" TALLYSTONE
kept() { # name
    if [ "$(cat "$SMALL.code")" -eq 0 ] && [ "$(sqlite3 "$SMALL.db" 'SELECT count(*) FROM event')" -eq "$2" ]; then
        verdict 0 "$1"
    else
        verdict 1 "$1"
    fi
}
size=$(($(stat -c %s "$WORK/good.db") / 1024))
sums=$(sqlite3 "$WORK/good.db" 'SELECT count(*) FROM event')
if [ -n "$apart" ]; then
    full=0
    fits=0
    bad=
    # from no room at all to room for everything; in between it ends in the midst of the papers, the
    # journal or the file itself
    for room in 8 24 64 128 200 300 450 700 1200 3000; do
        status=0
        $apart sh "$WORK/mounts" small $((size + room)) issue "$S/two.csv" --books "$S/pricebooks" \
            --register "$SMALL/tallystone.db" --out "$SMALL/out" --on 2026-03-09 >"$out" 2>"$err" || status=$?
        events=$(sqlite3 "$SMALL.db" 'SELECT count(*) FROM event')
        if [ "$(cat "$SMALL.code")" -ne 0 ]; then
            bad="$bad $room:verify"
        fi
        if [ "$status" -eq 0 ]; then
            fits=$((fits + 1))
            [ "$events" -eq $((sums + 1)) ] || bad="$bad $room:lost"
        else
            full=$((full + 1))
            case $status in 73 | 74) ;; *) bad="$bad $room:exit-$status" ;; esac
            grep -q '^tallystone: .\{20,\}' "$err" || bad="$bad $room:no-sentence"
            ! grep '^tallystone: ' "$err" | grep -q ZIP || bad="$bad $room:packing"
            [ "$events" -eq "$sums" ] || bad="$bad $room:half"
            ! grep -q 'xlsx' "$SMALL.files" || bad="$bad $room:paper"
        fi
    done
    status=0
    holds "a full disk: issue, $full times too small, $fits times not; old or new each time${bad:+ but$bad}" \
        test -z "$bad" -a "$full" -ge 4 -a "$fits" -ge 1
    for words in "paid ONE 200 --on 2026-03-11 --books $S/pricebooks" \
        "reprice --out $SMALL/reports --as-of 2026-03-10 --quiet --books $S/pricebooks" \
        "register --backup $SMALL/safe/copy.db"; do
        status=0
        $apart sh "$WORK/mounts" small $((size + 4)) $words --register "$SMALL/tallystone.db" \
            >"$out" 2>"$err" || status=$?
        [ "$status" -eq 74 ] || [ "$status" -eq 73 ]
        verdict $? "a full disk: ${words%% *} ends with 73 or 74"
        sentence "a full disk: ${words%% *}"
        err_lacks 'not an error' "a full disk: ${words%% *}: that says what is wrong"
        kept "a full disk: ${words%% *}: the old state holds" "$sums"
    done

    mkdir -p "$RO"
    cp "$WORK/good.db" "$RO/tallystone.db"
    for words in "issue $S/two.csv --out $S/out3 --on 2026-03-09" "$PAID" "$NIGHT" \
        "register --backup $RO/copy.db"; do
        status=0
        $apart sh "$WORK/mounts" read-only $words --books "$S/pricebooks" --register "$RO/tallystone.db" \
            >"$out" 2>"$err" || status=$?
        code 73 "read-only: ${words%% *} ends with 73"
        sentence "read-only: ${words%% *}"
        holds "read-only: ${words%% *}: the register is as it was" cmp -s "$RO/tallystone.db" "$WORK/good.db"
    done
    holds 'read-only: no paper came out' test ! -e "$S/out3/TWO-r1-quote.xlsx"
    status=0
    $apart sh "$WORK/mounts" read-only register --csv --books "$S/pricebooks" --register "$RO/tallystone.db" \
        >"$out" 2>"$err" || status=$?
    code 0 'read-only: it can be read'
    out_has 'ONE' 'read-only: and tells what is in it'
fi

# --- a limit on the size of files: an error, not a signal
keep
status=0
(ulimit -f $((size * 1024 / 512 + 8)) && "$TALLYSTONE" issue "$S/two.csv" --books "$S/pricebooks" --register "$WORK/hot/new.db" \
    --out "$S/out4" --on 2026-03-09) >"$out" 2>"$err" </dev/null || status=$?
rm -f "$WORK/hot/new.db"
status=0
(ulimit -f 64 && "$TALLYSTONE" register --backup "$S/safe.db" $B) >"$out" 2>"$err" </dev/null || status=$?
code 74 'a limit on the size of files: exit 74'
sentence 'a limit on the size of files'
holds 'a limit on the size of files: no copy' test ! -e "$S/safe.db"
same 'a limit on the size of files'

#!/bin/sh
# Periods that are closed: what is dated in one is refused by the program and by the file itself,
# what was changed from outside is named; and a register of version 1, kept from before there
# were closings, is read as it is and migrated before it is written, a copy left beside it.
# options of several words are meant to be parted
# shellcheck disable=SC2086
set -u
. tests/commands/expect

S=$WORK/studio
mkdir "$S"
cp -r pricebooks "$S/pricebooks"
B="--books $S/pricebooks"
DB=$S/tallystone.db
OLD=tests/reference/registers/version-1.db
March="--from 2026-03-01 --to 2026-03-31"
F=$S/x/2026-03-01--2026-03-31
refuses() { # name SQL: the file refuses it
    sqlite3 -bail "$DB" "$2" >"$WORK/sql" 2>&1 && verdict 1 "$1" || verdict 0 "$1"
}

# --- an old register: read as it is
cp "$OLD" "$DB"
for command in 'register' 'register KEPT-TWO' 'register --verify' "export $March --out $S/x" \
    'paid KEPT-TWO 5 --on 2026-04-01 --dry-run' \
    "export $March --out $S/x --close --dry-run"; do
    run $command $B
    code 0 "of version 1: $command"
done
holds 'not a byte of it changed' cmp -s "$OLD" "$DB"
holds 'no copy was left' test ! -e "$DB.before-v1"
rm -rf "$S/x"
run paid KEPT-TWO 5 $B --on 2026-03-01
code 77 'a refused event does not migrate it'
holds 'not a byte of it changed' cmp -s "$OLD" "$DB"

# --- and migrated before it is written
run paid KEPT-TWO 5 $B --on 2026-04-01
code 0 'an event is added to it'
holds 'it is of version 2 now' test "$(sqlite3 "$DB" 'PRAGMA user_version')" = 2
holds 'the copy is of version 1' test "$(sqlite3 "$DB.before-v1" 'PRAGMA user_version')" = 1
holds 'the copy is 0600' test "$(stat -c %a "$DB.before-v1")" = 600
dump() { sqlite3 "$1" 'SELECT * FROM event WHERE id < 12; SELECT * FROM quote; SELECT * FROM line; SELECT hash FROM file'; }
dump "$DB" >"$WORK/now"
dump "$OLD" >"$WORK/old"
holds 'all that was kept is there' cmp -s "$WORK/old" "$WORK/now"
dump "$DB.before-v1" >"$WORK/now"
holds 'and in the copy' cmp -s "$WORK/old" "$WORK/now"
run register --verify $B
code 0 'it verifies'
out_has '4 quotes, 12 events' 'with every event'
run issue demo/halo.csv $B --on 2026-02-01
code 64 'it is used like any other'
schema() { sqlite3 "$1" 'SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY type, name'; }
mkdir "$S/new"
run issue demo/halo.csv --books "$S/pricebooks" --register "$S/new.db" --out "$S/new" --reason 'a trial'
code 0 'a new register'
schema "$DB" >"$WORK/now"
schema "$S/new.db" >"$WORK/new"
holds 'has the schema of the migrated one, word for word' cmp -s "$WORK/new" "$WORK/now"
cp "$OLD" "$S/ro.db"
mkdir "$S/ro"
cp "$OLD" "$S/ro/tallystone.db"
mkdir "$S/ro/tallystone.db.before-v1"
run paid KEPT-TWO 5 $B --register "$S/ro/tallystone.db" --on 2026-04-01
code 73 'where no copy can be left, nothing is written'
holds 'not a byte of it changed' cmp -s "$OLD" "$S/ro/tallystone.db"

# --- closing
run export $B $March --out "$S/x" --close --dry-run
code 0 'export --close --dry-run'
run paid KEPT-TWO 1 $B --on 2026-03-31
code 0 'a dry run closes nothing'
run export $B $March --out "$S/x" --close
code 0 'export --close'
err_has 'the period is closed' 'it says so'
run paid KEPT-TWO 2 $B --on 2026-03-31
code 77 'the last day is closed'
err_has '31 March 2026 lies in a closed period, 1 March 2026 to 31 March 2026' 'the period is named'
out_empty 'nothing is printed'
for command in 'void 13' 'refund KEPT-TWO 1' 'deliver KEPT-TWO' 'cancel KEPT-TWO'; do
    run $command $B --on 2026-03-20
    code 77 "closed for: $command"
done
sed -e 's/^commission,date,[^,]*/commission,date,2026-03-09/' -e 's/DEMO-HALO/NEW/' demo/halo.csv >"$S/new.csv"
run issue "$S/new.csv" $B --on 2026-03-10 --out "$S/o" --reason 'a trial'
code 77 'closed for an issue'
holds 'no paper came out' test ! -e "$S/o/NEW-r1-quote.xlsx"
run paid KEPT-TWO 2 $B --on 2026-04-01
code 0 'the day after is open'
run export $B $March --out "$S/x" --close
code 0 'closing it again does nothing more'
holds 'one row' test "$(sqlite3 "$DB" 'SELECT count(*) FROM closed')" = 1
run export $B --from 2026-04-01 --to 2026-04-30 --out "$S/x" --close
code 0 'the next month'
run register --verify $B
code 0 'the register verifies'

# --- an export that differs is not closed
run export $B --from 2026-05-01 --to 2026-05-31 --out "$S/x"
run bought KEPT-TWO $B --on 2026-05-02
run export $B --from 2026-05-01 --to 2026-05-31 --out "$S/x" --close
code 77 'a folder that differs'
holds 'stays open' test "$(sqlite3 "$DB" 'SELECT count(*) FROM closed')" = 2

# --- the file itself refuses
refuses 'an event in a closed period' "INSERT INTO event SELECT id + 1, kind, quote, reference,
 revision, option, stage, amount, currency, way, receipt, reason, '2026-03-20', written, who, NULL,
 content, hash, '$(printf '%064d' 7)' FROM event ORDER BY id DESC LIMIT 1"
holds 'for that reason' grep -q 'the day lies in a closed period' "$WORK/sql"
refuses 'a closing that is changed' "UPDATE closed SET ends = '2026-03-30'"
refuses 'a closing that is removed' 'DELETE FROM closed'
refuses 'a closing out of line' "INSERT INTO closed SELECT 9, '2026-06-01', '2026-06-30', events,
 head, written, who, previous, '$(printf '%064d' 8)' FROM closed LIMIT 1"

# --- and what was changed behind its back is named
behind() { # SQL run with the triggers of closings taken off and put back word for word
    cp "$DB" "$WORK/kept.db"
    sqlite3 "$DB" "SELECT sql || ';' FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'closed'" >"$WORK/triggers"
    sqlite3 "$DB" 'DROP TRIGGER closed_in_line; DROP TRIGGER closed_stays; DROP TRIGGER closed_remains;' "$1"
    sqlite3 "$DB" <"$WORK/triggers"
    run register --verify $B
    cp "$WORK/kept.db" "$DB"
}
behind "UPDATE closed SET ends = '2026-03-30' WHERE id = 1"
code 65 'a closing that was changed'
err_has 'closing 1 (2026-03-01 to 2026-03-30)' 'is named'
behind 'DELETE FROM closed WHERE id = 2'
code 65 'a closing that was removed'
err_has 'the periods closed before event' 'by the event after it'
behind 'DELETE FROM closed'
code 65 'all of them'
run register --verify $B
code 0 'and as it was, all is well'

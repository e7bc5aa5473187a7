#!/bin/sh
# What `variants` holds in memory does not grow with the rows: the kernel's high-water mark of a run
# over few and of one over many, each read when all its rows are through and before it ends.
set -u
. tests/commands/expect

rows() { # HOW MANY: a season's table, nearly each row another
    awk -v rows="$1" 'BEGIN {
        split("750 yellow|platinum 950|585 rose", alloy, "|")
        print "variant,ring/size,ring/alloy,shank/width top,shank/thickness top,halo top/spacing"
        for (i = 0; i < rows; i++) {
            seed = (seed * 1103515 + 12345) % 2147483
            printf "v%d,%g,%s,%.2f,%.2f,%.2f\n", i, 4 + seed % 29 / 4, alloy[1 + seed % 3],
                1.8 + seed % 140 / 100, 1.5 + seed % 71 / 100, 0.08 + seed % 7 / 100
        }
    }'
}

held() { # HOW MANY: KiB at most, into $kib; how it ended into $status
    rm -f "$WORK/table"
    mkfifo "$WORK/table"
    "$TALLYSTONE" variants demo/halo.csv - --books "$BOOKS" <"$WORK/table" >"$out" 2>"$err" &
    pid=$!
    exec 3>"$WORK/table"
    rows "$1" >&3
    while sleep 0.1; grep -q '^State:.[RD]' "/proc/$pid/status"; do :; done
    kib=$(awk '/^VmHWM:/ { print $2 }' "/proc/$pid/status")
    exec 3>&-
    wait "$pid"
    status=$?
    code 0 "$1 rows"
    holds "$1 rows: all of them priced" test "$(grep -c ',priced,' "$out")" -eq "$1"
}

held 2000
few=$kib
held 60000
many=$kib
if [ "${MODE:-release}" = release ]; then # a checked build keeps what was given back
    echo "  $few KiB for 2,000 rows, $many KiB for 60,000"
    holds 'thirty times the rows take no more than 1 MiB more' test "$many" -le $((few + 1024))
    holds 'and no more than 8 MiB at all' test "$many" -le 8192
fi

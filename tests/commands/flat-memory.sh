#!/bin/sh
# What `variants` holds in memory does not grow with the rows: the kernel's high-water mark of a run
# over few and of one over many, each read when all its rows are through and before it ends. Nor does
# what `price` and `check` hold grow with the sheets, but by their lines of the summary.
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

# `price` over sheets of one option each: a line of the summary takes a quarter of a KiB. Between two
# runs alike the mark differs by up to 0.3 MiB, so what is let through is less than half of what
# 4 KiB a sheet would come to. Beside papers it takes more sheets to show: the first MiB goes into
# holes that workbooks left.
[ "${MODE:-release}" = release ] || exit 0
mkdir "$WORK/sheets"
awk -v folder="$WORK/sheets" '!/^option/ { text[++lines] = $0 }
    END { for (i = 1; i <= 1000; i++) {
        file = sprintf("%s/%04d.csv", folder, i)
        for (k = 1; k <= lines; k++) {
            line = text[k]
            sub(/DEMO-ETERNITY/, "RING-" i, line)
            print line >file
        }
        close(file)
    } }' demo/eternity.csv

ran() { # COMMAND HOW MANY [OPTION...]: KiB at most, into $kib; how it ended into $status
    command=$1
    sheets=$(find "$WORK/sheets" -name '*.csv' | sort | head -n "$2")
    shift 2
    status=0
    # shellcheck disable=SC2086
    kib=$(/usr/bin/python3 tests/commands/peak.py "$TALLYSTONE" "$command" $sheets --books "$BOOKS" "$@" \
        2>"$err") || status=$?
}

grows() { # NAME COMMAND FEW MANY KIB-LET-THROUGH [OPTION...]
    name=$1
    does=$2
    least=$3
    most=$4
    limit=$5
    shift 5
    ran "$does" "$least" "$@"
    code 0 "$name: $least sheets"
    few=$kib
    ran "$does" "$most" "$@"
    code 0 "$name: $most sheets"
    echo "  $few KiB for $least sheets, $kib KiB for $most"
    holds "$name: from $least to $most sheets it grows by less than $limit KiB" \
        test $((kib - few)) -lt "$limit"
}

grows 'a summary' price 100 1000 768
grows 'as CSV' price 100 1000 768 --csv
grows 'a check' check 100 1000 768
grows 'papers' price 50 700 1024 --out "$WORK/papers"

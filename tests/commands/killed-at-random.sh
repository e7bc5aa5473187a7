#!/bin/sh
# Killed at random moments: what was reported as done is there, and nothing is there by half. What
# is held stands in nothing_lost.py.
#
#     killed-at-random.sh [ROUNDS]     SEED draws others
set -eu
: "${TALLYSTONE:?names the program under test}"
TMPDIR=$(mktemp -d)
export TMPDIR
trap 'rm -rf "$TMPDIR"' EXIT
/usr/bin/python3 tests/commands/nothing_lost.py moments ${1:+"$1"}

#!/bin/sh
# Memory runs out at each allocation in turn, and under limits: a sentence and 71, nothing half
# written. What is held stands in starved.py; `make torture` refuses every allocation.
set -eu
: "${TALLYSTONE:?names the program under test}"
TMPDIR=$(mktemp -d)
export TMPDIR
trap 'rm -rf "$TMPDIR"' EXIT
STARVE=${TALLYSTONE%/*}/tests/starve/starve.so
export STARVE
/usr/bin/python3 tests/commands/starved.py "$@"

#!/bin/sh
# Killed or answered by an error at the n-th call that changes a file, and killed at random
# moments: the register and the papers are the old ones or the new ones, whole. What is held
# stands in nothing_lost.py; `make torture` tries every call.
set -eu
: "${TALLYSTONE:?names the program under test}"
TMPDIR=$(mktemp -d)
export TMPDIR
trap 'rm -rf "$TMPDIR"' EXIT
failed=0
/usr/bin/python3 tests/commands/nothing_lost.py sweep || failed=1
/usr/bin/python3 tests/commands/nothing_lost.py moments || failed=1
exit "$failed"

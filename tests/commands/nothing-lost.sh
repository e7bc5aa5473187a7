#!/bin/sh
# Killed or answered by an error at the n-th call that changes a file: the register and the papers
# are the old ones or the new ones, whole. What is held stands in nothing_lost.py; `make torture`
# tries every call.
set -eu
: "${TALLYSTONE:?names the program under test}"
TMPDIR=$(mktemp -d)
export TMPDIR
trap 'rm -rf "$TMPDIR"' EXIT
/usr/bin/python3 tests/commands/nothing_lost.py sweep ${1:+"$1"}

#!/bin/sh
# What the client's workbook tells: nothing of what the studio pays, nothing of where it
# keeps its books, nothing that a spreadsheet program would run; and the same bytes twice.
set -eu
: "${TALLYSTONE:=build/release/tallystone}"
export TALLYSTONE
exec /usr/bin/python3 tests/independent/leak.py

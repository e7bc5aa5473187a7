"""Runs commands on terminals made for it and measures every line that they show."""
import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import unicodedata

PROGRAM, STUDIO = os.environ["TALLYSTONE"], os.environ["STUDIO"]
BOOKS = ["--books", os.path.join(STUDIO, "pricebooks")]
DEMO = ["demo/eternity.csv", "demo/halo.csv", "demo/three-stone.csv"]
BAD = os.path.join(STUDIO, "bad.csv")
COMMANDS = [
    ["price", *DEMO], ["price", "demo/halo.csv"], ["quantities", "demo/three-stone.csv"],
    ["why", "demo/halo.csv", "total"],
    ["why", "demo/halo.csv", "break-even"], ["order", *DEMO], ["check", BAD], ["--help"],
    *[[word, "--help"] for word in ("price", "order", "variants", "issue", "reprice", "register")],
    *[["help", word] for word in ("halo", "stone", "policy", "services")],
    ["register", *BOOKS], ["register", "DEMO-HALO", *BOOKS], ["register", "--verify", *BOOKS],
    ["reprice", *BOOKS], ["issue", os.path.join(STUDIO, "halo.csv"), *BOOKS, "--out", STUDIO],
    ["accept", "NOBODY", *BOOKS], ["pirce"], ["price", "demo/halo.csv", "--nothing"],
]
ESCAPE = re.compile(r"\033\[[0-9;]*m")
failed = False


def say(fine, name, details=()):
    global failed
    print(("ok " if fine else "not ok ") + name)
    for line in [] if fine else list(details)[:20]:
        print("    " + line)
    failed = failed or not fine


def environment(locale, colour):
    kept = {k: v for k, v in os.environ.items() if not k.startswith("LC_") and k != "NO_COLOR"}
    kept.update(LC_ALL=locale, TERM="xterm")
    if not colour:
        kept["NO_COLOR"] = "1"
    return kept


def on_terminal(words, columns, locale, colour):
    """What a terminal of so many columns is sent, both streams together."""
    # The program's side stays open here until all is read: what is on its way when the last who
    # holds it goes can be lost.
    terminal, far = pty.openpty()
    fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", 60, columns, 0, 0))
    shown = b""
    with subprocess.Popen([PROGRAM, *words], stdin=far, stdout=far, stderr=far, start_new_session=True,
                          env=environment(locale, colour)) as child:
        ended = False
        while not ended or select.select([terminal], [], [], 0)[0]:
            ended = child.poll() is not None
            if select.select([terminal], [], [], 0.01)[0]:
                shown += os.read(terminal, 65536)
    os.close(far)
    os.close(terminal)
    return shown.decode("utf-8").replace("\r\n", "\n")


def piped(words, locale):
    done = subprocess.run([PROGRAM, *words], stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                          env=environment(locale, True), check=False)
    return done.stdout.decode("utf-8")


def width(line):
    return sum(0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF")
               for c in line)


def main():
    wide, beyond, coloured, lost = [], [], [], []
    said = {}
    for columns, most in ((80, 80), (120, 100)):
        for locale in ("C.UTF-8", "C"):
            for words in COMMANDS:
                name = " ".join(words[:2]) + f", {columns} columns, {locale}"
                shown = on_terminal(words, columns, locale, True)
                said[columns, locale, tuple(words)] = shown
                for line in ESCAPE.sub("", shown).split("\n"):
                    if width(line) > most and " " in line.strip():
                        wide.append(f"{name}: {width(line)}: {line}")
                if locale == "C" and not shown.isascii():
                    beyond.append(name)
                plain = on_terminal(words, columns, locale, False)
                if "\033" in plain or ESCAPE.sub("", shown) != plain:
                    coloured.append(name)
    say(len(said) == 4 * len(COMMANDS) and all(said.values()), "every command shows something",
        [str(k) for k, v in said.items() if not v])
    say(not wide, "no line is wider than its terminal, nor than a hundred columns", wide)
    say(not beyond, "a terminal of ASCII is sent ASCII", beyond)
    say(not coloured, "without colour the same is said, without a single escape", coloured)
    say(any("\033" in text for text in said.values()), "with colour there is colour")
    for words in COMMANDS:
        if "help" in words[0] or words[-1] == "--help" or words[0] in ("accept", "issue", "register"):
            if piped(words, "C.UTF-8").split() != ESCAPE.sub("", said[80, "C.UTF-8", tuple(words)]).split():
                lost.append(" ".join(words))
    say(not lost, "breaking lines loses no word", lost)
    cut = [line for words in COMMANDS if words[0] == "why"
           for line in said[80, "C", tuple(words)].split("\n") if "..." in line]
    say(not cut, "no formula of a chain is cut short", cut)
    fault = said[80, "C.UTF-8", ("check", BAD)]
    marked = re.findall(r"^(  C\d+ \(value\) \| .*)\n( +)(?:\033\[31m)?(\^+)", fault, re.M)
    cells = [row[len(blanks):len(blanks) + len(mark)] for row, blanks, mark in marked]
    say(cells == ["750 yelow", "45"], "the mark stands under the cell", [str(cells), fault])
    price = ESCAPE.sub("", said[80, "C", ("price", "demo/halo.csv")]).split("\n")
    for word in ("cost", "net", "total"):
        row = next(n for n, line in enumerate(price) if re.match(r"total +" + word + " ", line))
        say(set(price[row - 1]) == {"-"}, f"{word} is ruled off")
    sys.exit(1 if failed else 0)


main()

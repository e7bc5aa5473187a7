"""Memory runs out: each allocation fails in turn, and less and less memory is there.

    starved.py [--all] [WORD]     of all commands, or of those that begin with this word; STARVE names
                                  the library that makes an allocation fail (tests/starve)

Every command of COMMANDS is run once and what it allocates is counted; then the n-th allocation is
refused, once or from then on. Counted is what the program, SQLite and, where no paper is made, the C
library ask for: each such run ends with 71 and a sentence, or as if nothing had been, with the same output to the byte;
the register holds the old or the new state, no paper shows of one that ended with 71 and said
nothing, and nothing staged is left behind by a run that could still say so. The libraries that draw
and pack papers use some answers of malloc without a look at them: before they begin the program
makes sure of a reserve, and what is held there is that under any limit of address space a run
either ends well or with 71 and a sentence.
"""
import os
import pathlib
import re
import resource
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field

from studio import failed, make_studio, verdict

PROGRAM = os.path.abspath(os.environ["TALLYSTONE"])
STARVE = os.path.abspath(os.environ["STARVE"])
SLOW = os.environ.get("MODE") == "asan"
WORK = pathlib.Path(tempfile.gettempdir())
STUDIO = WORK / "studio"
# asked for on behalf of a paper; the C library's functions are called by those libraries too, and its
# loader, which brings them in, says why it could not in words alone
SPARED = "ld-linux:xlsxwriter:cairo:pixman:fontconfig:freetype:expat:libpng:libz:minizip:libcrypto:libX:libc.so"
SENTENCE = "there is not enough memory"


@dataclass
class Command:
    words: list
    most: int = 24                                # refused allocations in `make check`
    paper: bool = False                           # it draws or packs: also run under limits
    fine: set = field(default_factory=lambda: {0})

    def spared(self):
        return SPARED if self.paper else ""


COMMANDS = [
    Command(["check", "two.csv"]),
    Command(["quantities", "two.csv"], 25),
    Command(["price", "two.csv"]),
    Command(["price", "two.csv", "--out", "drafts"], 10, True),
    Command(["why", "two.csv", "total"]),
    Command(["draw", "two.csv", "--out", "drawing.pdf"], 12, True),
    Command(["draw", "two.csv", "--out", "drawing.svg"], 20),
    Command(["order", "two.csv"], 16),
    Command(["order", "two.csv", "--out", "order.xlsx"], 10, True),
    Command(["variants", "two.csv", "table.csv"], 24),
    Command(["new", "ring"]),
    Command(["issue", "two.csv", "--out", "out", "--on", "2026-03-09"], 12, True),
    Command(["accept", "ONE", "--on", "2026-03-10"], 20),
    Command(["reprice", "--out", "reports", "--as-of", "2026-03-05"], 20),
    Command(["export", "--from", "2026-03-01", "--to", "2026-03-31", "--out", "books"], 20, True),
    Command(["register"], 20),
    Command(["register", "--verify"], 20),
    Command(["register", "--backup", "copy.db"], 20),
]
ENVIRONMENT = dict(os.environ, LC_ALL="C")  # another locale asks for memory and does without
ENVIRONMENT["ASAN_OPTIONS"] = os.environ.get("ASAN_OPTIONS", "") + (
    ":detect_leaks=0:verify_asan_link_order=0:allocator_may_return_null=1")

def run(words, limit_kb=None, spared="", **starve):
    def before():
        if limit_kb:
            resource.setrlimit(resource.RLIMIT_AS, (limit_kb * 1024, limit_kb * 1024))
    environment = dict(ENVIRONMENT, **{name.upper(): str(value) for name, value in starve.items()})
    if starve:
        environment |= {"LD_PRELOAD": STARVE, "STARVE_SPARE": spared}
    done = subprocess.run([PROGRAM, *words], cwd=STUDIO, env=environment, stdin=subprocess.DEVNULL, check=False,
                          capture_output=True, text=True, errors="replace", timeout=120,
                          preexec_fn=before if limit_kb else None)
    return done.returncode, done.stdout, done.stderr


def shown():
    """What stands in the studio but books and sheets: name -> bytes; hidden names too."""
    found = {str(path.relative_to(STUDIO)): path for path in STUDIO.rglob("*") if path.is_file()}
    return {name: path.read_bytes() for name, path in found.items()
            if not name.startswith(("pricebooks/", "tallystone.db")) and name not in ("one.csv", "two.csv", "table.csv")}


def events():
    text = subprocess.run(["sqlite3", STUDIO / "tallystone.db", "SELECT count(*) FROM quote; SELECT count(*) FROM event;"
                           "SELECT count(*) FROM ran; PRAGMA integrity_check"], capture_output=True, text=True, check=False)
    return text.stdout.split()


def begin():
    shutil.rmtree(STUDIO)
    shutil.copytree(WORK / "beginning", STUDIO)


def normal(text):
    return re.sub(r"\d{4}-\d\d-\d\dT\S+", "", text)


@dataclass
class Whole:
    old: list
    new: list
    files: dict
    out: str


def judge(command, whole, ended, what):
    """The sentences of what does not hold."""
    code, out, said = ended
    wrong = []
    files, now = shown(), events()
    if code in command.fine:
        if now != whole.new or files != whole.files or normal(out) != whole.out:
            wrong.append("it ended well, and is not what it was")
    elif code != 71 or SENTENCE not in said:
        wrong.append(f"ended with {code}: {said.strip()[-160:]}")
    if now not in (whole.old, whole.new):
        wrong.append(f"the register holds {now}")
    for name, text in files.items():
        if name not in whole.files or (text != whole.files[name] and not name.endswith(".db")):
            wrong.append(f"{name} is left behind, or only a part")
    if "Sanitizer" in said or "runtime error" in said:
        wrong.append("a sanitizer's find")
    return [f"{what}:", *wrong] if wrong else []


def once(command):
    begin()
    old = events()
    count = WORK / "count"
    code, out, said = run(command.words, spared=command.spared(), starve_count=count)
    if code not in command.fine:
        sys.exit(f"{' '.join(command.words)} ended with {code}: {said}")
    return Whole(old, events(), shown(), normal(out)), int(count.read_text(encoding="ascii"))


def starve(command, everything):
    whole, count = once(command)
    most = (3000 if everything else command.most) // (3 if SLOW else 1)
    numbers = sorted({1 + i * (count - 1) // max(most - 1, 1) for i in range(most)} if most < count
                     else range(1, count + 1))
    wrong = []
    for i, number in enumerate(numbers):
        for stays in ((0, 1) if everything else (i % 2,)):
            begin()
            if stays:
                ended = run(command.words, spared=command.spared(), starve_at=number, starve_on=1)
            else:
                ended = run(command.words, spared=command.spared(), starve_at=number)
            wrong += judge(command, whole, ended, f"allocation {number}{' and all after' if stays else ''}")
    verdict(f"{' '.join(command.words)}: {len(numbers)} of {count} allocations refused, 71 or as before", wrong)


def limits(command, everything):
    """Less and less address space, from all that is needed to where the program no longer starts."""
    whole, _ = once(command)
    high, low = 400000, 4000
    while high - low > 500:  # what suffices
        middle = (high + low) // 2
        begin()
        if run(command.words, limit_kb=middle)[0] in command.fine:
            high = middle
        else:
            low = middle
    wrong, enough, short = [], 0, 0
    step = 500 if everything else 9000
    for limit in range(high + 8000, max(high - 45000, 4000), -step):
        begin()
        ended = run(command.words, limit_kb=limit)
        if ended[0] == 127 or "error while loading" in ended[2]:
            break
        enough += ended[0] in command.fine
        short += ended[0] == 71
        wrong += judge(command, whole, ended, f"{limit} KiB of address space")
    if not enough or not short:
        wrong.append("the limits do not part what suffices from what does not")
    verdict(f"{' '.join(command.words)}: under {enough + short} limits of memory, {short} times 71", wrong)


def main():
    everything = "--all" in sys.argv
    asked = [word for word in sys.argv[1:] if word != "--all"] or [""]
    make_studio(STUDIO)
    (STUDIO / "table.csv").write_text("variant,ring/size\na,6\nb,7.5\n", encoding="utf-8")
    for words in (["issue", "one.csv", "--out", "out", "--on", "2026-03-09"],
                  ["reprice", "--as-of", "2026-03-03", "--quiet"]):
        code, _, said = run(words)
        if code != 0:
            sys.exit(f"{' '.join(words)} ended with {code}: {said}")
    shutil.copytree(STUDIO, WORK / "beginning")
    for command in COMMANDS:
        if asked[0] not in ("", command.words[0]):
            continue
        starve(command, everything)
        if command.paper and not SLOW:  # a checked build reserves terabytes
            limits(command, everything)
    return failed()


sys.exit(main())

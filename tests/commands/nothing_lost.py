"""Nothing is lost and nothing is half written, wherever a run of the program is cut off.

    nothing_lost.py sweep [--all] [NAME]   at the n-th write, rename, flush, removal ... of each command
    nothing_lost.py moments [ROUNDS]       at random moments (SEED draws others)

Each command of COMMANDS is run once as it is, and every call by which it changes files is counted
(strace -y). Then it is run again and again from the same beginning, killed at the n-th of those
calls (SIGKILL), or the call is answered by an error, once or from then on. What must hold:

  the register opens and `--verify` passes; it holds what it held before or what the whole run
  gives, and the latter where the run said so; each file that shows is the old or the new one,
  whole; an error is a sentence and one of the exit codes of trouble, and it does not say that
  nothing was done where something was; the same command then succeeds, and nothing is left over.

A choice keeps `make check` short; with --all every call is tried. A new command is a new row.
"""
import hashlib
import os
import pathlib
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field

from studio import failed, make_studio, verdict

PROGRAM = os.path.abspath(os.environ["TALLYSTONE"])
SLOW = os.environ.get("MODE") == "asan"  # a checked build takes several times as long
WORK = pathlib.Path(tempfile.gettempdir())
STUDIO = WORK / "studio"
TROUBLE = {65, 66, 71, 73, 74, 75}
# what may be answered instead of a call, and which calls change something
ERRORS = {
    "pwrite64": ["ENOSPC", "EIO"], "write": ["ENOSPC", "EIO"], "fsync": ["EIO"], "fdatasync": ["EIO"],
    "openat": ["EROFS", "EMFILE", "EIO"], "rename": ["EIO", "EROFS"], "unlink": ["EIO", "EROFS"],
    "link": ["EPERM", "EIO"], "mkdir": ["EROFS", "ENOSPC"], "rmdir": ["EIO"], "fchmod": ["EPERM"],
    "ftruncate": ["EIO"],
}
ENVIRONMENT = dict(os.environ, TMPDIR=str(WORK / "tmp"), LC_ALL="C.UTF-8")
ENVIRONMENT["ASAN_OPTIONS"] = os.environ.get("ASAN_OPTIONS", "") + ":detect_leaks=0"  # not under strace


@dataclass
class Command:
    name: str
    words: list
    before: list = field(default_factory=list)  # of the studio: commands that make the beginning
    most: int = 12                              # of kills and of errors, in `make check`
    register: str = "tallystone.db"
    fine: set = field(default_factory=lambda: {0})
    again: str = ""                             # the quote whose papers come out later where a kill came between
    repeats: bool = True                        # done once more it gives the same, or is refused
    whole: bool = False                         # all files that show come and go together
    kept: str = ""                              # a register to begin with


ISSUE = ["issue", "one.csv", "--out", "out", "--on", "2026-03-09"]
HELD = [ISSUE, ["accept", "ONE", "--on", "2026-03-10"], ["paid", "ONE", "11", "--on", "2026-03-10"]]
MARCH = ["export", "--from", "2026-03-01", "--to", "2026-03-31", "--out", "books"]
NIGHT = ["reprice", "--out", "reports", "--as-of", "2026-03-05", "--quiet"]
COMMANDS = [
    Command("issue into a new register", ISSUE, most=5, again="ONE-r1"),
    Command("issue", ["issue", "two.csv", "--out", "out", "--on", "2026-03-09"], [ISSUE], 3, again="TWO-r1"),
    Command("revise", ["revise", "ONE", "one.csv", "--out", "out", "--on", "2026-03-12"], HELD, 3, again="ONE-r2",
            repeats=False),
    Command("paid", ["paid", "ONE", "1200", "--on", "2026-03-11"], HELD, 20),
    Command("reprice", NIGHT, [*HELD, ["issue", "two.csv", "--out", "out", "--on", "2026-03-05"],
                               [*NIGHT[:4], "2026-03-04"]], 10),
    Command("backup", ["register", "--backup", "safe/copy.db"],
            [ISSUE, ["register", "--backup", "safe/copy.db"], ["accept", "ONE", "--on", "2026-03-10"]], 8),
    Command("export", MARCH, HELD, 6, whole=True),
    Command("export --replace", [*MARCH, "--replace"], [*HELD[:2], MARCH, HELD[2]], 5, whole=True),
    Command("export --close", [*MARCH, "--close"], HELD, 6),
    Command("migration from version 1", ["paid", "KEPT-TWO", "7", "--on", "2026-11-24"], most=10,
            kept="tests/reference/registers/version-1.db"),
]

# ---- the studio ----


def new_studio():
    make_studio(STUDIO)
    (WORK / "tmp").mkdir(exist_ok=True)


def run(words, wrap=()):
    done = subprocess.run([*wrap, PROGRAM, *words, *([] if "--help" in words else ["--books", "pricebooks"])],
                          cwd=STUDIO, env=ENVIRONMENT, stdin=subprocess.DEVNULL, capture_output=True, text=True,
                          check=False)
    return done.returncode, done.stdout, done.stderr


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def is_hidden(path):
    return any(part.startswith(".") for part in path.relative_to(STUDIO).parts)


def is_kept_by_sqlite(path):
    return re.fullmatch(r"tallystone\.db(-journal)?", path.name) is not None


def files():
    """What shows in the studio, but the register: name -> digest."""
    found = [path for path in STUDIO.rglob("*") if path.is_file() and not is_hidden(path)]
    return {str(path.relative_to(STUDIO)): digest(path) for path in found
            if not is_kept_by_sqlite(path) and "pricebooks" not in path.parts}


def leftovers():
    return [str(path.relative_to(STUDIO)) for path in STUDIO.rglob("*")
            if is_hidden(path) or path.name in ("tallystone.db-journal", "copy.db-journal")]


def held(register="tallystone.db"):
    """How many rows each table has, and for which day reprice ran; None where there is no register."""
    path = STUDIO / register
    if not path.exists() or path.stat().st_size == 0:
        return None
    db = sqlite3.connect(path)
    try:
        tables = [row[0] for row in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")]
        counts = [(table, db.execute(f"SELECT count(*) FROM {table}").fetchone()[0]) for table in tables]
        return counts + db.execute("SELECT day FROM ran").fetchall() if tables else None
    finally:
        db.close()


def keep(folder):
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(STUDIO, folder)


def restore(folder):
    """Puts back what a run may change; the books and sheets stay."""
    for path in STUDIO.iterdir():
        if path.is_dir() and path.name != "pricebooks":
            shutil.rmtree(path)
        elif path.name.startswith("tallystone.db"):
            path.unlink()
    for path in folder.iterdir():
        if path.is_dir() and path.name != "pricebooks":
            shutil.copytree(path, STUDIO / path.name)
        elif is_kept_by_sqlite(path):
            shutil.copy2(path, STUDIO / path.name)


# ---- where a run can be cut off ----


def calls(command):
    """(call, number, what it is about) of each that changes a file, and how the run ended."""
    log = WORK / "calls"
    names = ",".join(ERRORS)
    ended = run(command.words, ["strace", "-f", "-y", "-s", "0", "-o", str(log), "-e", f"trace={names}"])
    seen, points = {}, []
    for line in log.read_text(encoding="utf-8", errors="replace").splitlines():
        call = re.match(r"\d+ +(\w+)\((.*)", line)
        if not call or call.group(1) not in ERRORS:
            continue
        name, about = call.groups()
        seen[name] = seen.get(name, 0) + 1
        here = str(WORK) in about or not re.search(r'"/|</', about) or (name == "write" and about[0] in "12")
        reads = name == "openat" and not re.search(r"O_CREAT|O_RDWR|O_WRONLY|O_DIRECTORY", about)
        if here and not reads:
            points.append((name, seen[name], about))
    return points, ended


def injected(command, what, kill):
    name = what.split(":")[0]
    quick = [] if kill else ["-f", "--seccomp-bpf"]  # with which strace 6.1 sends no signals
    return run(command.words, ["strace", *quick, "-o", "/dev/null", "-e", f"trace={name}", "-e", f"inject={what}"])


@dataclass
class Ends:
    before: list
    before_files: dict
    after: list
    after_files: dict


def judge_files(ends, now, wrong):
    for name in sorted(ends.before_files.keys() | ends.after_files.keys() | now.keys()):
        if now.get(name) not in (ends.before_files.get(name), ends.after_files.get(name)):
            wrong.append(f"{name} is neither the old file nor the new one")


def judge_words(command, ends, done, ended, mute, wrong):
    """After an error: an exit code and a sentence that is true."""
    code, _, said = ended
    if code not in TROUBLE:
        wrong.append(f"exit code {code}")
    if "Sanitizer" in said or "runtime error" in said:
        wrong.append("a sanitizer's find")
    if mute:
        return
    if not re.search(r"[a-z]{3} [a-z]", said):
        wrong.append("no sentence")
    if done and ends.after != ends.before and re.search(r"nothing was|not issued", said):
        wrong.append("it says that nothing was done, and it was")
    if done and command.again and not re.search("in the register|whether it was written", said):
        wrong.append("it does not say that the quote is in the register")


def judge(command, ends, ended, killed, mute):
    """What must hold after a run that was cut off; the sentences of what does not."""
    wrong = []
    code, out, said = ended
    shown = files()
    verify, _, why = run(["register", "--verify"])
    now = held()
    if verify != (66 if now is None else 0):
        wrong.append(f"--verify ends with {verify}: {why.strip()}")
    if now not in (ends.before, ends.after):
        wrong.append("the register holds neither the old nor the new state")
    done = now == ends.after
    if code in command.fine and (not done or shown != ends.after_files):
        wrong.append("it ended well, and is not done")
    if killed and command.again and command.again in out and not done:
        wrong.append("it said so, and it is not done")
    judge_files(ends, shown, wrong)
    if command.whole and shown not in (ends.before_files, ends.after_files):
        wrong.append("some files are the old ones and some the new")
    if command.again and not done and shown != ends.before_files:
        wrong.append("papers show of a quote that is not in the register")
    if not killed and code not in command.fine:
        judge_words(command, ends, done, ended, mute, wrong)
    return wrong + ([f"  it said: {said.strip()[:300]}"] if wrong else []), done


def judge_again(command, ends, done, what):
    """The same command once more: what was not done is done now, and nothing is left over; but for
    an empty folder that the system itself refused to remove, which the next run that writes there
    takes away."""
    wrong = []
    code, said = 0, ""
    if command.repeats or not done:
        code, _, said = run(command.words)
    if done and ends.after != ends.before:
        if code not in command.fine | {77}:
            wrong.append(f"the same again ends with {code}")
        if code == 77 and command.again and "--reproduce" not in said:
            wrong.append("the refusal does not say how the papers come out")
        if command.again:
            run(["register", "--reproduce", command.again, "--out", "out"])
    elif code not in command.fine:
        wrong.append(f"the same again ends with {code}: {said.strip()[:200]}")
    if held() != ends.after or files() != ends.after_files:
        wrong.append("the same again does not give the whole")
    left = [name for name in leftovers() if not what.startswith("rmdir") or any((STUDIO / name).iterdir())]
    if left:
        wrong.append(f"left over: {', '.join(left[:4])}")
    return wrong


def begin(command):
    """The folder of the beginning, the points, and both ends."""
    new_studio()
    if command.kept:
        shutil.copy(command.kept, STUDIO / "tallystone.db")
    for words in command.before:
        code, _, said = run(words)
        if code != 0:
            sys.exit(f"{' '.join(words)} ended with {code}: {said}")
    folder = WORK / "beginning"
    keep(folder)
    before, before_files = held(), files()
    points, ended = calls(command)
    run(["register", "--verify"])
    if ended[0] not in command.fine:
        sys.exit(f"{' '.join(command.words)} ended with {ended[0]}: {ended[2]}")
    return folder, points, Ends(before, before_files, held(), files())


def chosen(points, most):
    """That many: half of them spread over all, half over the calls that move, flush and remove; and
    those that write most at once, a picture's, of which a packer forgot the error."""
    def spread(among, count):
        return among if len(among) <= count else [among[i * len(among) // count] for i in range(count)]
    rare = [point for point in points if point[0] not in ("write", "pwrite64", "openat")]
    def size(point):
        asked = re.search(r"xlsx>.*, (\d+)\b.*=", point[2])
        return int(asked.group(1)) if asked and point[0] == "write" else 0
    large = [point for point in sorted(points, key=size)[-2:] if size(point) > 0]
    some = spread(points, (most + 1) // 2) + spread(rare, most // 2) + points[-1:] + large
    return [point for point in points if point in some]


def trials(points, most):
    """(injection, is a kill, mute, what it is about). `most` None: all, with each error."""
    for name, number, about in points if most is None else chosen(points, most):
        yield f"{name}:signal=SIGKILL:when={number}", True, False, about
    for i, (name, number, about) in enumerate(points if most is None else chosen(points[1:], most)):
        for k, error in enumerate(ERRORS[name]):
            stays = (i + k) % 2 == 1
            mute = name == "write" and (stays or about[0] in "12")  # the sentence itself cannot be written
            if most is None or i % len(ERRORS[name]) == k:
                yield f"{name}:error={error}:when={number}{'+' if stays else ''}", False, mute, about


def sweep(command, everything):
    folder, points, ends = begin(command)
    found = {True: [], False: []}
    counts = {True: 0, False: 0}
    most = None if everything else max(command.most // (4 if SLOW else 1), 2)
    for i, (what, kill, mute, about) in enumerate(trials(points, most)):
        restore(folder)
        ended = injected(command, what, kill)
        killed = ended[0] in (-9, 137)
        wrong, done = judge(command, ends, ended, killed, mute)
        if everything or i % 3 == 0 or done or wrong:
            wrong += judge_again(command, ends, done, what)
        counts[kill] += 1
        if kill and not killed:
            wrong.append("it was not killed")
        if wrong:
            found[kill] += [f"{what} ({about[:110]}):", *wrong]
    verdict(f"{command.name}: killed at {counts[True]} of {len(points)} calls, the old or the new", found[True])
    verdict(f"{command.name}: {counts[False]} calls failed, a sentence each and the old or the new", found[False])
    if len(points) < 20:
        verdict(f"{command.name}: the sweep has points", [f"{len(points)} calls seen"])


# ---- random moments ----


def moment_rows():
    """Name, words for round n, how often, and whether it makes an event."""
    return [
        ("paid", lambda n: ["paid", "ONE", f"{n + 20}.5", "--on", "2026-03-11"], 10, True),
        ("reprice", lambda n: ["reprice", "--out", "reports", "--as-of", f"2026-03-{3 + n % 7:02}", "--quiet"], 5, False),
        ("backup", lambda n: ["register", "--backup", "safe/copy.db"], 3, False),
        ("export", lambda n: [*MARCH, "--replace"], 2, False),
        ("issue", lambda n: ["issue", "fresh.csv", "--out", "out", "--on", "2026-03-09"], 1, True),
        ("revise", lambda n: ["revise", "ONE", "one.csv", "--out", "out", "--on", "2026-03-12"], 1, True),
    ]


def cut_off(words, after):
    child = subprocess.Popen([PROGRAM, *words, "--books", "pricebooks"], cwd=STUDIO, env=ENVIRONMENT,
                             stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    time.sleep(after)
    child.kill()
    out, said = child.communicate()
    return child.returncode, out, said


def events():
    db = sqlite3.connect(STUDIO / "tallystone.db")
    try:
        return db.execute("SELECT count(*) FROM event").fetchone()[0]
    finally:
        db.close()


def lasts(words):
    began = time.monotonic()
    code, _, said = run(words)
    if code != 0:
        sys.exit(f"{' '.join(words)} ended with {code}: {said}")
    return time.monotonic() - began


def papers_alone():
    """Papers whose quote is not in the register."""
    db = sqlite3.connect(STUDIO / "tallystone.db")
    try:
        known = {f"{reference}-r{revision}" for reference, revision in
                 db.execute("SELECT reference, revision FROM quote")}
    finally:
        db.close()
    shown = [path.name for path in (STUDIO / "out").rglob("*.xlsx") if not is_hidden(path)]
    return [name for name in shown if re.sub(r"-(quote|margin)\.xlsx$", "", name) not in known]


def moments(rounds):
    seed = int(os.environ.get("SEED", "20260309"))
    draw = random.Random(seed)
    new_studio()
    for words in [*HELD, ["issue", "two.csv", "--out", "out", "--on", "2026-03-05"]]:
        run(words)
    text = (STUDIO / "one.csv").read_text(encoding="utf-8")
    rows = [row for row in moment_rows() for _ in range(row[2])]
    (STUDIO / "fresh.csv").write_text(text.replace("ONE", "FRESH-0"), encoding="utf-8")
    takes = {name: lasts(words(0)) for name, words, _, _ in moment_rows()}
    wrong, killed, said_done = [], 0, 0
    for n in range(1, rounds + 1):
        name, words, _, makes_event = draw.choice(rows)
        (STUDIO / "fresh.csv").write_text(text.replace("ONE", f"FRESH-{n}"), encoding="utf-8")
        before = events()
        code, out, said = cut_off(words(n), draw.uniform(0, 1.15 * takes[name]))
        verify, _, why = run(["register", "--verify"])
        made = events() - before
        killed += code == -9
        told = bool(out) and makes_event
        said_done += told
        if verify != 0 or made not in (0, 1) or (told and made != 1) or (not makes_event and made != 0):
            wrong.append(f"round {n}: {name}, ended with {code}, said {out!r}, {made} events, verify {verify} {why}")
        if code not in (-9, 0):
            wrong.append(f"round {n}: {name} ended with {code}: {said}")
        if papers_alone():
            wrong.append(f"round {n}: {name}: papers without a quote: {papers_alone()}")
    verdict(f"{rounds} rounds cut off at random moments (seed {seed}): {killed} killed, {said_done} had said so", wrong)
    verdict("most of them were killed, and not all", [] if rounds / 3 < killed < rounds else [f"{killed} of {rounds}"])
    for name, words, _, _ in moment_rows():
        code, _, said = run(words(rounds + 1) if name != "issue" else
                            ["issue", "fresh.csv", "--out", "out", "--on", "2026-03-09"])
        verdict(f"after all that: {name}", [] if code in (0, 77) else [f"ended with {code}: {said}"])
    verdict("nothing is left over", leftovers())


def main():
    names = [word for word in sys.argv[2:] if word != "--all"]
    if sys.argv[1:2] == ["sweep"] and set(names) <= {command.name for command in COMMANDS}:
        for command in COMMANDS:
            if not names or command.name in names:
                sweep(command, "--all" in sys.argv)
    elif sys.argv[1:2] == ["moments"]:
        moments(int(sys.argv[2]) if len(sys.argv) > 2 else 40 if SLOW else 200)
    else:
        sys.exit(__doc__)
    return failed()


sys.exit(main())

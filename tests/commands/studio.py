"""What the two scripts share that do harm to a run: a studio of two sheets, and a verdict."""
import pathlib
import re
import shutil

failures = 0


def verdict(name, wrong):
    """`ok NAME`, or `not ok NAME` and the first sentences of what is wrong."""
    global failures
    print(f"{'not ok' if wrong else 'ok'} {name}", flush=True)
    for line in wrong[:12]:
        print(f"  {line}")
    failures += bool(wrong)


def failed():
    return failures > 0


def make_studio(folder):
    """The price books, and one.csv and two.csv: a demo ring without options, dated in March 2026."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree("pricebooks", folder / "pricebooks")
    text = pathlib.Path("demo/eternity.csv").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^(commission,date),[^,]*", r"\1,2026-03-02", text)
    text = re.sub(r"(?m)^(commission,deliver by),[^,]*", r"\1,2026-06-12", text)
    text = re.sub(r"(?m)^option.*\n", "", text)
    for name in ("one", "two"):
        (folder / f"{name}.csv").write_text(text.replace("DEMO-ETERNITY", name.upper()), encoding="utf-8")

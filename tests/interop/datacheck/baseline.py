#!/usr/bin/env python3
"""A baseline through its life: written, used, moved, changed, pruned.

Holds the promises of docs/data-check.md against the files and exit statuses of real runs: what is hidden and what never is, that
a baseline does not depend on the order of the inputs or of the orders in them, and that nothing in it is a value, a place, a patient or
an order's number.

usage: baseline.py PROGRAM SOURCE_FOLDER
"""
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path


class Work:
    """The demo's orders in a folder of their own."""

    def __init__(self, program, source, folder):
        self.program, self.folder = program, Path(folder)
        self.environment = dict(os.environ, MENISCUS_RULES=str(source / "rules"), TZ="UTC")
        for name in ("orders.ndjson", "orders.csv"):
            shutil.copy(source / "tests/fixtures/demo" / name, self.folder)
        self.wrong = []

    def run(self, *words):
        done = subprocess.run([self.program, *words, "--as-of", "2026-03-02"], cwd=self.folder, env=self.environment,
                              capture_output=True, text=True, timeout=120, check=False)
        return done.returncode, done.stdout, done.stderr

    def lines(self, *words):
        """The findings that are shown, without what is not assessed or outside."""
        status, out, err = self.run("check", *words, "--to", "lines")
        kept = [line for line in out.splitlines() if not line.endswith(("[not-assessed]", "[outside]"))]
        return status, kept, err

    def expect(self, what, holds):
        if not holds:
            self.wrong.append(what)

    def text(self, name="known.jsonl"):
        return (self.folder / name).read_text(encoding="utf-8")


def written(work):
    names = ["orders.ndjson", "orders.csv"]
    before = work.lines(*names)
    first = work.lines(*names, "--write-baseline", "known.jsonl")
    entries = [json.loads(line) for line in work.text().splitlines()]
    work.expect("some findings are written", len(entries) > 5)
    work.expect("no hold is written", all(entry["grade"] != "hold" for entry in entries))
    work.expect("the holds are counted", "not written: a hold is never in a baseline" in first[2])
    work.expect("there are holds", any(": hold: " in line for line in before[1]))
    work.expect("what is left are holds and what could not be checked",
                first[1] and all(": hold: " in line or ": incomplete: " in line for line in first[1]))
    work.expect("lines are sorted", work.text().splitlines() == sorted(work.text().splitlines()))
    keys = {key for entry in entries for key in entry}
    work.expect(f"no key but those of a fingerprint, and the grade: {keys}", keys <= {"file", "rule", "clause", "without", "fields", "order", "grade"})
    for secret in ("A-10", "SM-00", "0.5 mL"):
        work.expect(f"there is no `{secret}` in it", secret not in work.text())
    work.run("check", *reversed(names), "--write-baseline", "other.jsonl", "--to", "lines")
    work.expect("the order of the inputs does not matter", work.text() == work.text("other.jsonl"))
    second = work.lines(*names, "--baseline", "known.jsonl")
    work.expect("the next run shows the same", second[:2] == first[:2])
    hidden = len(before[1]) - len(second[1])
    work.expect("the number of hidden findings is said", f"{hidden} findings of " in second[2])
    return second


def moved(work, before):
    """Orders on other lines keep their fingerprints: nothing that was hidden is shown."""
    lines = work.text("orders.ndjson").splitlines()
    (work.folder / "orders.ndjson").write_text("\n\n" + "\n".join(reversed(lines)) + "\n", encoding="utf-8")
    work.run("check", "orders.ndjson", "orders.csv", "--write-baseline", "moved.jsonl", "--to", "lines")
    # History is what stands earlier, so rules that look back may differ; all others must be the same.
    look_back = ("interval", "weekly-dose", "duplicate", "site-rest")
    same = [[line for line in work.text(name).splitlines() if not any(rule in line for rule in look_back)]
            for name in ("known.jsonl", "moved.jsonl")]
    work.expect("a moved order keeps its fingerprints", same[0] == same[1])
    (work.folder / "orders.ndjson").write_text("\n".join(lines) + "\n", encoding="utf-8")
    work.expect("back in place the same is shown",
                work.lines("orders.ndjson", "orders.csv", "--baseline", "known.jsonl")[:2] == before[:2])


def not_hidden(work):
    """A finding that is graver than its line, a hold added by hand, a new order."""
    lines = work.text().splitlines()
    gentler = [line.replace('"grade":"clarify"', '"grade":"note"') for line in lines]
    (work.folder / "gentler.jsonl").write_text("\n".join(gentler) + "\n", encoding="utf-8")
    shown = work.lines("orders.ndjson", "orders.csv", "--baseline", "gentler.jsonl")[1]
    work.expect("what became graver is shown", any(": clarify: " in line for line in shown))
    by_hand = [line.replace('"grade":"clarify"', '"grade":"hold"') for line in lines]
    (work.folder / "by_hand.jsonl").write_text("\n".join(by_hand) + "\n", encoding="utf-8")
    _, shown, err = work.lines("orders.ndjson", "orders.csv", "--baseline", "by_hand.jsonl")
    work.expect("holds are not hidden", any(": hold: " in line for line in shown))
    work.expect("holds that were added are said", "passed over: a hold is never hidden" in err)
    status, shown, _ = work.lines("orders.ndjson", "orders.csv", "missing.csv", "--write-baseline", "half.jsonl")
    work.expect("a baseline of half the inputs is not written", status == 2 and not (work.folder / "half.jsonl").exists())


def in_a_subfolder(work):
    """A baseline that meniscus.json names knows inputs from that file's folder: another file of the same name is not hidden."""
    deep = work.folder / "sub" / "deep"
    deep.mkdir(parents=True)
    (work.folder / "meniscus.json").write_text('{"baseline": "known.jsonl", "to": "lines"}\n', encoding="utf-8")
    shutil.copy(work.folder / "orders.ndjson", deep)
    above = work.lines("orders.ndjson")
    own, work.folder = work.folder, deep
    same_name = work.lines("orders.ndjson")
    back = work.lines("../../orders.ndjson")
    work.folder = own
    (work.folder / "meniscus.json").unlink()
    bare = work.lines("orders.ndjson")
    work.expect("meniscus.json is used", len(above[1]) < len(bare[1]))
    work.expect("another file of that name is not hidden", same_name[1] == bare[1])
    work.expect("the same file is, from wherever", len(back[1]) == len(above[1]))


def pruned(work):
    whole = work.text()
    status, out, _ = work.run("baseline", "prune", "known.jsonl", "--on", "orders.ndjson", "orders.csv")
    work.expect("pruning keeps what still occurs", status == 0 and work.text() == whole and " 0 gone, " in out)
    lines = work.text("orders.csv").splitlines()
    (work.folder / "orders.csv").write_text(lines[0] + "\n" + lines[1] + "\n", encoding="utf-8")
    status, out, _ = work.run("baseline", "prune", "known.jsonl", "--on", "orders.ndjson")
    work.expect("pruning keeps entries of inputs that were not named", status == 0 and work.text() == whole)
    status, out, _ = work.run("baseline", "prune", "known.jsonl", "--on", "orders.csv")
    left = work.text().splitlines()
    work.expect("pruning takes what is gone", status == 0 and 0 < len(left) < len(whole.splitlines()))
    work.expect("pruning keeps other inputs' entries", [line for line in whole.splitlines() if "orders.ndjson" in line]
                == [line for line in left if "orders.ndjson" in line])
    (work.folder / "orders.csv").write_text("no,head\n1\n", encoding="utf-8")
    status, _, err = work.run("baseline", "prune", "known.jsonl", "--on", "orders.csv")
    work.expect("pruning by unreadable orders changes nothing",
                status == 2 and "stays as it is" in err and work.text().splitlines() == left)


def main():
    program, source = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    with tempfile.TemporaryDirectory(prefix="meniscus-baseline-") as folder:
        work = Work(program, source, folder)
        before = written(work)
        moved(work, before)
        not_hidden(work)
        in_a_subfolder(work)
        pruned(work)
    print("\n".join("NOT SO: " + what for what in work.wrong) if work.wrong else "the baseline keeps its promises")
    return 1 if work.wrong else 0


if __name__ == "__main__":
    sys.exit(main())

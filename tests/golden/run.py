#!/usr/bin/env python3
"""Runs one golden case and compares what the program said with what is kept beside it.

A case is a folder:
  args            the words of the command line, as a shell would split them
  prepare         optional shell script, run first in the case's working folder (files too large to keep)
  stdin           optional; without it, standard input is empty
  expected.txt    standard output, then a line `exit STATUS`
  expected.err    standard error; missing means that there is none
Every other file is an input. The program runs in a copy of the folder, with the rules of tests/golden/rules.

usage: run.py PROGRAM CASE         MENISCUS_UPDATE_GOLDEN=1 writes the expected files instead of comparing
Hashes of rules and the program's version are shown as sha256:HASH and VERSION, times of answers as TIME,
the folder of the rules as RULES.
"""
import difflib
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

KEPT = {"args", "prepare", "expected.txt", "expected.err"}


def settled(text):
    text = text.replace("\r", "\n")  # HL7 segments, one a line
    text = re.sub(r"sha256:[0-9a-f]{64}", "sha256:HASH", text)
    text = re.sub(r"\|\d{14}[+-]\d{4}\|", "|TIME|", text)  # of an acknowledgement
    text = re.sub(r"\|\d{14}-(\d+)\|", r"|TIME-\1|", text)  # its number
    text = text.replace(str(Path(__file__).parent / "rules"), "RULES")
    text = re.sub(r'"semanticVersion":"\d+\.\d+\.\d+"', '"semanticVersion":"VERSION"', text)
    return re.sub(r"^meniscus \d+\.\d+\.\d+$", "meniscus VERSION", text, flags=re.MULTILINE)


def run(program, case):
    with tempfile.TemporaryDirectory(prefix="meniscus-golden-") as folder:
        work = Path(folder)
        for entry in case.iterdir():
            if entry.name not in KEPT:
                (shutil.copytree if entry.is_dir() else shutil.copy)(entry, work / entry.name)
        if (case / "prepare").exists():
            subprocess.run(["bash", "-eu", case / "prepare"], cwd=work, check=True)
        stdin = work / "stdin"
        environment = dict(os.environ, MENISCUS_RULES=str(Path(__file__).parent / "rules"), TZ="UTC")
        done = subprocess.run([program, *shlex.split((case / "args").read_text())], cwd=work, env=environment,
                              input=stdin.read_bytes() if stdin.exists() else b"", capture_output=True,
                              timeout=120, check=False)
    out = settled(done.stdout.decode("utf-8")) + f"exit {done.returncode}\n"
    return out, settled(done.stderr.decode("utf-8"))


def compare(path, got):
    """The difference from what is kept, or nothing."""
    kept = path.read_text(encoding="utf-8") if path.exists() else ""
    if kept == got:
        return ""
    lines = difflib.unified_diff(kept.splitlines(), got.splitlines(), str(path), "now", lineterm="")
    return "\n".join(lines) + "\n"


def keep(path, got):
    if got:
        path.write_text(got, encoding="utf-8")
    elif path.exists():
        path.unlink()


def main():
    program, case = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    out, err = run(program, case)
    if os.environ.get("MENISCUS_UPDATE_GOLDEN") == "1":
        keep(case / "expected.txt", out)
        keep(case / "expected.err", err)
        return 0
    if not (case / "expected.txt").exists():
        print(f"{case}: expected.txt is missing; ./dev golden writes it")
        return 1
    difference = compare(case / "expected.txt", out) + compare(case / "expected.err", err)
    print(difference, end="")
    return 1 if difference else 0


if __name__ == "__main__":
    sys.exit(main())

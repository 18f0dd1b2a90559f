#!/usr/bin/env python3
"""Typical mistakes of people who write rules, and every word that they are told about each.

mistakes/NAME.rule is a rule file with one mistake; mistakes/NAME.txt is what `meniscus rules lint` says about
it. The first line of each must be in words that a nurse knows.

usage: mistakes.py PROGRAM         MENISCUS_UPDATE_GOLDEN=1 writes the *.txt instead of comparing
"""
import difflib
import os
import re
import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).parent / "mistakes"
LEAST = 60
# Words of those who make languages, and of their tools.
STRANGE = re.compile(r"\b(token|EOF|NAME|STRING|expecting|unexpected|syntax|parser?|lexer|identifier|literal|operator|"
                     r"operand|expression|null|invalid)\b")


def said(program, rule):
    environment = dict(os.environ, MENISCUS_RULES="", TZ="UTC")
    done = subprocess.run([program, "rules", "lint", "--only-rules", rule.name], cwd=FOLDER, env=environment,
                          capture_output=True, text=True, timeout=60, check=False)
    return done.stdout + done.stderr + f"exit {done.returncode}\n"


def problems(rule, got):
    kept_file = rule.with_suffix(".txt")
    kept = kept_file.read_text(encoding="utf-8") if kept_file.exists() else ""
    if kept != got:
        yield from difflib.unified_diff(kept.splitlines(), got.splitlines(), str(kept_file), "now", lineterm="")
    first = got.splitlines()[0]
    if not re.match(re.escape(rule.name) + r":\d+:\d+: error\[R\d{4}\]: ", first):
        yield f"{rule.name}: no mistake is found: {first}"
    said_words = re.sub(r"`[^`]*`", "", first.split("]: ", 1)[-1])
    if strange := STRANGE.search(said_words):
        yield f"{rule.name}: `{strange.group()}` is no word for a nurse: {first}"


def main():
    program = Path(sys.argv[1]).resolve()
    rules = sorted(FOLDER.glob("*.rule"))
    found = [] if len(rules) >= LEAST else [f"{len(rules)} mistakes; there are to be at least {LEAST}"]
    for rule in rules:
        got = said(program, rule)
        if os.environ.get("MENISCUS_UPDATE_GOLDEN") == "1":
            rule.with_suffix(".txt").write_text(got, encoding="utf-8")
        found += problems(rule, got)
    for text in found:
        print(text)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

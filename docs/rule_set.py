#!/usr/bin/env python3
"""Writes the generated part of docs/rule-set.md: what `meniscus rules page` says of the shipped rules.

usage: rule_set.py ROOT MENISCUS [--check]

The part stands between the two marks; what is before and after them is written by hand.  --check writes nothing; exit
status 1 when the page is not as it would be written, or when docs/alert-burden.md lacks a rule or has one too many.
"""
import os
import re
import subprocess
import sys
from pathlib import Path

BEGIN = "<!-- from here on made by ./dev docs -->\n"
END = "<!-- up to here -->\n"
BURDEN_ROW = re.compile(r"^\| `([a-z0-9-]+)` \|", re.MULTILINE)
BUILT_IN = {"doubtful-value", "unreadable", "internal"}


def meniscus(root, program, *arguments):
    environment = {**os.environ, "MENISCUS_RULES": str(root / "rules")}
    return subprocess.run([program, "rules", *arguments], check=True, capture_output=True, encoding="utf-8",
                          env=environment).stdout


def page_with(page, generated):
    head, begin, rest = page.partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not begin or not end:
        raise SystemExit("docs/rule-set.md lacks its marks")
    return head + begin + "\n" + generated + "\n" + end + tail


def burden_complaints(root, generated):
    path = root / "docs/alert-burden.md"
    if not path.exists():
        yield "docs/alert-burden.md is not there; run ./dev burden"
        return
    text = path.read_text(encoding="utf-8")
    measured = set(BURDEN_ROW.findall(text)) - BUILT_IN
    rules = set(re.findall(r"^\| \[([a-z0-9-]+)\]\(#", generated, re.MULTILINE))
    for rule in sorted(measured ^ rules):
        yield f"docs/alert-burden.md and the rules differ in `{rule}`; run ./dev burden"


def main():
    root, program = Path(sys.argv[1]).resolve(), sys.argv[2]
    path = root / "docs/rule-set.md"
    page = path.read_text(encoding="utf-8")
    generated = meniscus(root, program, "page")
    written = page_with(page, generated)
    if "--check" not in sys.argv:
        if written != page:
            path.write_text(written, encoding="utf-8")
        return 0
    complaints = list(burden_complaints(root, generated))
    if written != page:
        complaints.append("docs/rule-set.md is not what the rules say; run ./dev docs")
    for complaint in complaints:
        print(complaint)
    return 1 if complaints else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""The example of each code's page brings about that code and no other, and its mended version does not.

usage: code_pages.py PROGRAM ROOT
"""
import re
import subprocess
import sys
import tempfile
from pathlib import Path

DAY = "2026-11-25"
# What cannot come alone: that there are more mistakes than are shown.
BESIDE = {"R0120": {"R0106"}}
SAID = re.compile(r"^\S+?:\d+:\d+: (error|warning|note)\[(\w\d{4})\]", re.MULTILINE)


def run(program, *arguments):
    return subprocess.run([program, "rules", *arguments], capture_output=True, encoding="utf-8", errors="replace", timeout=60, check=False,
                          env={"MENISCUS_RULES": "", "TZ": "UTC", "NO_COLOR": "1"})


def said(program, code_pages, page, example):
    """(severity, code) of all that is reported of an example."""
    with tempfile.TemporaryDirectory() as folder:
        for name, content in code_pages.files_of(example).items():
            (Path(folder) / name).write_bytes(content)
        command = ("test", "--only-rules", "--rules", folder) if page.code.startswith("C") else ("lint", "--only-rules")
        done = run(program, *command, folder, "--rules-as-of", DAY)
        return set(SAID.findall(done.stdout + done.stderr))


def problems(program, code_pages, page):
    wrong = said(program, code_pages, page, page.wrong)
    codes = {code for _, code in wrong} - BESIDE.get(page.code, set())
    if codes != {page.code}:
        yield f"{page.code}: its example gives {sorted(codes)}"
    if (page.severity.lower(), page.code) not in wrong:
        yield f"{page.code}: its example gives no {page.severity}: {sorted(wrong)}"
    right = said(program, code_pages, page, page.right)
    kept = {code for severity, code in right if severity == "error" or code == page.code or page.severity != "Error"}
    if kept:
        yield f"{page.code}: mended it still gives {sorted(kept)}"
    shown = run(program, "explain-code", page.code.lower())
    lines = {line.strip() for line in shown.stdout.splitlines()}
    for line in (page.wrong + "\n" + page.right).splitlines():
        if line.strip() not in lines:
            yield f"{page.code}: explain-code does not show `{line}`"


def main():
    program, root = Path(sys.argv[1]).resolve(), Path(sys.argv[2])
    sys.path.insert(0, str(root / "docs"))
    import code_pages  # pylint: disable=import-outside-toplevel
    pages = code_pages.read_pages(root)
    listed = run(program, "explain-code").stdout.split()
    found = [f"{page.code}: explain-code does not list it" for page in pages if page.code not in listed]
    for page in pages:
        found += problems(program, code_pages, page)
    for text in found:
        print(text)
    print(f"{len(pages)} codes")
    return 1 if found or len(pages) < 100 else 0


if __name__ == "__main__":
    sys.exit(main())

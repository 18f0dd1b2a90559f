#!/usr/bin/env python3
"""Every rule text of docs/rule-language.md is read by the program, beside the shipped rules, without an error.

A block is read as it stands, in a rule of its own where it begins with a part of one.  What it declares takes the place of
what is shipped under that name. A block with NAME in it is a form and no example.

usage: language_examples.py PROGRAM ROOT
"""
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

DAY = "2026-11-25"
LEAST = 8
DECLARED = re.compile(r"^(setting|table|define|rule|trial rule) (\S+)", re.MULTILINE)
CHANGED = re.compile(r"^(adjust|regrade|mute|retire|extend table) ", re.MULTILINE)
ERROR = re.compile(r"^\S+?:\d+:\d+: error\[.*$", re.MULTILINE)


def blocks(text):
    """(line, text) of the indented blocks."""
    found, lines, start = [], [], 0
    for number, line in enumerate([*text.splitlines(), "end"], 1):
        if line.startswith("    ") or (not line and lines):
            start = start if lines else number
            lines.append(line[4:])
        elif lines:
            found.append((start, "\n".join(lines).rstrip()))
            lines = []
    return found


def without(text, kind, name):
    """A rule file without one of its items."""
    item = re.compile(rf"^{kind} {re.escape(name)}\b.*\n(?:[ \t]+.*\n)*", re.MULTILINE)
    return item.sub("", text)


def prepare(root, folder, block):
    """The shipped rules in `folder`/rules, without what the block declares itself; of those changed all stay."""
    shutil.copytree(root / "rules", folder / "rules")
    declared = DECLARED.findall(block)
    for path in sorted((folder / "rules").rglob("*.rule")):
        text = path.read_text(encoding="utf-8")
        for kind, name in declared:
            text = without(text, kind.split()[-1], name)
        names = {name for kind, name in declared if kind.endswith("rule")}
        if any(re.search(rf"\bfrom {re.escape(name)}$", text, re.MULTILINE) for name in names):
            text = re.sub(r"^example [\s\S]*", "", text, flags=re.MULTILINE)
        path.write_text(text, encoding="utf-8")
    shutil.copy(root / "rules/substances.csv", folder / "substances.csv")
    head = (root / "rules/substances.csv").read_text(encoding="utf-8").splitlines()[0]
    row = "our-own" + "," * head.count(",")
    (folder / "our-products.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")


def errors(program, root, code_pages, block):
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        prepare(root, folder, block)
        whole = DECLARED.match(block) or CHANGED.match(block) or block.startswith("example")
        text = block if whole else code_pages.in_a_rule(block)
        (folder / "block.rule").write_text(text + "\n", encoding="utf-8")
        done = subprocess.run([program, "rules", "lint", "block.rule", "--rules-as-of", DAY], cwd=folder, text=True,
                              capture_output=True, timeout=60, check=False,
                              env={"MENISCUS_RULES": str(folder / "rules"), "TZ": "UTC"})
        found = ERROR.findall(done.stdout)
        return found or ([] if done.returncode == 0 else [done.stdout + done.stderr])


def main():
    program, root = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    sys.path.insert(0, str(root / "docs"))
    import code_pages  # pylint: disable=import-outside-toplevel
    page = root / "docs/rule-language.md"
    ran, found = 0, []
    for line, block in blocks(page.read_text(encoding="utf-8")):
        if re.search(r"\bNAME\b", block):
            continue
        ran += 1
        found += [f"{page}:{line}: {error}" for error in errors(program, root, code_pages, block)]
    for text in found:
        print(text)
    print(f"{ran} examples")
    return 1 if found or ran < LEAST else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""The house rules that a machine can check.

  top level     nothing but the entries of TOP and dotfiles
  budgets       no source over 800 lines; the median at most 150; no line over 100 columns, but for long texts
  contracts     every source begins with a comment
  words         no open ends, no tabs or trailing blanks in sources, no long dashes in texts
  diagnostics   every code of grammar/diagnostics.def has its heading in docs/diagnostics.md, and the other way round
  links         every relative link and every #anchor of a document leads somewhere
  schemas       every JSON file in docs/schemas parses and says what it is

usage: check_house.py ROOT     exit status 1: it names what is wrong, one a line
"""
import json
import re
import statistics
import subprocess
import sys
from pathlib import Path

TOP = {"CMakeLists.txt", "CMakePresets.json", "README.md", "DEVELOPERS.md", "LICENSE", "dev",
       "grammar", "engine", "rules", "adapters", "tests", "docs"}
SOURCE = {".cpp", ".hpp", ".h", ".def", ".g4", ".py"}
FIXED_WIDTH = {".cpp", ".hpp", ".h"}
TEXT = SOURCE | {".md", ".rule", ".txt", ".cmake", ".in"}
MAX_LINES, MAX_MEDIAN, MAX_WIDTH = 800, 150, 100
OPEN_ENDS = re.compile(r"\b(" + "TO" + r"DO|FIX" + r"ME|XX" + r"X|HA" + r"CK)\b")
LONG_DASH = re.compile("[\u2013\u2014]")
LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")
CODE = re.compile(r"\b([RFC]\d{4})\b")


def tracked(root):
    """Files that are, or would be, in the repository; every file where there is no git."""
    result = subprocess.run(["git", "-C", str(root), "ls-files", "-co", "--exclude-standard"],
                            capture_output=True, text=True, check=False)
    if result.returncode == 0 and result.stdout:
        names = result.stdout.splitlines()
    else:
        names = [str(p.relative_to(root)) for p in root.rglob("*") if ".git" not in p.parts]
    return [Path(name) for name in sorted(names) if (root / name).is_file()]


def check_top(files):
    for name in sorted({file.parts[0] for file in files}):
        if name not in TOP and not name.startswith("."):
            yield f"{name}: not an entry of the top level"


def is_data(file):
    """Fixtures, golden files and corpora are inputs: the house rules are not for them."""
    return bool({"fixtures", "golden", "corpus"} & set(file.parts))


def check_budgets(root, files):
    lengths = []
    for file in files:
        if file.suffix not in SOURCE or is_data(file):
            continue
        lines = (root / file).read_text(encoding="utf-8").splitlines()
        lengths.append(len(lines))
        if len(lines) > MAX_LINES:
            yield f"{file}: {len(lines)} lines; {MAX_LINES} is the most"
        if file.suffix in FIXED_WIDTH:
            yield from check_widths(file, lines)
    if lengths and statistics.median(lengths) > MAX_MEDIAN:
        yield f"the median source has {statistics.median(lengths)} lines; {MAX_MEDIAN} is the most"


def check_widths(file, lines):
    raw = False  # inside a raw string, whose lines are as long as their text is
    for number, line in enumerate(lines, 1):
        if len(line) > MAX_WIDTH and not raw and '"' not in line and "NOLINT" not in line:
            yield f"{file}:{number}: {len(line)} columns; {MAX_WIDTH} is the most"
        if 'R"' in line:
            raw = True
        if raw and re.search(r'\)\w*"', line):
            raw = False


def check_contracts(root, files):
    for file in files:
        if file.suffix in {".cpp", ".hpp", ".h", ".def", ".g4"} and not is_data(file):
            if not (root / file).read_text(encoding="utf-8").lstrip().startswith(("//", "/*")):
                yield f"{file}:1: begins without saying what it is for"


def check_words(root, files):
    for file in files:
        if file.suffix not in TEXT or is_data(file):
            continue
        for number, line in enumerate((root / file).read_text(encoding="utf-8").splitlines(), 1):
            if OPEN_ENDS.search(line):
                yield f"{file}:{number}: an open end"
            if file.suffix in {".md", ".rule"} and LONG_DASH.search(line):
                yield f"{file}:{number}: a long dash; write a comma, a colon or a full stop"
            if file.suffix in SOURCE and (line.rstrip() != line or "\t" in line):
                yield f"{file}:{number}: a tab or trailing blanks"


def check_diagnostics(root):
    table, page = root / "grammar/diagnostics.def", root / "docs/diagnostics.md"
    if not table.exists():
        return
    if not page.exists():
        yield "docs/diagnostics.md: missing"
        return
    rows = [line for line in table.read_text(encoding="utf-8").splitlines() if not line.startswith("//")]
    codes = {code for line in rows for code in CODE.findall(line)[:1]}
    headings = [line for line in page.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    described = {code for line in headings for code in CODE.findall(line)}
    for code in sorted(codes - described):
        yield f"docs/diagnostics.md: no section on {code}"
    for code in sorted(described - codes):
        yield f"docs/diagnostics.md: {code} is not in grammar/diagnostics.def"


def anchor(heading):
    """The anchor that a heading gets on common renderers."""
    text = re.sub(r"[`*]", "", heading.lstrip("#").strip()).lower()
    return re.sub(r"[^\w\- ]", "", text).replace(" ", "-")


def prose(text):
    """A document without its code blocks and code spans."""
    return re.sub(r"`[^`\n]*`", "", re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE))


def anchors_of(path):
    text = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    return {anchor(line) for line in text.splitlines() if line.startswith("#")}


def check_links(root, files):
    for file in files:
        if file.suffix != ".md" or is_data(file):
            continue
        for target in LINK.findall(prose((root / file).read_text(encoding="utf-8"))):
            if re.match(r"[a-z]+:", target):
                continue
            name, _, fragment = target.partition("#")
            path = (root / file).parent / name if name else root / file
            if not path.exists():
                yield f"{file}: the link `{target}` leads nowhere"
            elif fragment and path.suffix == ".md" and fragment not in anchors_of(path):
                yield f"{file}: no heading for `{target}`"


def check_schemas(root, files):
    for file in files:
        if file.parts[:2] != ("docs", "schemas") or file.suffix != ".json":
            continue
        try:
            schema = json.loads((root / file).read_text(encoding="utf-8"))
        except json.JSONDecodeError as error:
            yield f"{file}: {error}"
            continue
        for key in ("$schema", "$id", "title"):
            if key not in schema:
                yield f"{file}: no `{key}`"


def complaints(root):
    files = tracked(root)
    yield from check_top(files)
    yield from check_budgets(root, files)
    yield from check_contracts(root, files)
    yield from check_words(root, files)
    yield from check_diagnostics(root)
    yield from check_links(root, files)
    yield from check_schemas(root, files)


def main():
    root = Path(sys.argv[1]).resolve()
    found = list(complaints(root))
    print("\n".join(found) if found else "the house is in order")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

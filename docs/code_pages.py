"""The pages of the codes of diagnostics: grammar/pages/*.def with grammar/diagnostics.def, read; docs/diagnostics.md
as it follows from them; and the files that an example stands for.

How an example is written
  - A text that begins with a word such as `rule`, `setting` or `table` is a whole rule file.  Any other text stands in
    a rule; what such a rule needs beside it (a clause, source, owner, review, an example) is added when it is run.
  - `== NAME` begins another file.
  - `[the line above 250 times]`, `[tab]` and `[byte FC]` stand for what cannot well be shown.
"""
import re
from typing import NamedTuple

SEVERITIES = {"Error": "Error", "Warning": "Warning", "Note": "Note"}
ROW = re.compile(r'^DIAGNOSTIC\((\w+), (\w+), "([^"]*)"\)$', re.MULTILINE)
TEXT = r'\s*R"~\((.*?)\)~"'
PAGE = re.compile(r"^PAGE\((\w+)," + ",".join([TEXT] * 5) + r"\)$", re.MULTILINE | re.DOTALL)
ITEMS = {"setting", "table", "define", "rule", "trial", "example", "adjust", "regrade", "mute", "retire", "extend", "#",
         "rasie"}
NOT_WHOLE = {"rasie"}

HEAD = """# Diagnostics of the rule language

What `meniscus rules lint`, and every command that loads rules, says about a rule file or a table. Each kind of mistake has a
code that keeps its meaning for good; `meniscus rules explain-code R0203` prints the page of a code. A message has this look:

```
rules/dose.rule:12:26: error[R0111]: found `=` where values are compared
   |
12 |     raise hold when dose = 5 mg
   |                          ^
   = help: write `is`, or `<`, `>`, `<=`, `>=`
```

File, line and column come first (columns count characters, from 1), then what was found and what was needed; the carets mark
what is wrong, dashes with a word mark what it has to do with. An *error* keeps the rules from being loaded, a *warning* and a
*note* do not. After a mistake the reader goes on at the next word that begins a line of a rule, so one run shows the mistakes of
all rules; only the first of several on one line is shown where the others are likely to follow from it.

`rules lint` alone gives the warnings R06xx, once there is no error. Its exit status is 3 where there is an error; warnings leave it at
0, and with `--strict` make it 1.

Each page has an example that brings the message about, and the same mended. Where it begins in the middle of a rule, it stands in
one; `== limits.csv` begins another file. Every example is run by a test.

| codes | about |
| --- | --- |
"""
FOOT = """
This page comes from `grammar/diagnostics.def` and `grammar/pages` (`./dev docs`).
"""
CHAPTERS = (
    ("R01", "Writing", "how something is written"),
    ("R02", "Names, types and dimensions", "names, kinds of values, dimensions"),
    ("R03", "Tables", "tables"),
    ("R04", "Parts of a rule", "parts of a rule that are absent, said twice or can have no effect"),
    ("R05", "Dates of force and local changes", "dates of force and local changes"),
    ("R06", "Worth a second look", "no mistake, and worth a second look"),
    ("C01", "Tables of cases", "tables of cases, which `meniscus rules test` reads"),
)


class Page(NamedTuple):
    code: str
    severity: str
    title: str
    means: str
    why: str
    mend: str
    wrong: str
    right: str


def read_pages(root):
    """All pages, in the order of their codes."""
    rows = {code: (severity, title)
            for code, severity, title in ROW.findall((root / "grammar/diagnostics.def").read_text(encoding="utf-8"))}
    pages = []
    for path in sorted((root / "grammar/pages").glob("*.def")):
        text = path.read_text(encoding="utf-8")
        found = PAGE.findall(text)
        if len(found) != text.count("\nPAGE("):
            raise SystemExit(f"{path}: a page is not written as the others are")
        pages += [Page(code, *rows[code], *texts) for code, *texts in found]
    return sorted(pages, key=lambda page: (page.code[0] == "C", page.code))


def plain(text):
    """As it is in a file: what an example only hints at is spelt out."""
    lines = []
    for line in text.splitlines():
        again = re.fullmatch(r"\[the line above (\d+) times\]", line)
        lines += [lines[-1]] * int(again[1]) if again else [line]
    parts = re.split(r"\[byte ([0-9A-F]{2})\]", "\n".join(lines).replace("[tab]", "\t") + "\n")
    return b"".join(bytes.fromhex(part) if i % 2 else part.encode() for i, part in enumerate(parts))


def in_a_rule(text):
    """A part of a rule, with what a whole rule has beside it."""
    lines = ['rule an-example "An example"']
    if "concerns" not in text:
        lines.append("    concerns all orders")
    lines += ["    " + line for line in text.splitlines()]
    if not re.search(r"\bra(ise|sie)\b", text):
        lines.append('    raise note when volume > 5 mL say "{volume} is much." blames volume')
    for word, rest in (("cite", '"common practice"'), ("owner", '"lead nurse"'),
                       ("reviewed", "2026-11-01 review by 2027-11-01")):
        if word not in text:
            lines.append(f"    {word} {rest}")
    lines += ['example "no injection"', "    order route = oral", "    expect nothing from an-example"]
    return "\n".join(lines)


def files_of(example):
    """The files of an example: name to bytes."""
    first, *others = re.split(r"^== (\S+)\n", example + "\n", flags=re.MULTILINE)
    if first.split()[0] not in ITEMS - NOT_WHOLE:
        first = in_a_rule(first.rstrip())
    files = {"example.rule": plain(first.rstrip("\n"))}
    for name, text in zip(others[::2], others[1::2]):
        files[name] = plain(text.rstrip("\n"))
    return files


def section(page):
    return (f"### {page.code} {page.title}\n\n*{page.severity}.* {page.means} {page.why}\n\nMend it: {page.mend}\n\n"
            f"```\n{page.wrong}\n```\n\nMended:\n\n```\n{page.right}\n```\n")


def diagnostics_page(root):
    pages = read_pages(root)
    text = HEAD
    for prefix, heading, about in CHAPTERS:
        anchor = re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")
        text += f"| [{prefix}xx](#{anchor}) | {about} |\n"
    text += FOOT
    for prefix, heading, _ in CHAPTERS:
        text += f"\n## {heading}\n\n"
        if prefix == "R05":
            text += "How these work, with examples: [rule-language.md](rule-language.md#dates-of-force).\n\n"
        if prefix == "C01":
            text += ("Of the `*.cases.csv` beside the rules. A wrong row is not run; the others are, and the exit status is 3.\n\n")
        text += "\n".join(section(page) for page in pages if page.code.startswith(prefix))
    return text

#!/usr/bin/env python3
"""Does what docs/writing-rules.md says, in its order, and compares what the program prints with what the page shows.

In the page, a fenced block
  rule NAME, csv NAME   is a file to write; +NAME is added to the end of one
  rule                  a part of a rule, which the program must read
  console               commands, each after `$ `, and what they print; `...` stands for lines that are left out
Commands run in one folder that starts empty, with the shipped rules, as of DAY.

usage: tutorial.py PROGRAM ROOT        MENISCUS_UPDATE_GOLDEN=1 writes into the page what was printed
"""
import difflib
import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

DAY = "2026-11-25"
LEAST = 15  # commands
FENCE = re.compile(r"^```(\w+)(?: (\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
DATED = {"check", "explain", "lint", "test", "case", "list", "show", "try"}
LEFT_OUT = "..."


class Tutorial:
    def __init__(self, program, root, folder):
        self.program, self.root, self.folder = program, root, folder
        self.commands, self.problems = 0, []

    def write(self, name, text):
        path = self.folder / name.lstrip("+")
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a" if name.startswith("+") else "w", encoding="utf-8") as out:
            out.write(("\n" if name.startswith("+") and name.endswith(".rule") else "") + text)

    def run(self, command):
        words = shlex.split(command)
        if words[0] != "meniscus":
            raise SystemExit(f"tutorial: not a command of ours: {command}")
        target = None
        if ">" in words:
            target = self.folder / words[words.index(">") + 1]
            words = words[:words.index(">")]
        if DATED & set(words[1:3]) and "--rules-as-of" not in words:
            words += ["--rules-as-of", DAY]
        environment = {"MENISCUS_RULES": str(self.root / "rules"), "TZ": "UTC", "PATH": os.environ["PATH"]}
        done = subprocess.run([self.program, *words[1:]], cwd=self.folder, env=environment, text=True, timeout=120,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
        self.commands += 1
        text = re.sub(r"sha256:[0-9a-f]{64}", "sha256:...", done.stdout).replace(str(self.root / "rules"), "RULES")
        if target is not None:
            target.write_text(text, encoding="utf-8")
            text = ""
        return text + (f"(exit status {done.returncode})\n" if done.returncode else "")

    def console(self, block):
        """The block as it should be."""
        out = []
        for part in re.split(r"^(?=\$ )", block, flags=re.MULTILINE):
            if not part.startswith("$ "):
                continue
            command, _, shown = part.partition("\n")
            printed = self.run(command[2:])
            out.append(command + "\n" + (shown if fits(shown, printed) else printed))
        return "".join(out)

    def part(self, text):
        """A part of a rule must be read without an error, beside the shipped rules and those of the page."""
        sys.path.insert(0, str(self.root / "docs"))
        import code_pages  # pylint: disable=import-outside-toplevel
        path = self.folder / "part.rule"
        path.write_text(code_pages.in_a_rule(text.rstrip()) + "\n", encoding="utf-8")
        printed = self.run("meniscus rules lint part.rule --rules our-rules")
        path.unlink()
        if "error[" in printed or "exit status" in printed:
            self.problems.append(f"cannot be read:\n{text}{printed}")

    def block(self, match):
        kind, name, text = match.groups()
        if kind == "console":
            return f"```console\n{self.console(text)}```"
        if name:
            self.write(name, text)
        elif kind == "rule":
            self.part(text)
        else:
            self.problems.append(f"a block of kind `{kind}` is not tested:\n{text}")
        return match[0]


def fits(shown, printed):
    """What is shown is what was printed, but for lines that are left out."""
    pieces = [re.escape(piece) for piece in re.split(rf"^{re.escape(LEFT_OUT)}\n", shown, flags=re.MULTILINE)]
    return re.fullmatch(r"(?:.*\n)+?".join(pieces), printed) is not None


def main():
    program, root = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    page = root / "docs/writing-rules.md"
    text = page.read_text(encoding="utf-8")
    if re.search(r"^\n {4}\S", FENCE.sub("", text), re.MULTILINE):
        print(f"{page}: an indented block is not tested; use a fence")
        return 1
    with tempfile.TemporaryDirectory(prefix="meniscus-tutorial-") as folder:
        tutorial = Tutorial(program, root, Path(folder))
        now = FENCE.sub(tutorial.block, text)
    for problem in tutorial.problems:
        print(problem)
    if os.environ.get("MENISCUS_UPDATE_GOLDEN") == "1":
        page.write_text(now, encoding="utf-8")
    elif now != text:
        print("\n".join(difflib.unified_diff(text.splitlines(), now.splitlines(), str(page), "now", lineterm="")))
        return 1
    return 1 if tutorial.problems or tutorial.commands < LEAST else 0


if __name__ == "__main__":
    sys.exit(main())

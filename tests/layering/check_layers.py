#!/usr/bin/env python3
"""The folders and what each may include.

Reads every #include of engine/, grammar/ and adapters/ and fails on an edge that is not in the table below:

  engine            the standard library, Boost headers, engine
  grammar           the same, grammar; the ANTLR runtime and generated parser in grammar/frontend/*.cpp only
  adapters/X        the same, its own folder, grammar/compile.hpp, diagnostics.hpp and format.hpp, any third-party library,
                    and of its siblings only the public headers that PUBLIC names, where USERS lets it

usage: check_layers.py ROOT          exit status 0: every edge is allowed; 1: it names those that are not
"""
import re
import sys
from pathlib import Path

SUFFIXES = {".hpp", ".h", ".cpp", ".def"}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.MULTILINE)

# Standard headers have no slash and no dot; the C ones are not used from engine.
STANDARD = re.compile(r"^[a-z_0-9]+$")
# What engine must not even take from the standard library: input, output, clocks.
NOT_IN_ENGINE = {"iostream", "fstream", "filesystem", "ctime", "thread"}

GRAMMAR_PUBLIC = {"grammar/compile.hpp", "grammar/diagnostics.hpp", "grammar/format.hpp"}

# Adapters that put the others together.  `input` chooses a reader, `cli`, `plugin` and `replay` run the whole;
# an MLLP service speaks HL7 v2.  They see a sibling's headers, never its sources.
USERS = {
    "cli": None,  # None: every sibling
    "plugin": {"answers", "hl7v2", "history", "input", "profile", "report", "rules", "text"},
    "replay": {"csv", "hl7v2", "input", "json", "report"},
    "ranks": {"cli", "replay"},  # the command of a replay, in many processes
    "service": {"hl7", "hl7v2", "mllp", "input", "report", "rules", "profile", "history", "quarantine"},
    "mllp": {"hl7", "hl7v2", "history", "report", "rules", "profile"},
    "history": {"json"},  # a store keeps orders as lines of JSON
    "rules": {"csv", "compiled"},  # tables of cases are cut as a CSV feed is; rules are read compiled or not
    # FHIR takes its codes of routes, sites and frequencies from HL7 v2; its answers are a report.
    "fhir": {"hl7v2", "report"},
    "replay_report": set(),  # a page that is made from the summary's JSON and nothing else
    "baseline": {"report"},  # a finding's fingerprint is that of the reports
    "input": {"json", "csv", "hl7", "hl7v2", "fhir", "file", "profile"},
}
# Small parts that every adapter may use: they hold no format and no I/O of their own.
SHARED = {"support", "common"}


def edges(root):
    for folder in ("engine", "grammar", "adapters"):
        for path in sorted((root / folder).rglob("*")):
            if path.suffix in SUFFIXES and path.is_file():
                text = path.read_text(encoding="utf-8", errors="replace")
                for match in INCLUDE.finditer(text):
                    line = text.count("\n", 0, match.start()) + 1
                    yield path.relative_to(root), line, match.group(1), match.group(2)


def is_ours(target):
    return target.split("/")[0] in ("engine", "grammar", "adapters", "tests", "rules", "docs")


def adapter_of(target):
    parts = target.split("/")
    return parts[1] if len(parts) > 2 else ""


def refusal(path, kind, target):
    """Why this edge is not allowed, or nothing."""
    layer = path.parts[0]
    if layer == "engine":
        return engine_refusal(kind, target)
    if layer == "grammar":
        return grammar_refusal(path, kind, target)
    return adapters_refusal(path, target)


def engine_refusal(kind, target):
    if kind == '"' and target.startswith("engine/"):
        return None
    if kind == "<" and target.startswith("boost/"):
        return None
    if kind == "<" and STANDARD.match(target):
        return "engine does no input or output and reads no clock" if target in NOT_IN_ENGINE else None
    return "engine includes only the standard library, Boost headers and engine"


def grammar_refusal(path, kind, target):
    if kind == '"' and target.startswith(("engine/", "grammar/")):
        return None
    if kind == "<" and (target.startswith("boost/") or STANDARD.match(target)):
        return None
    antlr = target.startswith(("antlr4", "RuleLexer", "RuleParser", "RuleBase", "RuleVisitor", "RuleListener"))
    if antlr and path.parts[1] == "frontend" and path.suffix == ".cpp":
        return None
    return "grammar includes engine and grammar; ANTLR only in grammar/frontend/*.cpp"


def adapters_refusal(path, target):
    if not is_ours(target):
        if target.startswith("antlr4"):
            return "only grammar/frontend knows ANTLR"
        return None
    if target.startswith("engine/") or target in GRAMMAR_PUBLIC:
        return None
    if not target.startswith("adapters/"):
        return "adapters see grammar/compile.hpp of grammar, and nothing of tests, rules or docs"
    mine = path.parts[1] if len(path.parts) > 2 else ""
    other = adapter_of(target)
    if other == mine or other in SHARED:
        return None
    allowed = USERS.get(mine, set())
    if (allowed is None or other in allowed) and target.endswith((".hpp", ".h")):
        return None
    return f"adapters/{mine} does not know adapters/{other}"


def main():
    root = Path(sys.argv[1]).resolve()
    count = wrong = 0
    for path, line, kind, target in edges(root):
        count += 1
        why = refusal(path, kind, target)
        if why:
            wrong += 1
            print(f'{path}:{line}: includes "{target}": {why}')
    if count == 0:
        print("no #include found: is the root right?")
        return 1
    print(f"{count} includes, {wrong} not allowed")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

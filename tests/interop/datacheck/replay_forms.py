#!/usr/bin/env python3
"""The forms of a replay's summary, read by what others made and held against its JSON.

  sarif   the schema of SARIF 2.1.0 (tests/fixtures/sarif) with python3-jsonschema; its results are the signals of the last set
          of rules and the rules that differ; a place is the line of an order that the JSON names as an example
  junit   python3-junitparser; a rule fails when it has a signal or differs
  csv     Python's csv; its numbers are those of the JSON
  jsonl   a JSON object a line, as many of each kind as the JSON has
  json    docs/schemas/replay-summary.schema.json with python3-jsonschema; outcomes sum to the orders judged

No form may hold a patient's number. Every comparison is also shown to be able to fail, by planted faults.

usage: replay_forms.py PROGRAM MAKE_YEAR SOURCE_FOLDER
"""
import collections
import csv
import io
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import jsonschema
import junitparser

AFTER = """regrade vial-plan from note to caution because "try" by "clinical lead" until 2027-03-01
retire weight-plausible because "try" by "clinical lead" until 2027-03-01

rule small-volume "A volume that is hard to read"
    concerns all orders
    raise note when volume < 0.3 mL
        say "{volume} is little."
        blames volume
    without volume ignore
    cite "common practice" owner "pharmacy lead" reviewed 2026-11-20 review by 2027-11-20
"""
FORMS = ("json", "jsonl", "csv", "sarif", "junit")
SHIFTS = ("newly", "gone", "graver", "milder")


class Run:
    """One replay in every form."""

    def __init__(self, program, source, folder, words):
        rules = source / "rules"
        self.folder, self.text = folder, {}
        self.schema = json.loads((source / "docs/schemas/replay-summary.schema.json").read_text(encoding="utf-8"))
        environment = dict(os.environ, MENISCUS_RULES=str(rules), TZ="UTC")
        for form in FORMS:
            done = subprocess.run([program, "replay", "year.ndjson", *words, "--rules-as-of", "2026-11-25", "--to", form],
                                  cwd=folder, env=environment, capture_output=True, timeout=240, check=False)
            if done.returncode not in (0, 1):
                sys.exit(f"--to {form}: status {done.returncode}: {done.stderr[:300]}")
            self.text[form] = done.stdout.decode("utf-8")
        self.json = json.loads(self.text["json"])

    def comparison(self):
        return self.json.get("comparison", {"rules": [], "examples": {}, "months": []})

    def differing(self):
        return {rule["name"]: rule for rule in self.comparison()["rules"] if any(rule[shift] for shift in SHIFTS)}

    def signals(self):
        return collections.Counter(signal["rule"] for signal in self.json["sides"][-1]["signals"])


def sarif_complaints(run, schema, text):
    log = json.loads(text)
    for error in jsonschema.Draft4Validator(schema).iter_errors(log):
        yield f"schema: {error.json_path}: {error.message[:200]}"
        return
    results, rules = log["runs"][0]["results"], log["runs"][0]["tool"]["driver"]["rules"]
    for result in results:
        if rules[result["ruleIndex"]]["id"] != result["ruleId"]:
            yield f"ruleIndex of {result['ruleId']} leads to {rules[result['ruleIndex']]['id']}"
    warnings = collections.Counter(result["ruleId"] for result in results if result["level"] == "warning")
    if warnings != run.signals():
        yield f"warnings {warnings}, signals {run.signals()}"
    notes = {result["ruleId"]: result for result in results if result["level"] == "note"}
    if notes.keys() != run.differing().keys():
        yield f"notes on {sorted(notes)}, {sorted(run.differing())} differ"
        return
    for name, rule in run.differing().items():
        if notes[name]["properties"] != {shift: rule[shift] for shift in (*SHIFTS, "same")}:
            yield f"{name}: {notes[name]['properties']}"
        places = notes[name].get("locations", []) + notes[name].get("relatedLocations", [])
        lines = [place["physicalLocation"]["region"]["startLine"] for place in places]
        if lines != [example["line"] for example in rule["examples"]]:
            yield f"{name}: places at lines {lines}"
        yield from place_complaints(run, name, rule["examples"], lines)


def place_complaints(run, name, examples, lines):
    """The line of a place holds the order that the example names."""
    year = (run.folder / "year.ndjson").read_text(encoding="utf-8").split("\n")
    for example, line in zip(examples, lines):
        if line >= len(year) or json.loads(year[line - 1])["order"]["id"] != example["order"]:
            yield f"{name}: line {line} is not order {example['order']}"


def junit_complaints(run, _, text):
    parsed = list(junitparser.JUnitXml.fromstring(text.encode("utf-8")))
    cases = {case.name: [type(result).__name__ for result in case.result] for case in parsed[0]}
    rules = {rule["name"] for side in run.json["sides"] for rule in side["rules"]}
    if [suite.name for suite in parsed] != ["replay"] or cases.keys() != rules:
        yield f"suites {[suite.name for suite in parsed]}, {len(cases)} cases, {len(rules)} rules"
    for name, results in cases.items():
        want = ["Failure"] if name in run.signals() or name in run.differing() else []
        if results != want:
            yield f"{name}: {results} where {want} is expected"
    failures = sum(bool(results) for results in cases.values())
    if (parsed[0].tests, parsed[0].failures, parsed[0].errors) != (len(cases), failures, 0):
        yield f"the suite says {parsed[0].tests}, {parsed[0].failures}, {parsed[0].errors}"


def csv_complaints(run, _, text):
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    got = {(row["side"], row["rule"], row["month"]): row for row in rows}
    shifts = {rule["name"]: rule for rule in run.comparison()["rules"]}
    want = {}
    for side in run.json["sides"]:
        for rule in side["rules"]:
            whole = {**rule, **{key: shifts[rule["name"]][key] for key in (*SHIFTS, "same") if shifts}}
            want[side["name"], rule["name"], ""] = whole
            for month in rule["months"]:
                want[side["name"], rule["name"], month["month"]] = {**month, "concerned": month["concerned"]}
            if rule["built_in"]:
                for month in rule["months"]:
                    want[side["name"], rule["name"], month["month"]].pop("concerned")
    if got.keys() != want.keys() or len(rows) != len(got):
        yield f"{len(rows)} rows, {len(want)} are expected"
        return
    for key, row in got.items():
        for column in list(row)[3:]:
            if row[column] != str(want[key].get(column, "")):
                yield f"{key}: {column} is `{row[column]}`, not `{want[key].get(column, '')}`"


def jsonl_complaints(run, _, text):
    got = collections.Counter(json.loads(line)["kind"] for line in text.split("\n") if line)
    sides, both = run.json["sides"], run.comparison()
    rules = [rule for side in sides for rule in side["rules"]]
    examples = [*rules, *both["rules"], *({"examples": orders} for orders in both["examples"].values())]
    want = collections.Counter({
        "run": 1, "rule": len(rules), "rule-month": sum(len(rule["months"]) for rule in rules),
        "outcome": sum(1 + len(side["months"]) for side in sides),
        "example": sum(len(owner["examples"]) for owner in examples),
        "pair": sum(len(side["pairs"]) for side in sides),
        "never-assessed": sum(len(side["never_assessed"]) for side in sides),
        "signal": sum(len(side["signals"]) for side in sides),
        "shift": 1 + len(both["months"]) if "comparison" in run.json else 0, "rule-shift": len(both["rules"])})
    if got != +want:
        yield f"{got}, not {+want}"


def json_complaints(run, schema, text):
    summary = json.loads(text)
    for error in jsonschema.Draft202012Validator(run.schema).iter_errors(summary):
        yield f"schema: {error.json_path}: {error.message[:200]}"
    for side in summary["sides"]:
        if sum(side["outcomes"].values()) != summary["input"]["judged"]:
            yield "the outcomes do not sum to the orders judged"
        for rule in side["rules"]:
            if rule["fired"] > rule.get("concerned", rule["fired"]):
                yield f"{rule['name']} fired on more orders than it concerned"


CHECKS = {"json": json_complaints, "sarif": sarif_complaints, "junit": junit_complaints, "csv": csv_complaints, "jsonl": jsonl_complaints}


def patient_complaints(run):
    year = (run.folder / "year.ndjson").read_text(encoding="utf-8").split("\n")
    patients = {json.loads(line).get("patient", {}).get("id") for line in year if line} - {None}
    if len(patients) < 100:
        yield f"{len(patients)} patients: too few were looked for"
    for form, text in run.text.items():
        words = set(text.replace('"', " ").replace(",", " ").replace(".", " ").split())
        if patients & words:
            yield f"{form} holds {len(patients & words)} patients' numbers"


def planted(run, schema):
    """Faults that must be seen."""
    faults = [("json", '"records"', '"record"'), ("json", '"hold": ', '"hold": 1'), ("sarif", '"warning"', '"grave"'), ("sarif", '"warning"', '"note"'), ("sarif", '"startLine": ', '"startLine": 1'),
              ("junit", "<failure", "<error"), ("csv", ",20", ",21"), ("jsonl", '"kind":"signal"', '"kind":"pair"')]
    for form, old, new in faults:
        text = run.text[form].replace(old, new).replace("</failure", "</error" if new == "<error" else "</failure")
        if text == run.text[form] or not list(CHECKS[form](run, schema, text)):
            yield f"planted in {form} and not seen: {new}"


def main():
    program, make_year, source = (Path(argument).resolve() for argument in sys.argv[1:4])
    schema = json.loads((source / "tests/fixtures/sarif/sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory(prefix="meniscus-replay-forms-") as name:
        folder = Path(name)
        year = subprocess.run([make_year, "rich", "3000"], capture_output=True, timeout=120, check=True)
        (folder / "year.ndjson").write_bytes(year.stdout)
        (folder / "after.rule").write_text(AFTER, encoding="utf-8")
        runs = [Run(program, source, folder, words) for words in ([], ["--against", "after.rule"])]
        wrong = []
        for run in runs:
            for form, complaints in CHECKS.items():
                wrong += [f"{form}: {complaint}" for complaint in complaints(run, schema, run.text[form])]
            wrong += patient_complaints(run)
        wrong += planted(runs[1], schema)
        differing = len(runs[1].differing())
    print("\n".join(wrong) if wrong else f"2 runs, {differing} rules that differ: every form says what the JSON says")
    return 1 if wrong or differing != 3 else 0


if __name__ == "__main__":
    sys.exit(main())

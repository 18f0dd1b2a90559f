#!/usr/bin/env python3
"""The reports of the data check, read by what others made.

  sarif   against the schema of SARIF 2.1.0 (tests/fixtures/sarif) with python3-jsonschema; and what the standard's text asks
          beyond it: level `none` unless the kind is `fail` (3.27.10), a ruleIndex that leads to its ruleId (3.27.6), regions that
          are there. A region of a field in JSON or CSV must hold what `--to jsonl` says is written there.
  junit   read by python3-junitparser; its counts and testcases against the verdicts of `--to jsonl`
  lines   `file:line:column: grade: message [rule]` (GNU Coding Standards, "Formatting Error Messages")

No report may hold a patient's number. Every comparison is also shown to be able to fail, by planted faults.

usage: check_reports.py PROGRAM SOURCE_FOLDER
"""
import copy
import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.parse import unquote

import jsonschema
import junitparser

LINE = re.compile(r"^([^:]+):(?:(\d+):(\d+):)? (hold|clarify|incomplete|caution|note): (.+) \[([a-z0-9-]+)\]$")
LEVELS = {"hold": "error", "clarify": "error", "caution": "warning", "note": "note"}
EXTRA = {"incomplete", "not-assessed", "outside"}
# Bytes that XML 1.0 and SARIF's reader must survive: controls, U+FFFE, no UTF-8, and marks of XML and JSON.
NASTY = (b'{"order":{"id":"A<1>&\\u0001\\u001b"},"patient":{"id":"SM-0099"},"dose":"50 \\u0000\\ufffe]]>mg",'
         b'"strength":"200 mg/mL","route":"sub\\u0085cutaneous\\"\'"}\n'
         b'{"order":{"id":"A-\xff\xfe"},"patient":{"id":"SM-0098"},"dose":"\xef\xbf\xbf 50 mg"}\n\x01<![CDATA[\n')


class Reports:
    """What the program says about some inputs, in every form; run in their folder."""

    def __init__(self, program, rules, folder, names):
        self.folder, self.names = folder, names
        self.program, self.environment = program, dict(os.environ, MENISCUS_RULES=str(rules), TZ="UTC")
        self.verdicts = [json.loads(line) for line in self.run("jsonl").split("\n") if line]
        self.sarif_text, self.junit, self.lines = self.run("sarif"), self.run("junit"), self.run("lines")
        self.sarif = json.loads(self.sarif_text)

    def run(self, to):
        done = subprocess.run([self.program, "check", *self.names, "--to", to, "--as-of", "2026-03-02", "--no-slips"],
                              cwd=self.folder, env=self.environment, capture_output=True, timeout=120, check=False)
        self.status = done.returncode
        return done.stdout.decode("utf-8")


def sarif_complaints(schema, log, reports):
    for error in jsonschema.Draft4Validator(schema).iter_errors(log):
        yield f"schema: {error.json_path}: {error.message[:200]}"
        return
    run = log["runs"][0]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    occurring = []
    for result in run["results"]:
        if rules[result["ruleIndex"]] != result["ruleId"]:
            yield f"ruleIndex of {result['ruleId']} leads to {rules[result['ruleIndex']]}"
        if (result["kind"] != "fail") != (result["level"] == "none"):
            yield f"{result['ruleId']}: kind {result['kind']} with level {result['level']}"
        if result["ruleId"] not in occurring:
            occurring.append(result["ruleId"])
    if occurring != rules:
        yield f"rules {rules} are listed, {occurring} occur"
    if not run["invocations"][0]["executionSuccessful"]:
        yield "every input could be opened, and the run is not executionSuccessful"
    if run["invocations"][0]["exitCode"] != reports.status:
        yield f"exitCode {run['invocations'][0]['exitCode']}, the program ended with {reports.status}"
    yield from finding_complaints(run["results"], reports)


def finding_complaints(results, reports):
    """Findings one by one against the verdicts: rule, level, order, and what stands in the region."""
    found = [r for r in results if r["ruleId"] not in EXTRA and "suppressions" not in r]
    said = [(v, f) for v in reports.verdicts for f in v["findings"]]
    if len(found) != len(said):
        yield f"{len(found)} results, {len(said)} findings"
        return
    for result, (verdict, finding) in zip(found, said):
        want = (finding["rule"], LEVELS[finding["grade"]], verdict["order"])
        got = (result["ruleId"], result["level"], result["properties"]["order"])
        if want != got:
            yield f"{want} is {got}"
        locations = result["locations"] + result.get("relatedLocations", [])
        if finding["fields"] and len(finding["fields"]) != len(locations):
            yield f"{want}: {len(locations)} locations"
        # What the order has stands before what it lacks (docs/data-check.md, Lines).
        placed = sorted(finding["fields"], key=lambda field: not field["value"])
        for field, location in zip(placed, locations):
            yield from region_complaints(field, location, reports.folder)


def region_complaints(field, location, folder):
    place = location["physicalLocation"]
    if place["region"]["startLine"] != field["line"] or place["region"]["startColumn"] != field["column"]:
        yield f"{field} is at {place}"
    name = unquote(place["artifactLocation"]["uri"])
    if not name.endswith((".ndjson", ".csv")) or "nasty" in name or not field["value"] or field.get("from"):
        return
    line = (folder / name).read_text(encoding="utf-8").split("\n")[place["region"]["startLine"] - 1]
    text = line[place["region"]["startColumn"] - 1:place["region"]["endColumn"] - 1].strip('"')
    if text != field["value"]:
        yield f"the region of {field} holds `{text}`"


def junit_complaints(text, reports):
    parsed = junitparser.JUnitXml.fromstring(text.encode("utf-8"))
    suites = list(parsed)
    cases = [case for suite in suites for case in suite]
    if len(cases) != len(reports.verdicts):
        yield f"{len(cases)} testcases, {len(reports.verdicts)} verdicts"
        return
    for case, verdict in zip(cases, reports.verdicts):
        results = [type(result).__name__ for result in case.result]
        want = expected_result(verdict)
        if results != want:
            yield f"{case.name}: {results} where {want} is expected"
    for suite in suites:
        counts = {"Failure": 0, "Error": 0, "Skipped": 0}
        for case in suite:
            for result in case.result:
                counts[type(result).__name__] += 1
        said = {"Failure": suite.failures, "Error": suite.errors, "Skipped": suite.skipped}
        if counts != said or suite.tests != len(list(suite)):
            yield f"{suite.name} says {said} of {suite.tests}, and has {counts}"


def expected_result(verdict):
    if any(f["rule"] in ("unreadable", "internal") for f in verdict["findings"]):
        return ["Error"]
    graves = {f["grade"] for f in verdict["findings"]} & {"hold", "clarify"}
    if graves or verdict["outcome"] == "incomplete":
        return ["Failure"]
    return ["Skipped"] if verdict["outcome"] in ("outside", "recorded") else []


def lines_complaints(text, reports):
    lines = [line for line in text.split("\n") if line]
    for line in lines:
        if not LINE.match(line):
            yield f"not `file:line:column: grade: message [rule]`: {line[:120]}"
    got = [LINE.match(line).group(6, 4) for line in lines if LINE.match(line)]
    want = [(f["rule"], f["grade"]) for v in reports.verdicts for f in v["findings"]]
    if [item for item in got if item[0] not in EXTRA] != want:
        yield "the lines are not the findings of the verdicts"


def patient_complaints(reports):
    patients = {v["patient"] for v in reports.verdicts if v["patient"]}
    if not patients:
        yield "no verdict names a patient: nothing was looked for"
    for form, text in (("sarif", reports.sarif_text), ("junit", reports.junit), ("lines", reports.lines)):
        for patient in sorted(patients):
            if patient in text:
                yield f"{form} holds the patient's number {patient}"


def planted(schema, reports):
    """Faults that must be seen."""
    def changed(change):
        log = copy.deepcopy(reports.sarif)
        change(log["runs"][0])
        return log

    faults = {
        "level": changed(lambda run: run["results"][0].update(level="grave")),
        "no message": changed(lambda run: run["results"][0].pop("message")),
        "index": changed(lambda run: run["results"][0].update(ruleIndex=1)),
        "kind": changed(lambda run: run["results"][0].update(kind="open")),
        "column": changed(lambda run: run["results"][0]["locations"][0]["physicalLocation"]["region"].update(startColumn=1)),
        "unsuccessful": changed(lambda run: run["invocations"][0].update(executionSuccessful=False)),
        "lost": changed(lambda run: run["results"].pop(0)),
    }
    for name, log in faults.items():
        if not list(sarif_complaints(schema, log, reports)):
            yield f"planted in SARIF and not seen: {name}"
    if not list(junit_complaints(reports.junit.replace("<failure", "<error").replace("</failure", "</error"), reports)):
        yield "planted in JUnit and not seen"
    if not list(lines_complaints(reports.lines.replace(": hold:", ": note:", 1), reports)):
        yield "planted in the lines and not seen"


def main():
    program, source = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    schema = json.loads((source / "tests/fixtures/sarif/sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))
    demo = source / "tests/fixtures/demo"
    with tempfile.TemporaryDirectory(prefix="meniscus-reports-") as folder:
        nasty = Path(folder)
        (nasty / "nasty %20 ä.ndjson").write_bytes(NASTY)
        runs = [Reports(program, source / "rules", demo, ["orders.ndjson", "orders.csv", "orders.hl7"]),
                Reports(program, source / "rules", demo, ["damaged.ndjson"]),
                Reports(program, source / "rules", source / "tests/golden/cases/fhir_outcomes", ["bundle.json"]),
                Reports(program, source / "rules", nasty, ["nasty %20 ä.ndjson"])]
        wrong = []
        for reports in runs:
            wrong += sarif_complaints(schema, reports.sarif, reports)
            wrong += junit_complaints(reports.junit, reports)
            wrong += lines_complaints(reports.lines, reports)
            wrong += patient_complaints(reports)
        wrong += planted(schema, runs[0])
    results = sum(len(reports.sarif["runs"][0]["results"]) for reports in runs)
    print("\n".join(wrong) if wrong else f"{len(runs)} runs, {results} results: as the schema and the verdicts say")
    return 1 if wrong or results == 0 else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""OperationOutcomes of real runs, read by general-purpose FHIR libraries of npm (check.js says which and what for).

Judges the published examples of FHIR R4, a Bundle and the demo's orders of the other formats, and hands what the
program said to check.js. The libraries are installed into .cache/npm once; where node or npm is missing, or the
registry cannot be reached, the script says so and ends with 77, which ctest shows as skipped.

usage: check_with_npm.py PROGRAM SOURCE_FOLDER
"""
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))
from npm import install  # noqa: E402


def judge(program, rules, path, to):
    environment = dict(os.environ, MENISCUS_RULES=str(rules), TZ="UTC")
    done = subprocess.run([program, "check", str(path), "--to", to, "--no-slips", "--as-of", "2026-03-02"],
                          env=environment, capture_output=True, text=True, timeout=120, check=False)
    if done.returncode not in (0, 1, 2):
        print(f"{path}: exit {done.returncode}: {done.stderr}")
        sys.exit(1)
    return done.stdout.splitlines()


def bundle_of(examples):
    """The examples as one Bundle, so that paths lead through entries."""
    entries = [{"fullUrl": f"http://example.org/{r['resourceType']}/{r['id']}", "resource": r} for r in examples]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries}


def job_of(program, source, work):
    rules = source / "rules"
    paths = sorted((source / "tests/fixtures/fhir").glob("*.json"))
    resources = {path: json.loads(path.read_text(encoding="utf-8")) for path in paths}
    bundle = work / "bundle.json"
    resources[bundle] = bundle_of(list(resources.values()))
    bundle.write_text(json.dumps(resources[bundle], indent=1), encoding="utf-8")
    outcomes, fields = [], []
    for path, resource in resources.items():
        outcomes.append({"lines": judge(program, rules, path, "fhir"), "input": resource})
        for line in judge(program, rules, path, "jsonl"):
            for finding in json.loads(line)["findings"]:
                fields += [{"at": f["at"], "value": f["value"], "input": resource}
                           for f in finding["fields"] if f["value"]]
    demo = source / "tests/fixtures/demo"
    for name in ("orders.ndjson", "orders.csv", "orders.hl7", "damaged.ndjson"):
        outcomes.append({"lines": judge(program, rules, demo / name, "fhir"), "input": None})
    return {"outcomes": outcomes, "fields": fields}


def main():
    program, source = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    cache = source / ".cache" / "npm"
    install(HERE / "package.json", cache)
    with tempfile.TemporaryDirectory(prefix="meniscus-fhir-") as folder:
        job = Path(folder) / "job.json"
        job.write_text(json.dumps(job_of(program, source, Path(folder))), encoding="utf-8")
        environment = dict(os.environ, NODE_PATH=str(cache / "node_modules"))
        return subprocess.run(["node", str(HERE / "check.js"), str(job)], env=environment, timeout=300,
                              check=False).returncode


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""The JSON Schemas of docs/schemas hold: orders of the demo are orders, and every verdict on them is a verdict; an
answer that the program keeps is an answer, and a verdict on an answered question a verdict; meniscus.json has the settings that
`meniscus config` shows.

All are also shown to be able to fail: a planted fault in each must be refused.

usage: check_schemas.py ROOT PROGRAM
"""
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import jsonschema


def load(root, name):
    schema = json.loads((root / "docs/schemas" / name).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def complaints(validator, document, name):
    for error in validator.iter_errors(document):
        yield f"{name}: {error.json_path}: {error.message}"


def answered(root, program):
    """The line that is kept for an answer, and the verdict on the order that it answers."""
    orders = root / "tests/golden/cases/answer/orders.ndjson"
    rules = ["--rules", str(root / "tests/golden/rules"), "--only-rules", "--as-of", "2026-03-02"]
    with tempfile.TemporaryDirectory(prefix="meniscus-schemas-") as folder:
        kept = Path(folder) / "answers.jsonl"
        subprocess.run([program, "answer", str(orders), *rules, "--order", "A-1", "--rule", "dose-volume-agreement",
                        "--text", "yes", "--by", "prescriber", "--until", "2026-06-30", "--answers", str(kept)],
                       capture_output=True, check=False)
        line = json.loads(kept.read_text(encoding="utf-8"))
        result = subprocess.run([program, "check", str(orders), *rules, "--answers", str(kept), "--to", "jsonl"],
                                capture_output=True, text=True, check=False)
    return line, json.loads(result.stdout.splitlines()[0])


def config_complaints(root, program):
    """The schema of meniscus.json: its keys are the program's settings, and the golden file is as it says."""
    validator = load(root, "check-config.schema.json")
    shown = subprocess.run([program, "config", "--no-config"], capture_output=True, text=True, check=False).stdout
    named = [line.split()[0] for line in shown.splitlines() if not line.startswith(("There is no", "The shipped rules"))]
    keys = [key for key in validator.schema["properties"] if not key.startswith("$")]
    if named != keys or not keys:
        yield f"the program has the settings {named}, the schema {keys}"
    config = json.loads((root / "tests/golden/cases/config/meniscus.json").read_text(encoding="utf-8"))
    yield from complaints(validator, config, "the golden meniscus.json")
    for fault in ({"fail_at": "hold"}, {"to": "hl7"}, {"rules": "a.rule"}, {"slips": "no"}):
        if not list(complaints(validator, fault, "planted")):
            yield f"the schema of meniscus.json accepts {fault}"


def main():
    root, program = Path(sys.argv[1]), sys.argv[2]
    orders_file = root / "tests/fixtures/demo/orders.ndjson"
    orders = [json.loads(line) for line in orders_file.read_text(encoding="utf-8").splitlines() if line.strip()]
    result = subprocess.run([program, "check", str(orders_file), "--rules", str(root / "rules"), "--only-rules",
                             "--as-of", "2026-03-02", "--to", "jsonl"],
                            capture_output=True, text=True, check=False)
    verdicts = [json.loads(line) for line in result.stdout.splitlines()]

    order, verdict = load(root, "order.schema.json"), load(root, "verdict.schema.json")
    found = [text for number, document in enumerate(orders, 1)
             for text in complaints(order, document, f"order {number}")]
    found += [text for number, document in enumerate(verdicts, 1)
              for text in complaints(verdict, document, f"verdict {number}")]
    answer = load(root, "answer.schema.json")
    line, settled = answered(root, program)
    found += complaints(answer, line, "the kept answer")
    found += complaints(verdict, settled, "the verdict on an answered question")
    found += config_complaints(root, program)
    if not settled.get("answered") or settled["findings"]:
        found.append("the kept answer does not hold")
    if not list(complaints(answer, {**line, "values": {"dose": 50}}, "planted")):
        found.append("the answer schema accepts a number as a value")
    if len(verdicts) != len(orders) or not orders:
        found.append(f"{len(orders)} orders, {len(verdicts)} verdicts: {result.stderr}")
    elif not list(complaints(verdict, {**verdicts[0], "outcome": "fine"}, "planted")):
        found.append("the verdict schema accepts an unknown outcome")
    elif not list(complaints(order, {**orders[0], "dose": ["50 mg"]}, "planted")):
        found.append("the order schema accepts a list as a dose")
    print("\n".join(found) if found else f"{len(orders)} orders and verdicts are as the schemas say")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

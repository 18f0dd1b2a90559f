#!/usr/bin/env python3
"""The JSON Schemas of docs/schemas hold: orders of the demo are orders, and every verdict on them is a verdict.

Both are also shown to be able to fail: a planted fault in each must be refused.

usage: check_schemas.py ROOT PROGRAM
"""
import json
import subprocess
import sys
from pathlib import Path

import jsonschema


def load(root, name):
    schema = json.loads((root / "docs/schemas" / name).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def complaints(validator, document, name):
    for error in validator.iter_errors(document):
        yield f"{name}: {error.json_path}: {error.message}"


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

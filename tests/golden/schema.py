#!/usr/bin/env python3
"""Checks every line of `meniscus check --to jsonl` against docs/schemas/verdict.schema.json.

usage: schema.py PROGRAM SCHEMA FILE...    the files are run one by one, with the shipped rules
"""
import json
import subprocess
import sys

import jsonschema


def main():
    program, schema_path, files = sys.argv[1], sys.argv[2], sys.argv[3:]
    with open(schema_path, encoding="utf-8") as schema_file:
        schema = json.load(schema_file)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    keys = [key for key in schema["properties"] if key not in ("reason", "file")]
    wrong = lines = 0
    for name in files:
        done = subprocess.run([program, "check", name, "--to", "jsonl", "--as-of", "2026-03-02"],
                              capture_output=True, check=False)
        for number, line in enumerate(done.stdout.decode("utf-8").splitlines(), 1):
            lines += 1
            verdict = json.loads(line)
            for error in validator.iter_errors(verdict):
                wrong += 1
                print(f"{name}: verdict {number}: {error.json_path}: {error.message}")
            if [key for key in verdict if key not in ("reason", "file")] != keys:
                wrong += 1
                print(f"{name}: verdict {number}: keys stand in another order than in the schema")
    print(f"{lines} verdicts checked, {wrong} mistakes")
    return 1 if wrong or lines < len(files) else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""Checks every line of `meniscus check --to jsonl` against docs/schemas/verdict.schema.json.

usage: schema.py [--rules LOCAL] PROGRAM SCHEMA FILE...

The files are run one by one, with the shipped rules. With changes in LOCAL, something must be muted, and
something on trial.
"""
import json
import subprocess
import sys

import jsonschema


def main():
    local = sys.argv[1:3] if sys.argv[1] == "--rules" else []
    program, schema_path, *files = sys.argv[1 + len(local):]
    with open(schema_path, encoding="utf-8") as schema_file:
        schema = json.load(schema_file)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    optional = ("reason", "trial", "answered", "never_assessed", "changes", "file")
    keys = [key for key in schema["properties"] if key not in optional]
    wrong = lines = 0
    seen = set()  # keys that had something to say
    for name in files:
        done = subprocess.run([program, "check", name, "--to", "jsonl", "--as-of", "2026-03-02", *local],
                              capture_output=True, check=False)
        for number, line in enumerate(done.stdout.decode("utf-8").splitlines(), 1):
            lines += 1
            verdict = json.loads(line)
            seen.update(key for key, value in verdict.items() if value)
            for error in validator.iter_errors(verdict):
                wrong += 1
                print(f"{name}: verdict {number}: {error.json_path}: {error.message}")
            if [key for key in verdict if key not in optional] != keys:
                wrong += 1
                print(f"{name}: verdict {number}: keys stand in another order than in the schema")
    if local and not {"muted", "trial", "changes"} <= seen:
        wrong += 1
        print("the local changes show nothing in any verdict")
    print(f"{lines} verdicts checked, {wrong} mistakes")
    return 1 if wrong or lines < len(files) else 0


if __name__ == "__main__":
    sys.exit(main())

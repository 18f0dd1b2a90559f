#!/usr/bin/env python3
"""What libmeniscus.so shows: every function of its header and nothing else, under the name that its API version gives.

usage: exports.py HEADER LIBRARY
"""
import re
import subprocess
import sys
from pathlib import Path

LEAST = 40  # functions, so that a header that moved is noticed


def declared(header):
    code = re.sub(r"/\*.*?\*/", "", header, flags=re.DOTALL)
    return set(re.findall(r"\b(meniscus_\w+)\(", code))


def output(*command):
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def main():
    header = Path(sys.argv[1]).read_text(encoding="utf-8")
    library = sys.argv[2]
    wanted = declared(header)
    shown = {line.split()[-1].split("@")[0] for line in output("nm", "-D", "--defined-only", library).splitlines()}
    problems = [f"declared and not shown: {name}" for name in sorted(wanted - shown)]
    problems += [f"shown and not declared: {name}" for name in sorted(shown - wanted)]
    if len(wanted) < LEAST:
        problems.append(f"only {len(wanted)} functions in the header")
    version = re.search(r"^#define MENISCUS_API_VERSION (\d+)$", header, re.MULTILINE)[1]
    soname = re.search(r"SONAME.*\[(.*)\]", output("readelf", "-d", library))[1]
    if soname != f"libmeniscus.so.{version}":
        problems.append(f"API version {version}, but SONAME {soname}")
    print("\n".join(problems) or f"{len(wanted)} functions, {soname}")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())

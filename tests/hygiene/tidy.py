#!/usr/bin/env python3
"""clang-tidy over the sources of engine, grammar and adapters, skipping what has not changed since it passed.

A file's key is the hash of .clang-tidy, of the file, and of every header of ours that it includes, directly or not.
The keys that passed stand as empty files in .cache/tidy.  Generated code is not looked at.

The analyzer, which follows the paths through a function and those it calls, takes as long again as all other checks
together; --analyze has it too.  What passed with it counts as passed without.

usage: tidy.py --build FOLDER [--jobs N] [--analyze] [FILE...]     exit status 1 when clang-tidy complains
"""
import argparse
import concurrent.futures
import hashlib
import json
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CACHE = ROOT / ".cache" / "tidy"
INCLUDE = re.compile(r'^\s*#\s*include\s*"([^"]+)"', re.MULTILINE)
TIDY = "clang-tidy-14"
WITHOUT_ANALYZER = "--checks=-clang-analyzer-*"
HEADERS = ROOT / "tests" / "hygiene" / "tidy_headers"


def closure(path, seen):
    """Every file of ours that `path` includes, and itself."""
    if path in seen or not path.is_file():
        return seen
    seen.add(path)
    for name in INCLUDE.findall(path.read_text(encoding="utf-8", errors="replace")):
        closure(ROOT / name, seen)
    return seen


def key_of(path):
    digest = hashlib.sha256((ROOT / ".clang-tidy").read_bytes())
    for part in sorted(closure(path, set())):
        digest.update(str(part.relative_to(ROOT)).encode())
        digest.update(part.read_bytes())
    return digest.hexdigest()


def compiled_sources(build):
    commands = json.loads((build / "compile_commands.json").read_text(encoding="utf-8"))
    files = {Path(entry["file"]).resolve() for entry in commands}
    ours = [ROOT / folder for folder in ("engine", "grammar", "adapters")]
    return sorted(file for file in files if any(folder in file.parents for folder in ours))


def mark(key, analyze):
    """The file in the cache that says that these contents passed."""
    return CACHE / (key + ("-analyzed" if analyze else ""))


def has_passed(key, analyze):
    return mark(key, True).exists() or (not analyze and mark(key, False).exists())


def check(path, build, analyze):
    """What clang-tidy says about one file; empty when it is content.  The commands are g++'s: clang does not know all
    of its warnings, nor can it read one header of the parser's runtime."""
    result = subprocess.run([TIDY, "--quiet", "-p", str(build), "--extra-arg=-Wno-unknown-warning-option",
                             f"--extra-arg-before=-I{HEADERS}", *([] if analyze else [WITHOUT_ANALYZER]), str(path)],
                            capture_output=True, text=True, check=False, cwd=ROOT)
    return "" if result.returncode == 0 else result.stdout + result.stderr


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--build", default="build", type=Path)
    parser.add_argument("--jobs", default=2, type=int)
    parser.add_argument("--analyze", action="store_true")
    parser.add_argument("files", nargs="*", type=Path)
    arguments = parser.parse_args()
    build = arguments.build.resolve()
    files = [file.resolve() for file in arguments.files] or compiled_sources(build)
    if not files:
        print("nothing to check: is the build folder right?")
        return 1
    CACHE.mkdir(parents=True, exist_ok=True)
    keys = {file: key_of(file) for file in files}
    todo = [file for file in files if not has_passed(keys[file], arguments.analyze)]
    complaints = 0
    with concurrent.futures.ThreadPoolExecutor(arguments.jobs) as pool:
        for file, output in zip(todo, pool.map(lambda f: check(f, build, arguments.analyze), todo)):
            if output:
                complaints += 1
                print(output, flush=True)
            else:
                mark(keys[file], arguments.analyze).touch()
    print(f"{len(files)} files, {len(todo)} of them new or changed, {complaints} with complaints")
    return 1 if complaints else 0


if __name__ == "__main__":
    sys.exit(main())

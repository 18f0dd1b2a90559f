"""Libraries of npm for a test: installed once into .cache/npm/NAME, in the versions that a package.json names.

Where node or npm is missing, or the registry cannot be reached, the test says so and ends with 77, which ctest shows as
skipped.
"""
import json
import shutil
import subprocess
import sys

NOT_RUN = 77


def not_run(why):
    print(f"NOT RUN: {why}")
    sys.exit(NOT_RUN)


def install(package, cache):
    """What `package`, a package.json, names; into the folder `cache`."""
    for tool in ("node", "npm"):
        if shutil.which(tool) is None:
            not_run(f"{tool} is not installed")
    wanted = json.loads(package.read_text(encoding="utf-8"))["dependencies"]
    cache.mkdir(parents=True, exist_ok=True)
    if all(installed(cache, name) == version for name, version in wanted.items()):
        return
    shutil.copy(package, cache / "package.json")
    command = ["npm", "install", "--ignore-scripts", "--no-audit", "--no-fund", "--cache", str(cache / "downloads")]
    try:
        done = subprocess.run(command, cwd=cache, capture_output=True, text=True, timeout=240, check=False)
    except subprocess.TimeoutExpired:
        not_run("npm install took longer than 240 s")
    if done.returncode != 0:
        not_run("npm could not install the libraries: " + " ".join(done.stderr.split())[:300])


def installed(cache, name):
    about = cache / "node_modules" / name / "package.json"
    return json.loads(about.read_text(encoding="utf-8"))["version"] if about.exists() else ""

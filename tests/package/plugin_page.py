#!/usr/bin/env python3
"""Does what docs/plugin.md says against an installed tree, and compares what is printed with what the page shows.

In the page, a fenced block with a file name (`c check_order.c`) is a file to write, and `console` has commands, each after
`$ `, with what they print.  They run in one folder that starts empty.

usage: plugin_page.py PAGE PREFIX        MENISCUS_UPDATE_GOLDEN=1 writes into the page what was printed
"""
import difflib
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

FENCE = re.compile(r"^```(\w+)(?: (\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LEAST = 4  # commands


def environment(prefix):
    libraries = [str(path.parent) for path in sorted(prefix.rglob("libmeniscus.so"))]
    configs = [str(path.parent) for path in sorted(prefix.rglob("meniscus.pc"))]
    if len(libraries) != 1 or len(configs) != 1:
        sys.exit(f"not installed once: {libraries} {configs}")
    kept = {name: value for name, value in os.environ.items() if name != "MENISCUS_RULES"}
    return {**kept, "LD_LIBRARY_PATH": libraries[0], "PKG_CONFIG_PATH": configs[0], "CMAKE_PREFIX_PATH": str(prefix),
            "TZ": "UTC"}


def run(command, folder, variables):
    done = subprocess.run(["bash", "-c", command], cwd=folder, env=variables, text=True, timeout=300,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    return done.stdout + (f"(exit status {done.returncode})\n" if done.returncode else "")


def now(match, folder, variables, commands):
    """The block as it should be."""
    kind, name, text = match.groups()
    if name:
        (folder / name).write_text(text, encoding="utf-8")
    if kind != "console":
        return match[0]
    shown = ""
    for command in re.findall(r"^\$ (.*)$", text, re.MULTILINE):
        commands.append(command)
        shown += f"$ {command}\n" + run(command, folder, variables)
    return f"```console\n{shown}```"


def main():
    page, prefix = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    text, variables, commands = page.read_text(encoding="utf-8"), environment(prefix), []
    with tempfile.TemporaryDirectory(prefix="meniscus-plugin-page-") as folder:
        done = FENCE.sub(lambda match: now(match, Path(folder), variables, commands), text)
    if os.environ.get("MENISCUS_UPDATE_GOLDEN") == "1":
        page.write_text(done, encoding="utf-8")
    elif done != text:
        print("\n".join(difflib.unified_diff(text.splitlines(), done.splitlines(), str(page), "now", lineterm="")))
        return 1
    print(f"{len(commands)} commands")
    return 0 if len(commands) >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""A replay that is killed again and again, and stopped politely, goes on from its folder and says what one run says.

usage: killed.py PROGRAM MAKE_YEAR SOURCE_FOLDER
"""
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 25


def main():
    program, make_year, source = (Path(argument).resolve() for argument in sys.argv[1:4])
    environment = dict(os.environ, MENISCUS_RULES=str(source / "rules"), TZ="UTC")
    chance = random.Random(1)
    wrong = []
    with tempfile.TemporaryDirectory(prefix="meniscus-replay-killed-") as name:
        folder = Path(name)
        year = subprocess.run([make_year, "rich", "6000"], capture_output=True, timeout=120, check=True)
        (folder / "year.ndjson").write_bytes(year.stdout)
        command = [program, "replay", "year.ndjson", "--to", "json", "--threads", "2"]
        start = time.monotonic()
        one = subprocess.run(command, cwd=folder, env=environment, capture_output=True, timeout=120, check=True)
        whole = time.monotonic() - start
        kept = kills = stops = 0
        for turn in range(ROUNDS):
            run = subprocess.Popen([*command, "--work", "work"], cwd=folder, env=environment, stdout=subprocess.PIPE,
                                   stderr=subprocess.PIPE)
            try:
                said, complained = run.communicate(timeout=chance.uniform(0, whole * 1.5))
            except subprocess.TimeoutExpired:
                polite = turn % 3 == 0
                run.send_signal(signal.SIGINT if polite else signal.SIGKILL)
                said, complained = run.communicate(timeout=120)
                stops, kills = stops + polite, kills + (not polite)
                if polite and run.returncode not in (0, 4, -signal.SIGINT):  # before it listens, it just ends
                    wrong.append(f"stopped politely: status {run.returncode}")
                if polite and run.returncode == 4 and b"goes on from work" not in complained:
                    wrong.append("stopped politely, and does not say how to go on")
            if run.returncode == 0 and said != one.stdout:
                wrong.append(f"round {turn}: another summary")
            kept += any((folder / "work").glob("tally-*"))
        last = subprocess.run([*command, "--work", "work"], cwd=folder, env=environment, capture_output=True, timeout=120, check=False)
        if last.stdout != one.stdout:
            wrong.append(f"the last run: status {last.returncode}, another summary")
        left = sorted(path.name for path in (folder / "work").glob("*")) if (folder / "work").exists() else []
        if left:
            wrong.append(f"left behind: {left[:5]}")
        if kills + stops < 5 or kept == 0:
            wrong.append(f"{kills} killed, {stops} stopped, {kept} with parts judged: too few to say anything")
    print("\n".join(wrong) if wrong else f"{kills} killed, {stops} stopped, {kept} with parts judged: the same summary")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""Kills the program while it answers, starts it again, sends again what got no answer, and looks at what was kept.

Sends: HL7 v2 messages, several at once, over a pipe to `meniscus check --from hl7 --to hl7 --history sqlite:PATH`, then
       over MLLP to `meniscus serve --history sqlite:PATH`; the program is killed (SIGKILL) after a number of answers drawn
       from a fixed seed, again and again.
Holds: every message that was answered is in the store, none is there twice, and each got the same answer as in one
       run that nobody disturbed.
Full:  when the store can grow no more, nothing is accepted that is not kept: `check` ends with status 4, `serve` refuses
       (AR); with room again, the rest is answered as if nothing had been.
Reads: the store with Python's own sqlite3 module.

usage: kill_and_resume.py PROGRAM RULES check|serve
"""
import json
import random
import re
import resource
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

MESSAGES = 120
SITES = ["LA^Left Arm^HL70163", "RA^Right Arm^HL70163", "LT^Left Thigh^HL70163", "RT^Right Thigh^HL70163"]


def message(number):
    patient = number % 7
    day = 1 + number // 7
    return "\r".join([
        f"MSH|^~\\&|PHARMACY|SLATEMOOR|MENISCUS|SLATEMOOR|202603{day:02}1000||RDE^O11|M{number}|P|2.5.1",
        f"PID|1||SM-{patient:04}||||19880402|F",
        f"ORC|NW|A-{number}|||||||202603{day:02}1000",
        f"RXE|1^^^202603{day:02}|enoxaparin^Enoxaparin 40 mg/0.4 mL|40||mg|||||1|syringe",
        f"RXR|SC^Subcutaneous^HL70162|{SITES[number % 4]}",
    ]) + "\r"


class Check:
    """The program on a pipe."""

    def __init__(self, program, rules, store, most_bytes=None):
        self.process = start([program, "check", "-", "--from", "hl7", "--to", "hl7", *options(rules, store)], most_bytes)
        self.to, self.back = self.process.stdin, self.process.stdout

    def send(self, text):
        self.to.write(b"\x0b" + text.encode() + b"\x1c\r")
        self.to.flush()

    def answer(self):
        got = b""
        while not got.endswith(b"\x1c\r"):
            byte = self.back.read(1)
            if not byte:
                raise EOFError
            got += byte
        return settled(got.decode())

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.wait()

    def end(self):
        self.to.close()
        return self.wait()

    def wait(self):
        for pipe in (self.to, self.back):
            try:
                pipe.close()
            except BrokenPipeError:
                pass
        self.process.stderr.read()
        return self.process.wait()


class Serve(Check):
    """The program as a service."""

    def __init__(self, program, rules, store, most_bytes=None):
        self.process = start([program, "serve", "--listen", "127.0.0.1:0", *options(rules, store)], most_bytes)
        line = self.process.stdout.readline()
        if not line:
            raise RuntimeError(self.process.stderr.read().decode())
        host, port = json.loads(line)["mllp"].rsplit(":", 1)
        self.socket = socket.create_connection((host, int(port)))
        self.to, self.back = self.socket.makefile("wb"), self.socket.makefile("rb")

    def end(self):
        self.process.send_signal(signal.SIGTERM)
        return self.wait()

    def wait(self):
        self.socket.close()
        return super().wait()


def options(rules, store):
    return ["--on-hold", "ua", "--only-rules", "--rules", rules, "--history", f"sqlite:{store}", "--log", "off"]


def start(words, most_bytes):
    def limit():
        if most_bytes is not None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # writing fails instead
            resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

    return subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=limit)


def settled(answer):
    """Without the time and the number of the answer itself."""
    answer = re.sub(r"\|\d{14}[+-]\d{4}\|", "|TIME|", answer)
    return re.sub(r"\|\d{14}-\d+\|", "|TIME|", answer)


def undisturbed(begin, store):
    run = begin(store)
    answers = []
    for number in range(MESSAGES):
        run.send(message(number))
        answers.append(run.answer())
    run.end()
    return answers


def disturbed(begin, store):
    draw = random.Random(7)
    answers = []
    kills = 0
    while len(answers) < MESSAGES:
        run = begin(store)
        ahead = min(draw.randint(1, 12), MESSAGES - len(answers))
        for number in range(len(answers), len(answers) + ahead):
            run.send(message(number))
        # Some of them are answered; what happens to the others nobody knows.
        for _ in range(draw.randint(0, ahead)):
            answers.append(run.answer())
        run.kill()
        kills += 1
    return answers, kills


def filled_up(begin, store, refuses):
    """Answers until the store is full, then the rest; and what was wrong."""
    run = begin(store, 150_000)
    answers = []
    problems = []
    try:
        while len(answers) < MESSAGES:
            run.send(message(len(answers)))
            answer = run.answer()
            if refuses and "MSA|AR|" in answer:
                break
            answers.append(answer)
    except (EOFError, BrokenPipeError):
        pass
    if len(answers) == MESSAGES:
        problems.append("the store never was full")
    status = run.end() if refuses else run.wait()
    if status != (0 if refuses else 4):
        problems.append(f"the store was full and the exit status is {status}")
    if len(kept(store)) < len(answers):
        problems.append(f"{len(answers)} were accepted, {len(kept(store))} are kept")
    run = begin(store)
    for number in range(len(answers), MESSAGES):
        run.send(message(number))
        answers.append(run.answer())
    run.end()
    return answers, problems


def kept(store):
    with closing(sqlite3.connect(store)) as database:
        return [row[0] for row in database.execute("SELECT number FROM orders ORDER BY receipt")]


def compare(name, answers, expected, numbers):
    wanted = [f"A-{number}" for number in range(MESSAGES)]
    problems = [f"answer {i} differs:\n{a}\n{b}" for i, (a, b) in enumerate(zip(answers, expected)) if a != b]
    problems += [f"{number} was answered and is not kept" for number in wanted if number not in numbers]
    problems += [f"{number} is kept {numbers.count(number)} times" for number in wanted if numbers.count(number) > 1]
    return [f"{name}: {problem}" for problem in problems]


def main():
    program, rules, how = sys.argv[1:]
    kind = {"check": Check, "serve": Serve}[how]

    def begin(store, most_bytes=None):
        return kind(program, rules, store, most_bytes)

    folder = Path(tempfile.mkdtemp(prefix="meniscus-kill-"))
    try:
        expected = undisturbed(begin, folder / "whole.db")
        answers, kills = disturbed(begin, folder / "killed.db")
        problems = compare("killed", answers, expected, kept(folder / "killed.db"))
        answers, more = filled_up(begin, folder / "full.db", how == "serve")
        problems += more + compare("full", answers, expected, kept(folder / "full.db"))
    finally:
        shutil.rmtree(folder)
    if not any("ERR|" in answer for answer in expected):
        problems.append("no answer has a finding: nothing was compared")
    if not any("history before" in answer for answer in expected):
        problems.append("history plays no part in the answers")
    print("\n".join(problems[:10]))
    print(f"{MESSAGES} messages, killed {kills} times, {len(problems)} problems")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())

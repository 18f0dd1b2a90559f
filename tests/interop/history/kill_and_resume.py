#!/usr/bin/env python3
"""Kills the program while it answers, starts it again, sends again what got no answer, and looks at what was kept.

Sends: HL7 v2 messages over a pipe to `meniscus check --from hl7 --to hl7 --history sqlite:PATH`, several at once;
       the program is killed (SIGKILL) after a number of answers drawn from a fixed seed, again and again.
Holds: every message that was answered is in the store, none is there twice, and each got the same answer as in one
       run that nobody disturbed.
Full:  when the store can grow no more, nothing is answered that is not kept, and the program ends with status 4;
       with room again, the rest is answered as if nothing had been.
Reads: the store with Python's own sqlite3 module.

usage: kill_and_resume.py PROGRAM RULES
"""
import random
import re
import resource
import shutil
import signal
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


class Program:
    def __init__(self, program, rules, store, most_bytes=None):
        def limit():
            if most_bytes is not None:
                signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # writing fails instead
                resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

        self.process = subprocess.Popen(
            [program, "check", "-", "--from", "hl7", "--to", "hl7", "--on-hold", "ua", "--only-rules", "--rules", rules,
             "--history", f"sqlite:{store}", "--log", "off"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=limit)

    def send(self, text):
        self.process.stdin.write(b"\x0b" + text.encode() + b"\x1c\r")
        self.process.stdin.flush()

    def answer(self):
        got = b""
        while not got.endswith(b"\x1c\r"):
            byte = self.process.stdout.read(1)
            if not byte:
                raise EOFError(self.process.stderr.read().decode())
            got += byte
        return settled(got.decode())

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            try:
                pipe.close()
            except BrokenPipeError:
                pass

    def end(self):
        self.process.stdin.close()
        return self.process.wait()


def settled(answer):
    """Without the time and the number of the answer itself."""
    answer = re.sub(r"\|\d{14}[+-]\d{4}\|", "|TIME|", answer)
    return re.sub(r"\|\d{14}-\d+\|", "|TIME|", answer)


def undisturbed(program, rules, store):
    run = Program(program, rules, store)
    answers = []
    for number in range(MESSAGES):
        run.send(message(number))
        answers.append(run.answer())
    run.end()
    return answers


def disturbed(program, rules, store):
    draw = random.Random(7)
    answers = []
    kills = 0
    while len(answers) < MESSAGES:
        run = Program(program, rules, store)
        ahead = min(draw.randint(1, 12), MESSAGES - len(answers))
        for number in range(len(answers), len(answers) + ahead):
            run.send(message(number))
        # Some of them are answered; what happens to the others nobody knows.
        for _ in range(draw.randint(0, ahead)):
            answers.append(run.answer())
        run.kill()
        kills += 1
    return answers, kills


def filled_up(program, rules, store):
    """Answers until the store is full, then the rest; and what was wrong."""
    run = Program(program, rules, store, most_bytes=150_000)
    answers = []
    problems = []
    try:
        for number in range(MESSAGES):
            run.send(message(number))
            answers.append(run.answer())
        problems.append("the store never was full")
    except (EOFError, BrokenPipeError):
        pass
    status = run.process.wait()
    if status != 4:
        problems.append(f"the store was full and the exit status is {status}")
    if len(kept(store)) < len(answers):
        problems.append(f"{len(answers)} were answered, {len(kept(store))} are kept")
    run = Program(program, rules, store)
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
    program, rules = sys.argv[1:]
    folder = Path(tempfile.mkdtemp(prefix="meniscus-kill-"))
    try:
        expected = undisturbed(program, rules, folder / "whole.db")
        answers, kills = disturbed(program, rules, folder / "killed.db")
        problems = compare("killed", answers, expected, kept(folder / "killed.db"))
        answers, more = filled_up(program, rules, folder / "full.db")
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

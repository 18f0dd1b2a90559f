#!/usr/bin/env python3
"""What the service reads and keeps beside the rules: answers to their questions, and a history for so many days.

Answers: a question that `meniscus answer` has answered holds an order up no longer, from the next reload on.
Days:    with --history-keep the service drops older orders at its start, and never what a rule looks back on.

usage: kept.py PROGRAM RULES
"""
import datetime
import json
import pathlib
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from service import Service, framed, order, receive  # noqa: E402


def run(*words):
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise AssertionError(f"{' '.join(words)}: {done.stderr}")
    return done.stdout


def ask(service, message):
    with service.connect() as peer:
        peer.sendall(framed(message))
        return receive(peer, 1)[0].decode()


def answers(program, rules, folder):
    # 0.27 mL, and the directions say 0.25 mL; no allergies.
    question = order("A-1", dose="54").replace(b"SM-0012^SM-0012^L\r", b"\"\"\r")
    (folder / "order.hl7").write_bytes(question)
    kept = folder / "answers.jsonl"
    kept.touch()
    known = ["--history", f"sqlite:{folder / 'answers.db'}", "--history-since", "2020-01-01", "--resend-window", "0"]
    with Service(program, "--answers", str(kept), *known, rules=rules) as service:
        before = ask(service, question)
        assert "\rORC|UA|" in before and "|dose-volume-agreement^" in before, before
        run(program, "answer", str(folder / "order.hl7"), "--only-rules", "--rules", rules, "--order", "A-1", "--rule",
            "dose-volume-agreement", "--text", "Confirmed", "--by", "prescriber", "--until",
            (datetime.date.today() + datetime.timedelta(days=30)).isoformat(), "--answers", str(kept))
        assert "\rORC|UA|" in ask(service, question), "it is read at the next reload"
        service.signal(signal.SIGHUP)
        while "Answered here (Confirmed)" not in ask(service, question):
            assert service.process.poll() is None
        after = ask(service, question)
        assert "\rORC|OK|" in after, after
        kept.write_text("{\"half\":\n")
        service.signal(signal.SIGHUP)
        service.wait_for_log("those that were in force stay")
        assert "\rORC|OK|" in ask(service, question), "a file with mistakes does not take the answers away"
        assert service.stop() == 0


def days(program, rules, folder):
    today = datetime.date.today()
    ages = [1200, 700, 20]
    lines = [json.dumps({"order.id": f"A-{age}", "order.placed": (today - datetime.timedelta(days=age)).isoformat(),
                         "patient.id": "SM-0012", "dose": "50 mg"}) for age in ages]
    (folder / "orders.ndjson").write_text("\n".join(lines) + "\n")
    store = f"sqlite:{folder / 'days.db'}"
    run(program, "history", "import", store, str(folder / "orders.ndjson"), "--only-rules", "--rules", rules)

    def left():
        return [json.loads(line)["order.id"] for line in run(program, "history", "export", store).splitlines()]

    for keep, wanted in (("1000", ["A-700", "A-20"]), ("1", ["A-20"])):
        with Service(program, "--history", store, "--history-keep", keep, rules=rules) as service:
            assert service.stop() == 0
        assert left() == wanted, f"--history-keep {keep}: {left()}"


def main():
    program, rules = sys.argv[1:]
    with tempfile.TemporaryDirectory(prefix="meniscus-kept-") as folder:
        answers(program, rules, pathlib.Path(folder))
        days(program, rules, pathlib.Path(folder))
    print("an answered question holds nothing up; old orders are dropped, and none that a rule looks back on")
    return 0


if __name__ == "__main__":
    sys.exit(main())

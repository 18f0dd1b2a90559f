#!/usr/bin/env python3
"""The history in PostgreSQL: a server of its own on a private socket, started and stopped here.

Stores:  what every store does (adapters_tests, Stores/*), with the database behind it.
Killed:  kill_and_resume.py's runs of `check` and `serve`, with the database behind them.
Shared:  two services with one history: of two orders of one patient that come to both at the same moment, one is judged
         after the other; the same message that comes to both is kept once and gets one answer.
Lost:    while the database is down nothing is accepted; once it is back, all is, without a restart.
Piped:   `check --from hl7 --to hl7` answers as with SQLite; what comes again gets the same answer, byte for byte; a
         database that was started again between two messages goes unnoticed; one that is lost under way, or stays away,
         ends the run with status 4: what was accepted is kept, and the next run answers the rest.

usage: postgres.py PROGRAM RULES TESTS
"""
import os
import pwd
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "mllp")]
import kill_and_resume
from pipe import Pipe
from service import framed, frames_of, get, order, receive, Service

BIN = Path("/usr/lib/postgresql/15/bin")
PORT = "54329"  # names the socket; nothing listens on the network


class Postgres:
    """A server that only this machine's users who know the folder can reach."""

    def __init__(self):
        self.folder = tempfile.mkdtemp(prefix="meniscus-pg-")
        if os.geteuid() == 0:
            os.chown(self.folder, pwd.getpwnam("postgres").pw_uid, -1)
        self.run("initdb", "-D", self.data, "-A", "trust", "-U", "meniscus", "--no-instructions")
        self.start()

    @property
    def data(self):
        return f"{self.folder}/data"

    def run(self, name, *words):
        # The server refuses to run as root.
        who = ["setpriv", "--reuid=postgres", "--regid=postgres", "--init-groups"] if os.geteuid() == 0 else []
        done = subprocess.run([*who, BIN / name, *words], cwd="/", stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        if done.returncode != 0:
            raise RuntimeError(f"{name}: {done.stdout}")

    def start(self):
        settings = f"-c listen_addresses= -c unix_socket_directories={self.folder} -p {PORT}"
        subprocess_log = f"{self.folder}/log"
        self.run("pg_ctl", "-D", self.data, "-w", "-o", settings, "-l", subprocess_log, "start")

    def stop(self):
        self.run("pg_ctl", "-D", self.data, "-m", "immediate", "-w", "stop")

    def remove(self):
        try:
            self.stop()
        finally:
            shutil.rmtree(self.folder)

    def address(self):
        return f"host={self.folder} port={PORT} dbname=postgres user=meniscus"

    def place(self, schema):
        return f"postgresql:{self.address()} schema={schema}"

    def numbers(self, schema):
        rows = subprocess.run(["psql", "-XAtq", "-h", self.folder, "-p", PORT, "-U", "meniscus", "postgres", "-c",
                               f"SELECT number FROM {schema}.orders ORDER BY receipt"], check=True, capture_output=True, text=True)
        return rows.stdout.split()


def weekly(number, patient):
    """A weekly injection; a second one of the same patient on the same day is too early."""
    return (f"MSH|^~\\&|ORDERS|SLATEMOOR|PHARMACY|SLATEMOOR|20260302091400||RDE^O11^RDE_O11|{number}|P|2.5.1\r"
            f"PID|1||{patient}||||19880402|F\rAL1|1|DA|\"\"\rORC|NW|{number}\r"
            "RXE||testosterone-cypionate^Testosterone cypionate 200 mg/mL|50||mg||||||||||||||||||||200|mg|||||||1|mL\r"
            "TQ1|1||Q1W||||20260302\rRXR|SC|LLAQ\r").encode()


def stores(postgres, tests):
    run = subprocess.run([tests, "--gtest_filter=Stores/*"], capture_output=True, text=True,
                         env={**os.environ, "MENISCUS_TEST_POSTGRES": postgres.address()})
    if run.returncode != 0:
        return [run.stdout]
    return [] if "/postgresql (" in run.stdout else ["no test has used the database"]


def killed(postgres, program, rules):
    problems = []
    kill_and_resume.options = lambda rules, schema: [
        "--on-hold", "ua", "--only-rules", "--rules", rules, "--history", postgres.place(schema), "--log", "off"]
    for how, kind in (("check", kill_and_resume.Check), ("serve", kill_and_resume.Serve)):
        def begin(schema):
            return kind(program, rules, schema)

        expected = kill_and_resume.undisturbed(begin, f"whole_{how}")
        answers, kills = kill_and_resume.disturbed(begin, f"killed_{how}")
        problems += kill_and_resume.compare(f"killed {how}", answers, expected, postgres.numbers(f"killed_{how}"))
        print(f"{how}: {len(answers)} messages, killed {kills} times")
    return problems


def at_once(services, messages):
    """Each service's answer to its message; all are sent at the same moment."""
    answers = [None] * len(services)
    start = threading.Barrier(len(services))

    def talk(place):
        with services[place].connect() as peer:
            start.wait()
            peer.sendall(framed(messages[place]))
            answers[place] = receive(peer, 1)[0].decode()

    threads = [threading.Thread(target=talk, args=(place,)) for place in range(len(services))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def shared(postgres, program, rules):
    problems = []
    history = ["--history", postgres.place("shared"), "--history-since", "2020-01-01"]
    with Service(program, *history, rules=rules) as one, Service(program, *history, rules=rules) as other:
        for pair in range(40):
            patient = f"SM-{pair:04}"
            answers = at_once([one, other], [weekly(f"A-{pair}", patient), weekly(f"B-{pair}", patient)])
            too_early = ["|one-active-order^" in answer for answer in answers]
            if sorted(too_early) != [False, True]:
                problems.append(f"{patient}: judged beside one another: {answers}")
        for number in range(20):
            message = weekly(f"C-{number}", f"SM-1{number:03}")
            first, second = at_once([one, other], [message, message])
            if first != second:
                problems.append(f"one message, two answers:\n{first}\n{second}")
        merge = ("MSH|^~\\&|ADT|SLATEMOOR|RX|PH|20260302||ADT^A40^ADT_A39|M-1|P|2.5.1\rEVN|A40|20260302\r"
                 "PID|1||SM-2001\rMRG|SM-0001\r").encode()
        with one.connect() as peer:
            peer.sendall(framed(merge))
            receive(peer, 1)
        with other.connect() as peer:
            peer.sendall(framed(weekly("D-1", "SM-2001")))
            if b"|one-active-order^" not in receive(peer, 1)[0]:
                problems.append("a merge that came to one service is not known to the other")
    numbers = postgres.numbers("shared")
    wanted = [f"{letter}-{n}" for letter, most in (("A", 40), ("B", 40), ("C", 20)) for n in range(most)] + ["D-1"]
    if sorted(numbers) != sorted(wanted):
        problems.append(f"kept: {numbers}")
    return problems


def lost(postgres, program, rules):
    problems = []
    options = ("--history", postgres.place("lost"), "--log", "off", "--status", "127.0.0.1:0")
    with Service(program, *options, rules=rules) as service, service.connect() as peer:
        def is_ready():
            time.sleep(1.2)  # the database is asked, and a lost one tried again, at most once a second
            return get(service.says["status"], "/ready")[0] == 200

        def send(number):
            peer.sendall(framed(weekly(number, f"SM-{number[2:]}")))
            return receive(peer, 1)[0].decode()

        if "\rMSA|AA|" not in send("A-1"):
            problems.append("the first message is not accepted")
        if not is_ready():
            problems.append("not ready with a database")
        postgres.stop()
        if is_ready():
            problems.append("ready without a database")
        refused = [send(f"A-{n}") for n in range(2, 6)]
        if not all("\rMSA|AR|" in answer for answer in refused):
            problems.append(f"accepted without a database: {refused}")
        postgres.start()
        if not is_ready():
            problems.append("not ready although the database is back")
        again = [send(f"A-{n}") for n in range(1, 6)]
        if not all("\rMSA|AA|" in answer for answer in again):
            problems.append(f"refused although the database is back: {again}")
        if postgres.numbers("lost") != [f"A-{n}" for n in range(1, 6)]:
            problems.append(f"kept: {postgres.numbers('lost')}")
        if service.stop() != 0:
            problems.append("the service did not end well")
    return problems


def mixed_messages():
    """What a feed sends, one way or another: accepted, refused, too early, unreadable, of merged patients."""
    messages = [weekly(f"P-{n}", f"SM-{n % 5:04}") for n in range(12)]
    messages += [order("P-12"), order("P-13", dose="9999"), order("P-0", dose="60"), b"hello\r"]
    messages += [weekly("P-14", "SM-0001").replace(b"|2.5.1\r", b"|3\r")]
    messages += [b"MSH|^~\\&|ADT|SLATEMOOR|RX|PH|20260302||ADT^A40^ADT_A39|M-1|P|2.5.1\rEVN|A40|20260302\r"
                 b"PID|1||SM-3001\rMRG|SM-0002\r", weekly("P-15", "SM-3001")]
    return messages


def talk(pipe, messages, at_once):
    """The answers to messages that are sent one by one, or without waiting for answers."""
    if not at_once:
        return [pipe.ask(message) for message in messages]
    sender = sending(pipe, messages)
    answers = [pipe.answer() for _ in messages]
    sender.join()
    return answers


def sending(pipe, messages):
    """A thread that sends what is taken."""
    def send():
        try:
            pipe.send(b"".join(framed(message) for message in messages))
        except BrokenPipeError:
            pass

    sender = threading.Thread(target=send)
    sender.start()
    return sender


def piped_as_sqlite(postgres, begin, folder):
    problems = []
    messages = mixed_messages()
    for at_once in (False, True):
        name = f"piped_{int(at_once)}"
        answers = []
        for place in (f"sqlite:{folder}/{name}.db", postgres.place(name)):
            runs = []
            for together in (at_once, not at_once):
                pipe = begin(place)
                runs.append((talk(pipe, messages, together), pipe.end()))
            answers.append(runs[0][0])
            first, again = [accepted(run[0]) for run in runs]
            if first != again or len(first) != len(messages) - 3:  # what is refused is refused anew
                problems.append(f"{place}: another answer to what came again")
            statuses = [end[1] for _, end in runs]
            if statuses != [2, 2]:
                problems.append(f"{place}: exit statuses {statuses} where something was not read")
        settled = [[kill_and_resume.settled(answer.decode()) for answer in each] for each in answers]
        problems += [f"not as with SQLite:\n{one}\n{other}" for one, other in zip(*settled) if one != other]
        for part in ("ORC|OK|", "ORC|UA|", "|one-active-order^", "|205^Duplicate", "MSA|AR|", "MSA|AA|M-1"):
            if not any(part in answer for answer in settled[1]):
                problems.append(f"no answer has {part}")
        wanted = [f"P-{n}" for n in (*range(14), 15)]
        if sorted(postgres.numbers(name)) != sorted(wanted):
            problems.append(f"kept: {postgres.numbers(name)}")
    return problems


def accepted(answers):
    return [answer for answer in answers if b"\rMSA|AA|" in answer]


def piped_and_lost(postgres, begin):
    """The database goes between two messages and comes back, or stays away, then goes under way."""
    problems = []
    place = postgres.place("piped_lost")
    messages = [weekly(f"P-{n}", f"SM-{n:04}") for n in range(600)]
    pipe = begin(place)
    answers = talk(pipe, messages[:2], False)
    postgres.stop()
    postgres.start()
    answers.append(pipe.ask(messages[2]))
    postgres.stop()
    pipe.send(framed(messages[3]))
    rest, status = pipe.end()
    if rest or status != 4:
        problems.append(f"without a database: {rest}, exit status {status}")
    rest, status = begin(place).end()
    if rest or status == 0:
        problems.append(f"begun without a database: {rest}, exit status {status}")
    postgres.start()
    pipe = begin(place)
    sender = sending(pipe, messages[3:])
    answers.append(pipe.answer())  # those of some more stand in the pipe, which has no room for all
    postgres.stop()
    rest = pipe.process.stdout.read()
    sender.join()
    status = pipe.end()[1]
    answers += [b"\x0b" + frame + b"\x1c\r" for frame in frames_of(rest)]
    if status != 4 or len(answers) == len(messages):
        problems.append(f"lost under way: {len(answers)} answers, exit status {status}")
    if len(accepted(answers)) != len(answers):
        problems.append("an answer before the database was lost is no acceptance")
    postgres.start()
    kept = postgres.numbers("piped_lost")
    lost = [f"P-{n}" for n in range(len(answers)) if f"P-{n}" not in kept]
    if lost:
        problems.append(f"accepted and not kept: {lost}")
    pipe = begin(place)
    again = talk(pipe, messages, True)
    if again[:len(answers)] != answers or len(accepted(again)) != len(messages):
        problems.append("the next run answers otherwise, or not all")
    if pipe.end() != (b"", 0):
        problems.append("the next run did not end well")
    if sorted(postgres.numbers("piped_lost")) != sorted(f"P-{n}" for n in range(len(messages))):
        problems.append(f"kept: {postgres.numbers('piped_lost')}")
    print(f"pipe: {len(answers)} of {len(messages)} messages answered when the database was lost")
    return problems


def piped(postgres, program, rules):
    with tempfile.TemporaryDirectory(prefix="meniscus-piped-") as folder:
        def begin(place):
            return Pipe(program, rules, Path(folder), place)

        return piped_as_sqlite(postgres, begin, folder) + piped_and_lost(postgres, begin)


def main():
    program, rules, tests = sys.argv[1:]
    postgres = Postgres()
    try:
        problems = stores(postgres, tests)
        problems += killed(postgres, program, rules)
        problems += shared(postgres, program, rules)
        problems += lost(postgres, program, rules)
        problems += piped(postgres, program, rules)
    finally:
        postgres.remove()
    print("\n".join(problems[:10]))
    print(f"{len(problems)} problems")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())

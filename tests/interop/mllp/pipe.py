#!/usr/bin/env python3
"""`meniscus check --from hl7 --to hl7` with a store and a quarantine, killed (SIGKILL) between messages and started again.

Holds: what was answered is answered again byte for byte by the next process; what was killed before its answer came is
       kept once; the same control id with other content is refused; what cannot be read is in the quarantine, for its
       owner alone, and `meniscus quarantine` lists, retries and discards it; without its store nothing is accepted.
Says:  nothing of a message on standard error, at the most talkative level.

usage: pipe.py PROGRAM RULES
"""
import pathlib
import signal
import stat
import subprocess
import sys
import tempfile
import threading

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from service import END, framed, frames_of, order  # noqa: E402

MARK = "ZQMARKZQ"


class Pipe:
    def __init__(self, program, rules, folder, history=None):
        words = [program, "check", "-", "--from", "hl7", "--to", "hl7", "--on-hold", "ua", "--only-rules", "--rules", rules,
                 "--history", history or f"sqlite:{folder / 'history.db'}", "--history-since", "2020-01-01", "--quarantine",
                 str(folder / "held"), "--log", "debug"]
        self.process = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.said = b""
        self.reader = threading.Thread(target=self.read_said, daemon=True)
        self.reader.start()

    def read_said(self):
        self.said = self.process.stderr.read()

    def send(self, bytes_):
        self.process.stdin.write(bytes_)
        self.process.stdin.flush()

    def ask(self, message):
        """The answer to a message, with its frame."""
        self.send(framed(message))
        return self.answer()

    def answer(self):
        got = b""
        while not got.endswith(END):
            byte = self.process.stdout.read(1)
            assert byte, f"no answer; {self.said.decode()}"
            got += byte
        return got

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        return self.wait()

    def end(self):
        """What is still answered, and the exit status."""
        rest, status = b"", None
        try:
            self.process.stdin.close()
        except BrokenPipeError:
            pass
        rest = self.process.stdout.read()
        status = self.wait()
        return rest, status

    def wait(self):
        status = self.process.wait()
        self.reader.join()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            try:
                pipe.close()
            except BrokenPipeError:
                pass
        assert MARK.encode() not in self.said, self.said.decode()
        return status


def run(statuses, *words):
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode in statuses, f"{' '.join(words)}: {done.returncode} {done.stderr}"
    return done.stdout + done.stderr


def numbers(program, folder):
    lines = run((0,), program, "history", "export", f"sqlite:{folder / 'history.db'}").splitlines()
    return sorted(number for number in [f"A-{n}" for n in range(20)] for line in lines if f'"{number}"' in line)


def killed_and_asked_again(begin, folder, program):
    messages = [order(f"A-{n}", MARK, dose="9999" if n == 3 else "50") for n in range(8)]
    answers = []
    for message in messages:
        pipe = begin()
        for before, answer in zip(messages, answers):
            assert pipe.ask(before.replace(b"20260302091400", b"20260302101500", 1)) == answer, "another answer"
        answers.append(pipe.ask(message))
        pipe.kill()
    assert sum(b"\rORC|UA|A-3" in answer for answer in answers) == 1, answers
    pipe = begin()
    pipe.send(b"".join(framed(order(f"A-{n}", MARK)) for n in range(8, 14)))
    pipe.process.stdout.read(1)  # they are judged together: all are kept
    pipe.kill()
    pipe = begin()
    again = [pipe.ask(order(f"A-{n}", MARK)) for n in range(8, 14)]
    assert all(b"\rMSA|AA|" in answer for answer in again), again
    other = pipe.ask(order("A-0", MARK, dose="60"))
    assert b"\rMSA|AR|A-0\r" in other and b"|205^Duplicate key identifier" in other, other
    rest, status = pipe.end()
    assert (rest, status) == (b"", 1), (rest, status)
    kept = numbers(program, folder)
    assert kept == sorted(f"A-{n}" for n in range(14)), kept


def unreadable(begin, folder, program, rules):
    broken = order("A-15", MARK).replace(b"|2.5.1|", f"|{MARK}|".encode())
    pipe = begin()
    for _ in range(2):
        assert b"\rMSA|AR|A-15\r" in pipe.ask(broken)
    pipe.send(b"\x0b" + order("A-16", MARK))  # never ended
    rest, status = pipe.end()
    assert len(frames_of(rest)) == 1 and b"\rMSA|AR|A-16\r" in rest and status == 2, (rest, status)
    held = folder / "held"
    files = sorted(held.iterdir())
    assert len(files) == 4, files
    modes = {stat.S_IMODE(path.stat().st_mode) for path in files}
    assert modes == {0o600} and stat.S_IMODE(held.stat().st_mode) == 0o700, modes
    listed = run((0,), program, "quarantine", "list", str(held))
    assert "(MSH-12.1)" in listed and "2 messages in quarantine" in listed, listed
    retried = run((2,), program, "quarantine", "retry", str(held), "--only-rules", "--rules", rules)
    assert retried.count("still not read") == 2, retried
    for path in held.glob("*.hl7"):  # the sender's version is known by now
        path.write_bytes(path.read_bytes().replace(f"|{MARK}|".encode(), b"|2.5.1|", 1))
    run((1, 2), program, "quarantine", "retry", str(held), "--only-rules", "--rules", rules, "--history",
        f"sqlite:{folder / 'history.db'}")
    assert len(list(held.glob("*.hl7"))) == 1, "what can be read has left"
    assert numbers(program, folder).count("A-15") == 1
    run((0,), program, "quarantine", "discard", str(held), "--all")
    assert not list(held.iterdir())


def without_store(begin, folder):
    pipe = begin()
    pipe.ask(order("A-0", MARK))
    with open(folder / "history.db", "r+b") as damaged:
        damaged.truncate(0)
    for name in ("history.db-wal", "history.db-shm"):
        (folder / name).unlink(missing_ok=True)
    pipe.send(framed(order("A-17", MARK)))
    rest, status = pipe.end()
    assert b"MSA|AA" not in rest and status == 4, (rest, status)


def main():
    program, rules = sys.argv[1:]
    with tempfile.TemporaryDirectory(prefix="meniscus-pipe-") as name:
        folder = pathlib.Path(name)

        def begin():
            return Pipe(program, rules, folder)

        killed_and_asked_again(begin, folder, program)
        unreadable(begin, folder, program, rules)
        without_store(begin, folder)
    print("killed and asked again: the same answers, every order once; what cannot be read is held; nothing is said of it")
    return 0


if __name__ == "__main__":
    sys.exit(main())

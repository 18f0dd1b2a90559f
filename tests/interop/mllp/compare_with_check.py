#!/usr/bin/env python3
"""A client of others talks to `meniscus serve`; each answer must be what `meniscus check --to hl7` says.

The client is the MLLP client of python3-hl7.  It sends all sample messages, each with a control id of its own, over one
connection; the answers are parsed by that library and compared field by field with those that `check` gives for the
same messages in one file, both with a history that begins with the first of them.  Only the time and the control id of an answer may differ.

usage: compare_with_check.py PROGRAM RULES FIXTURES DEMO
"""
import pathlib
import re
import subprocess
import sys
import tempfile

import hl7
from hl7.client import MLLPClient

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from service import Service, framed, frames_of  # noqa: E402


def messages(paths):
    """Every message of the files, with a control id that no other has."""
    found = []
    for path in paths:
        text = path.read_bytes().replace(b"\x0b", b"").replace(b"\x1c", b"").replace(b"\r\n", b"\r").replace(b"\n", b"\r")
        for message in re.split(rb"(?:^|(?<=\r))(?=MSH[^A-Za-z0-9_ ])", text):
            if not message.startswith(b"MSH"):
                continue
            header, _, rest = message.partition(b"\r")
            fields = header.split(header[3:4])
            if len(fields) > 9:
                fields[9] = b"T%04d" % len(found)
                found.append(header[3:4].join(fields) + b"\r" + rest)
    return found


def control_id(answer):
    return re.search(rb"\rMSA.([^|\r]*).([^|\r]*)", answer).group(2)


def parsed(answer):
    """Segments as lists of fields; the time and the control id of the answer itself are left out."""
    segments = [[str(field) for field in segment] for segment in hl7.parse(answer.decode())]
    header = segments[0]
    assert re.fullmatch(r"\d{14}[+-]\d{4}", header[7]), header[7]
    assert re.fullmatch(r"\d{14}-\d+", header[10]), header[10]
    header[7] = header[10] = ""
    return segments


def check_answers(program, rules, sent, store):
    done = subprocess.run([program, "check", "-", "--from", "hl7", "--to", "hl7", "--on-hold", "ua", "--only-rules",
                           "--rules", rules, "--history", f"sqlite:{store}"], input=b"".join(map(framed, sent)), capture_output=True, check=False)
    expected = {}
    for answer in frames_of(done.stdout):
        expected.setdefault(control_id(answer), []).append(answer)
    return expected


def serve_answers(program, rules, sent, expected, store):
    """What the client gets for each message; how many answers it waits for is what `check` gave."""
    answers = {}
    with Service(program, "--history", f"sqlite:{store}", rules=rules) as service, MLLPClient(*service.address) as client:
        for number, message in enumerate(sent):
            key = b"T%04d" % number
            count = len(expected.get(key, []))
            if count == 0:
                client.socket.sendall(framed(message))  # no answer is asked for
                continue
            data = client.send_message(message)
            if len(frames_of(data)) < count:
                data += complete(client.socket, data, count)
            answers[key] = frames_of(data)
    return answers


def complete(peer, data, count):
    more = b""
    while len(frames_of(data + more)) < count:
        more += peer.recv(65536)
    return more


def main():
    program, rules, fixtures, demo = sys.argv[1:]
    sent = messages(sorted(pathlib.Path(fixtures).glob("*.hl7")) + [pathlib.Path(demo)])
    with tempfile.TemporaryDirectory(prefix="meniscus-mllp-") as folder:
        expected = check_answers(program, rules, sent, f"{folder}/check.db")
        got = serve_answers(program, rules, sent, expected, f"{folder}/serve.db")
    wrong = 0
    fields = 0
    for key, answers in expected.items():
        ours = [parsed(answer) for answer in got.get(key, [])]
        theirs = [parsed(answer) for answer in answers]
        fields += sum(len(segment) for answer in theirs for segment in answer)
        if ours == theirs:
            continue
        wrong += 1
        for a, b in zip(ours + [None] * len(theirs), theirs):
            if a != b:
                print(f"{key.decode()}: serve says {a}\n       check says {b}")
    print(f"{len(sent)} messages, {len(expected)} answered, {fields} fields compared, {wrong} differ")
    return 1 if wrong or len(expected) < 35 else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""A second client of others talks to `meniscus serve`: simple-hl7 of npm sends the sample messages and parses the answers.

Each answer, field by field, must be what python3-hl7 parses of the bytes that came for the same message over a plain
socket.  Only the time and the control id of an answer may differ.

usage: compare_with_npm.py PROGRAM SOURCE_FOLDER
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]
from compare_with_check import messages, parsed  # noqa: E402
from npm import install  # noqa: E402
from service import Service, framed, receive  # noqa: E402


def by_npm(cache, port, sent):
    with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
        json.dump([message.decode() for message in sent], file)
        file.flush()
        environment = dict(os.environ, NODE_PATH=str(cache / "node_modules"))
        done = subprocess.run(["node", HERE / "send.js", str(port), file.name], env=environment, capture_output=True,
                              text=True, timeout=120, check=False)
    if done.returncode != 0:
        raise AssertionError(done.stderr)
    return json.loads(done.stdout)


def by_socket(service, sent):
    answers = []
    with service.connect() as peer:
        for message in sent:
            peer.sendall(framed(message))
            answers.append(parsed(receive(peer, 1)[0]))
    return answers


def flat(segments):
    """Fields by segment: the separators that stand as fields of their own in a header are left out, and so are empty
    fields at the end of a segment."""
    out = []
    for segment in segments:
        fields = [str(field) for field in segment]
        if fields[0] == "MSH":
            fields = ["MSH"] + [field for field in fields[1:] if field not in ("|", "^~\\&")]
        while fields and fields[-1] == "":
            fields.pop()
        out.append(fields)
    return out


def without_time(segments):
    """MSH-7 and MSH-10 are the answer's own; with the separators left out they are the sixth and the ninth."""
    header = segments[0]
    header[5] = header[8] = ""
    return segments


def main():
    program, source = sys.argv[1], pathlib.Path(sys.argv[2])
    cache = source / ".cache" / "npm" / "mllp"
    install(HERE / "package.json", cache)
    paths = sorted((source / "tests/fixtures/hl7").glob("*.hl7")) + [source / "tests/fixtures/demo/orders.hl7"]
    usual = [m for m in messages(paths) if m.startswith(b"MSH|^~\\&|") and m.isascii()]
    # One answer each: what asks for two (enhanced mode) has none that this client could tell apart.
    sent = [m for m in usual if not m.split(b"\r")[0].split(b"|")[14:16] or not any(m.split(b"\r")[0].split(b"|")[14:16])]
    with Service(program, rules=str(source / "rules")) as service:
        theirs = by_npm(cache, service.address[1], sent)
        service.stop()
    with Service(program, rules=str(source / "rules")) as service:
        ours = by_socket(service, sent)
        service.stop()
    problems = []
    compared = 0
    for number, (one, other) in enumerate(zip(theirs, ours, strict=True)):
        a, b = without_time(flat(one)), without_time(flat(other))
        compared += sum(len(fields) for fields in a)
        if a != b:
            problems.append(f"message {number}:\n{a}\n{b}")
    print("\n".join(problems[:3]))
    print(f"{len(sent)} messages, {compared} fields compared, {len(problems)} answers differ")
    return 1 if problems or compared < 500 else 0


if __name__ == "__main__":
    sys.exit(main())

#!/usr/bin/env python3
"""No value of an order or a patient reaches the log, the metrics or an error text.

A marked word stands in every place of an order that can name a patient or a thing of theirs, and the order goes down every
path: judged, held, cut off, too large, without a header, of an unknown kind and version, in a bad frame, over a connection that
breaks; sent again, with a control id that was another's, of a merged patient; rules are reloaded between.  There is a store
and a quarantine, and in the end the store is gone.  The log is at its most talkative.  The word must be in the answers and nowhere else.

usage: marked_values.py PROGRAM RULES
"""
import pathlib
import shutil
import signal
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from service import VT, Service, framed, get, order, receive  # noqa: E402

MARK = "ZQMARKZQ"


def variants():
    """Messages with how many answers each has: one, but in enhanced mode where the order is held."""
    yield order("A-2", MARK, "AL|NE", dose="9999"), 2
    for number, message in enumerate(once()):
        yield message.replace(b"|A-1|P|", f"|M-{number}|P|".encode()), 1
    same = order("A-9", MARK)
    yield same, 1
    yield same, 1  # again
    yield same.replace(b"|50||mg|", b"|60||mg|"), 1  # its control id is another's


def once():
    usual = order("A-1", MARK)
    yield usual
    yield order(MARK, MARK, dose="9999")  # held
    yield usual[:-1]  # the last segment end is missing
    yield usual.replace(b"|50||mg|", f"|{MARK}||{MARK}|".encode())
    yield usual.replace(b"2.5.1", MARK.encode())
    yield usual.replace(b"RDE^O11^RDE_O11", MARK.encode())
    yield usual.replace(b"SC^Subcutaneous^HL70162", MARK.encode())
    yield usual.replace(b"testosterone-cypionate^", f"{MARK}^".encode())
    yield usual.replace(b"ABD^abdomen", f"{MARK}^{MARK}".encode())
    yield usual.replace(b"ORC|NW", f"ORC|{MARK}".encode())
    yield usual.replace(b"ORC|NW", b"ORC|CA")
    yield usual.replace(b"MSH|^~\\&|ORDERS|", f"MSH|^~\\&|{MARK}|".encode())
    yield MARK.encode()
    yield usual.partition(b"\r")[2]
    yield b"MSH|" + MARK.encode()
    yield (f"MSH|^~\\&|{MARK}|S|R|P|2026||ADT^A40^ADT_A39|{MARK}-2|P|2.5.1\rEVN|A40|2026\rPID|1||{MARK}\r"
           f"MRG|{MARK}-3\r").encode()
    yield f"MSH|^~\\&|{MARK}|S|R|P|2026||ADT^A40^ADT_A39|{MARK}-4|P|2.5.1\rPID|1||{MARK}\rMRG|\r".encode()
    yield usual + b"OBX|1|TX|" + MARK.encode() * 200_000 + b"\r"  # too large


def main():
    program, rules = sys.argv[1:]
    with tempfile.TemporaryDirectory(prefix="meniscus-marked-") as folder:
        ours = pathlib.Path(folder) / "rules"
        shutil.copytree(rules, ours)
        store = pathlib.Path(folder) / "history.db"
        with Service(program, "--log", "debug", "--status", "127.0.0.1:0", "--history", f"sqlite:{store}",
                     "--quarantine", f"{folder}/quarantine", rules=str(ours)) as service:
            with service.connect() as peer:
                peer.sendall(MARK.encode())  # outside of a frame
                marked = 0
                for message, answers in variants():
                    peer.sendall(framed(message))
                    marked += any(MARK.encode() in answer for answer in receive(peer, answers))
                assert marked >= 6, f"only {marked} answers hold the mark: it does not reach what it should"
                (ours / "mistake.rule").write_text("rule broken\n")
                service.signal(signal.SIGHUP)
                service.wait_for_log("those that were in force stay")
                (ours / "mistake.rule").unlink()
                service.signal(signal.SIGHUP)
                service.wait_for_log("in force: ")
                peer.sendall(framed(order("A-3", MARK)))
                receive(peer, 1)
                held = len(list(pathlib.Path(folder).glob("quarantine/*.hl7")))
                assert held >= 4, f"{held} messages in quarantine"
                peer.sendall(VT + order("A-4", MARK))  # never ended
            with service.connect() as peer:
                peer.sendall(framed(order("A-5", MARK)) + framed(order("A-6", MARK))[:200])
                receive(peer, 1)
            with open(store, "r+b") as damaged:  # what is written next cannot be
                damaged.truncate(0)
            for name in ("history.db-wal", "history.db-shm"):
                (pathlib.Path(folder) / name).unlink(missing_ok=True)
            (pathlib.Path(folder) / "quarantine").rename(f"{folder}/gone")
            with service.connect() as peer:
                peer.sendall(framed(MARK.encode()))  # no quarantine to go to
                receive(peer, 1)
            service.wait_for_log("cannot be written")
            pages = [get(service.says["status"], path) for path in ("/live", "/ready", "/metrics", "/" + MARK)]
            assert [status for status, _ in pages] == [200, 200, 200, 404], pages
            status = service.stop()
            assert status == 0, status
            texts = {"the log": "".join(service.log), "standard output": str(service.says),
                     "the pages": "".join(text for _, text in pages)}
    wrong = [where for where, text in texts.items() if MARK.lower() in text.lower()]
    assert len(texts["the log"].splitlines()) > 30, "the log says little; is it at its most talkative?"
    print(f"{len(list(variants()))} messages; the mark was found in: {', '.join(wrong) or 'nothing'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

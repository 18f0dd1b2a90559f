#!/usr/bin/env python3
"""meniscus-ranks under mpirun against `meniscus replay` in one process: the same bytes, the same status, the same sentences.

  bytes    text, json, jsonl and the report of a year of orders (tests/year): one set of rules and two, on 1, 2 and 4 ranks;
           from gzip; of files that cannot be opened or hold what cannot be read; out of the order of time, and with ids
           that turn out to be of one patient, so that all is sorted
  errors   rules with a mistake, a wrong option, an option that ranks have not, and a folder that one rank alone cannot make,
           a rank that is killed: nothing on standard output, the sentence once, the status of the rank, and an end in time
  pieces   texts that do not fit into one message (gather_check)

The comparisons are also shown to be able to fail, by outputs of another seed.

usage: compare_with_one.py MPIRUN RANKS PROGRAM MAKE_YEAR GATHER_CHECK RULES
"""
import gzip
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

AFTER = ('adjust sc-volume-limit = 1 mL because "Replay of a lower limit" by "clinical lead" until 2027-03-01\n'
         'regrade weight-plausible from note to caution because "try" by "clinical lead" until 2027-03-01\n')
WRONG = "rule broken\n  title nothing\n"
COMMON = ["--history-since", "2020-01-01", "--rules-as-of", "2026-11-25", "--threads", "1"]
MERGES = 20
LIMIT = 240  # seconds for one run


class Runs:
    def __init__(self, arguments, folder):
        self.mpirun, self.ranks, self.program, self.make_year, self.gather = (str(Path(a).resolve()) for a in arguments[:5])
        self.folder = folder
        # MPI keeps what it has allocated; mpirun may run as root here and on more ranks than processors.
        self.environment = dict(os.environ, MENISCUS_RULES=str(Path(arguments[5]).resolve()), TZ="UTC",
                                ASAN_OPTIONS="detect_leaks=0", OMPI_MCA_rmaps_base_oversubscribe="1",
                                OMPI_ALLOW_RUN_AS_ROOT="1", OMPI_ALLOW_RUN_AS_ROOT_CONFIRM="1",
                                OMPI_MCA_hwloc_base_binding_policy="none")
        self.wrong, self.compared = [], 0

    def run(self, command):
        done = subprocess.run(command, cwd=self.folder, env=self.environment, stdin=subprocess.DEVNULL,
                              capture_output=True, timeout=LIMIT, check=False)
        return done.returncode, done.stdout, done.stderr.decode("utf-8", "replace")

    def one(self, words):
        return self.run([self.program, "replay", *words])

    def many(self, count, words, *more):
        return self.run([self.mpirun, "-n", str(count), self.ranks, *words, *more])

    def complain(self, sentence):
        self.wrong.append(sentence)


def sentences(text):
    """What the program itself says; mpirun adds lines of its own when a status is not 0."""
    return sorted(line for line in text.splitlines() if line.startswith("meniscus: "))


def compare(runs, name, words, counts, expected_status):
    status, out, err = runs.one(words)
    if status != expected_status or not out:
        runs.complain(f"{name}: one process ends with {status}, {len(out)} bytes: {err[:300]}")
    for count in counts:
        many = runs.many(count, words)
        runs.compared += 1
        if many[0] != status:
            runs.complain(f"{name}, {count} ranks: status {many[0]}, one process {status}: {many[2][:300]}")
        if many[1] != out:
            runs.complain(f"{name}, {count} ranks: {len(many[1])} other bytes, one process {len(out)}")
        if sentences(many[2]) != sentences(err):
            runs.complain(f"{name}, {count} ranks: {sentences(many[2])}, one process {sentences(err)}")
    return out


def check_bytes(runs):
    two = ["year.ndjson", "--against", "after.rule", *COMMON]
    compare(runs, "text", ["year.ndjson", *COMMON], [1, 2, 4], 0)
    out = compare(runs, "json, two sides", [*two, "--to", "json"], [1, 2, 4], 1)
    compare(runs, "text, two sides", two, [2], 1)
    compare(runs, "jsonl, patients", [*two, "--to", "jsonl", "--show-patients"], [2], 1)
    compare(runs, "gzip", ["year.ndjson.gz", "--to", "json", *COMMON], [2], 0)
    compare(runs, "unreadable", ["year.ndjson", "not-there.ndjson", "damaged.ndjson", "--to", "json", *COMMON], [1, 3], 2)
    compare(runs, "sorted", ["late.ndjson", "year.ndjson", "--to", "json", *COMMON], [3], 0)
    check_report(runs, two)
    merged = compare(runs, "merged", ["merged.hl7", "--profile", "profile.json", "--to", "json", *COMMON], [2, 4], 0)
    if json.loads(merged)["input"]["merges"] != MERGES:
        runs.complain(f"merged: {MERGES} merges are not {json.loads(merged)['input']['merges']}")
    other = runs.many(2, [*two, "--to", "json", "--seed", "2"])
    if other[1] == out or not other[1]:
        runs.complain("planted and not seen: another seed gives the same bytes")


def check_report(runs, words):
    one, many = runs.one([*words, "--report", "one.html"]), runs.many(2, words, "--report", "many.html")
    reports = [(runs.folder / name).read_bytes() if (runs.folder / name).exists() else b"" for name in ("one.html", "many.html")]
    runs.compared += 1
    if not reports[0] or reports[0] != reports[1] or one[1] != many[1]:
        runs.complain(f"report: {[len(report) for report in reports]} bytes, {many[2][:300]}")


def fails(runs, name, result, status, sentence):
    runs.compared += 1
    if result[0] != status:
        runs.complain(f"{name}: status {result[0]}, not {status}: {result[2][:300]}")
    if result[1]:
        runs.complain(f"{name}: {len(result[1])} bytes on standard output")
    if result[2].count(sentence) != 1:
        runs.complain(f"{name}: `{sentence}` {result[2].count(sentence)} times: {result[2][:600]}")


def check_errors(runs):
    fails(runs, "rules", runs.many(2, ["year.ndjson", "--against", "wrong.rule"]), 3, "the rules have mistakes")
    fails(runs, "option", runs.many(3, ["year.ndjson", "--to", "xlsx"]), 3, "--to cannot be `xlsx`")
    fails(runs, "no file", runs.many(2, []), 3, "name the orders")
    fails(runs, "shard", runs.many(2, ["year.ndjson", "--shard", "1/2"]), 3, "leave out --shard")
    fails(runs, "part", runs.many(2, ["year.ndjson", "--part=p.json"]), 3, "leave out --part")
    fails(runs, "standard input", runs.many(2, ["-"]), 3, "standard input reaches one rank only")
    fails(runs, "merge", runs.many(2, ["merge", "p.json"]), 3, "for `meniscus replay` alone")
    # The second rank alone has no folder to sort in.
    words = ["year.ndjson", "--sort", *COMMON]
    one_fails = runs.run([runs.mpirun, "-n", "1", runs.ranks, *words, ":",
                          "-n", "1", "env", "TMPDIR=/proc", runs.ranks, *words])
    fails(runs, "one rank", one_fails, 4, "cannot make a folder in")
    killed = runs.run([runs.mpirun, "-n", "1", runs.ranks, "year.ndjson", *COMMON, ":", "-n", "1", "sh", "-c", "kill -9 $$"])
    runs.compared += 1
    if killed[0] == 0 or killed[1]:
        runs.complain(f"a rank that is killed: status {killed[0]}, {len(killed[1])} bytes on standard output")
    status, out, err = runs.many(2, ["--help"])
    if status != 0 or out.count(b"usage: mpirun -n N meniscus-ranks") != 1:
        runs.complain(f"--help: status {status}, {out[:200]}, {err[:200]}")


def check_pieces(runs):
    for count in (1, 2, 5):
        status, out, err = runs.run([runs.mpirun, "-n", str(count), runs.gather])
        runs.compared += 1
        if status != 0 or out.strip() != f"{count} ranks, 140 rounds, 0 wrong".encode():
            runs.complain(f"pieces, {count} ranks: status {status}, {out}, {err[:300]}")


def with_merges(year):
    """A year of HL7 v2 in the middle of which some patients turn out to be one: ADT^A40, HL7 v2.5.1, section 3.3.40."""
    messages = year.split(b"MSH|")[1:]
    half = len(messages) // 2
    time = messages[half].split(b"|")[5]
    ids = sorted({part.split(b"^")[0] for message in messages for part in message.split(b"PID|1||")[1:]} - {b""})
    merges = [b"^~\\&|ADT|SLATEMOOR|RX|PH|" + time + b"||ADT^A40^ADT_A39|M-%d|P|2.5.1\rEVN|A40|" % i + time + b"\rPID|1||" +
              ids[2 * i] + b"^^^SLATEMOOR^MR\rMRG|" + ids[2 * i + 1] + b"^^^SLATEMOOR^MR\r" for i in range(MERGES)]
    return b"".join(b"MSH|" + message for message in [*messages[:half], *merges, *messages[half:]])


def write_inputs(runs):
    status, year, err = runs.run([runs.make_year, "rich", "3000"])
    lines = year.splitlines(keepends=True)
    if status != 0 or len(lines) < 2000:
        runs.complain(f"no year of orders: {status}, {len(lines)} lines: {err[:200]}")
    (runs.folder / "year.ndjson").write_bytes(year)
    (runs.folder / "year.ndjson.gz").write_bytes(gzip.compress(year))
    (runs.folder / "late.ndjson").write_bytes(b"".join(reversed(lines[-200:])))
    damaged = b"".join(b'{"order": {"id": "D-%d"' % i + b"\n" for i in range(30))
    (runs.folder / "damaged.ndjson").write_bytes(damaged + lines[0])
    (runs.folder / "merged.hl7").write_bytes(with_merges(runs.run([runs.make_year, "sparse", "2000"])[1]))
    (runs.folder / "profile.json").write_bytes(runs.run([runs.make_year, "profile"])[1])
    (runs.folder / "after.rule").write_text(AFTER, encoding="utf-8")
    (runs.folder / "wrong.rule").write_text(WRONG, encoding="utf-8")


def main():
    with tempfile.TemporaryDirectory(prefix="meniscus-ranks-") as folder:
        runs = Runs(sys.argv[1:], Path(folder))
        write_inputs(runs)
        if not runs.wrong:
            check_bytes(runs)
            check_errors(runs)
            check_pieces(runs)
    print("\n".join(runs.wrong) if runs.wrong else f"{runs.compared} runs of ranks: as one process")
    return 1 if runs.wrong or runs.compared == 0 else 0


if __name__ == "__main__":
    sys.exit(main())

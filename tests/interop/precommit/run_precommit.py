#!/usr/bin/env python3
"""The hook of .pre-commit-hooks.yaml, run by Debian's pre-commit in a git repository of its own.

Holds that a commit with a clear order passes, that one with a hold is refused and shows where, that several files are judged in
one run, that settings come from the repository's meniscus.json, that a mistake in it stops the commit, and that the hook changes
nothing. Where pre-commit or git is missing the script says so and ends with 77, which ctest shows as skipped.

usage: run_precommit.py PROGRAM SOURCE_FOLDER
"""
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

NOT_RUN = 77
CLEAR = ('{"order":{"id":"A-1"},"patient":{"id":"SM-0012"},"substance":{"code":"testosterone-cypionate"},"dose":"50 mg",'
         '"strength":"200 mg/mL","volume":"0.25 mL","route":"subcutaneous"}\n')
HOLD = CLEAR.replace("0.25 mL", "0.5 mL").replace("A-1", "A-2")
CLARIFY = "order.id,patient.id,substance.code,dose,strength,volume\nB-1,SM-0013,testosterone-cypionate,50 mg,200 mg/mL,0.27 mL\n"


class Repository:
    """A repository that uses the hook, beside one that has it."""

    def __init__(self, program, source, folder):
        self.environment = dict(os.environ, PATH=f"{program.parent}:{os.environ['PATH']}", TZ="UTC",
                                MENISCUS_RULES=str(source / "tests/golden/rules"), PRE_COMMIT_HOME=str(folder / "home"),
                                HOME=str(folder), GIT_CONFIG_NOSYSTEM="1", PRE_COMMIT_COLOR="never")
        self.hooks, self.path = folder / "hooks", folder / "work"
        self.wrong = []
        for path in (self.hooks, self.path):
            path.mkdir()
            self.git(path, "init", "-q")
            self.git(path, "config", "user.email", "developer@slatemoor.example")
            self.git(path, "config", "user.name", "developer")
        shutil.copy(source / ".pre-commit-hooks.yaml", self.hooks)
        self.git(self.hooks, "add", "-A")
        self.git(self.hooks, "commit", "-qm", "hooks")
        revision = self.git(self.hooks, "rev-parse", "HEAD").stdout.strip()
        self.write(".pre-commit-config.yaml",
                   f"repos:\n- repo: {self.hooks}\n  rev: {revision}\n  hooks:\n  - id: meniscus-check\n")
        (self.path / "orders").mkdir()

    def run(self, *command, path=None):
        return subprocess.run(command, cwd=path or self.path, env=self.environment, capture_output=True, text=True,
                              timeout=200, check=False)

    def git(self, path, *words):
        done = self.run("git", *words, path=path)
        if done.returncode != 0:
            sys.exit(f"git {' '.join(words)}: {done.stderr}")
        return done

    def write(self, name, text):
        (self.path / name).write_text(text, encoding="utf-8")

    def expect(self, what, holds, done):
        if not holds:
            self.wrong.append(f"NOT SO: {what}\n{done.stdout}{done.stderr}")

    def commit(self, **files):
        """Writes files of orders/, and tries to commit them."""
        for name, text in files.items():
            self.write("orders/" + name.replace("_", "."), text)
        self.git(self.path, "add", "-A")
        before = {path: path.read_bytes() for path in sorted(self.path.rglob("*")) if path.is_file() and ".git" not in path.parts}
        done = self.run("git", "commit", "-qm", "orders")
        after = {path: path.read_bytes() for path in sorted(self.path.rglob("*")) if path.is_file() and ".git" not in path.parts}
        self.expect("the hook changes nothing", before == after, done)
        return done


def judge(work):
    done = work.run("pre-commit", "install")
    work.expect("pre-commit installs its hook", done.returncode == 0, done)
    done = work.commit(a_ndjson=CLEAR)
    work.expect("a clear order is committed", done.returncode == 0 and "Passed" in done.stderr, done)
    done = work.commit(b_ndjson=HOLD, c_csv=CLARIFY)
    both = done.stdout + done.stderr
    work.expect("a commit with a hold is refused", done.returncode != 0 and "exit code: 1" in both, done)
    for place in ("orders/b.ndjson:1:144: hold: ", "orders/c.csv:2:52: clarify: "):
        work.expect(f"it says {place}", place in both, done)
    work.expect("the clear order that is not in the commit is not judged", "orders/a.ndjson" not in both, done)
    work.write("meniscus.json", '{"fail-at": "hold", "as-of": "2026-03-02"}\n')
    work.git(work.path, "reset", "-q")
    (work.path / "orders/b.ndjson").unlink()
    done = work.commit()
    work.expect("meniscus.json lets a clarify pass", done.returncode == 0 and "Passed" in done.stderr, done)
    work.write("meniscus.json", '{"fail-add": "hold"}\n')
    done = work.commit(d_ndjson=CLEAR)
    both = done.stdout + done.stderr
    work.expect("a mistake in meniscus.json stops the commit", done.returncode != 0 and "exit code: 3" in both, done)
    work.expect("it says where", "meniscus.json:1:14: error: unknown key `fail-add`; is `fail-at` meant?" in both, done)
    work.write("meniscus.json", "{}\n")
    done = work.commit(e_ndjson=CLEAR + "no order\n")
    both = done.stdout + done.stderr
    work.expect("what is no order stops the commit", "exit code: 2" in both and "[unreadable]" in both, done)
    work.git(work.path, "reset", "-q")
    (work.path / "orders/e.ndjson").unlink()
    done = work.run("pre-commit", "run", "--all-files")
    work.expect("--all-files judges several files", done.returncode != 0 and "orders/c.csv:2:52: clarify: " in done.stdout, done)


def main():
    program, source = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    for needed in ("pre-commit", "git"):
        if shutil.which(needed) is None:
            print(f"NOT RUN: {needed} is not installed")
            return NOT_RUN
    with tempfile.TemporaryDirectory(prefix="meniscus-precommit-") as folder:
        work = Repository(program, source, Path(folder))
        judge(work)
    print("\n".join(work.wrong) if work.wrong else "pre-commit runs the hook as the documents say")
    return 1 if work.wrong else 0


if __name__ == "__main__":
    sys.exit(main())

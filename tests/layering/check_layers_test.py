#!/usr/bin/env python3
"""The layering check catches what it is there to catch: each planted include must be reported, each allowed not."""
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

CHECK = Path(__file__).with_name("check_layers.py")

REFUSED = [
    ("engine/eval/a.cpp", '#include "grammar/compile.hpp"'),
    ("engine/eval/a.cpp", '#include "adapters/json/reader.hpp"'),
    ("engine/eval/a.cpp", "#include <antlr4-runtime.h>"),
    ("engine/eval/a.cpp", "#include <iostream>"),
    ("engine/eval/a.cpp", "#include <sys/socket.h>"),
    ("engine/base/a.hpp", "#  include <nlohmann/json.hpp>"),
    ("grammar/frontend/a.hpp", "#include <antlr4-runtime.h>"),
    ("grammar/check/a.cpp", '#include "antlr4-runtime.h"'),
    ("grammar/check/a.cpp", '#include "adapters/rules/pattern.hpp"'),
    ("adapters/json/a.cpp", '#include "adapters/csv/reader.hpp"'),
    ("adapters/json/a.cpp", '#include "grammar/frontend/ast.hpp"'),
    ("adapters/csv/a.cpp", '#include "adapters/cli/options.hpp"'),
    ("adapters/input/a.cpp", '#include "adapters/cli/options.hpp"'),
    ("adapters/cli/a.cpp", '#include "adapters/json/reader.cpp"'),
    ("adapters/json/a.cpp", '#include "tests/bench/order_maker.hpp"'),
    ("adapters/replay_report/a.cpp", '#include "adapters/report/found.hpp"'),
]
ALLOWED = [
    ("engine/eval/a.cpp", '#include "engine/base/result.hpp"'),
    ("engine/eval/a.cpp", "#include <vector>"),
    ("engine/eval/a.cpp", "#include <boost/container/small_vector.hpp>"),
    ("grammar/frontend/a.cpp", "#include <antlr4-runtime.h>"),
    ("grammar/check/a.cpp", '#include "engine/program/program.hpp"'),
    ("adapters/json/a.cpp", "#include <simdjson.h>"),
    ("adapters/json/a.cpp", '#include "adapters/json/places.hpp"'),
    ("adapters/rules/a.cpp", '#include "grammar/compile.hpp"'),
    ("adapters/input/a.cpp", '#include "adapters/json/reader.hpp"'),
    ("adapters/cli/a.cpp", '#include "adapters/report/text.hpp"'),
    ("adapters/cli/a.cpp", '#include "adapters/replay_report/html_report.hpp"'),
]


def run(path, line):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, path)
        file.parent.mkdir(parents=True)
        file.write_text(f"// A file.\n{line}\n", encoding="utf-8")
        return subprocess.run([sys.executable, CHECK, folder], capture_output=True, text=True, check=False)


class Planted(unittest.TestCase):
    def test_every_forbidden_include_is_reported_at_its_line(self):
        for path, line in REFUSED:
            with self.subTest(path=path, line=line):
                result = run(path, line)
                self.assertEqual(result.returncode, 1)
                self.assertIn(f"{path}:2: ", result.stdout)

    def test_every_allowed_include_passes(self):
        for path, line in ALLOWED:
            with self.subTest(path=path, line=line):
                self.assertEqual(run(path, line).returncode, 0)

    def test_an_empty_tree_is_no_success(self):
        with tempfile.TemporaryDirectory() as folder:
            result = subprocess.run([sys.executable, CHECK, folder], capture_output=True, check=False)
            self.assertEqual(result.returncode, 1)


if __name__ == "__main__":
    unittest.main()

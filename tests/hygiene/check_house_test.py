#!/usr/bin/env python3
"""The house check catches what it is there to catch: one planted fault at a time in a small tree that is in order."""
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

CHECK = Path(__file__).with_name("check_house.py")
SCHEMA = '{"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "a", "title": "A"}'
GOOD = {
    "README.md": "# A\n\nSee [b](docs/b.md#the-second-part).\n",
    "docs/b.md": "# B\n\n## The second part\n",
    "docs/diagnostics.md": "# Diagnostics\n\n## R0101\n",
    "docs/schemas/a.json": SCHEMA,
    "engine/a.cpp": "// What it is for.\nint a() { return 1; }\n",
    "grammar/diagnostics.def": '// The list.\nDIAGNOSTIC(R0101, "text")\n',
}
FAULTS = [
    ("notes.txt", "a\n", "not an entry of the top level"),
    ("engine/long.cpp", "// Long.\n" * 801, "801 lines"),
    ("engine/wide.cpp", "// " + "w" * 100 + "\n", "103 columns"),
    ("engine/bare.cpp", "int b();\n", "begins without saying"),
    ("engine/open.cpp", "// What.\n// TO" + "DO later\n", "an open end"),
    ("engine/blank.cpp", "// What. \n", "trailing blanks"),
    ("docs/dash.md", "a \u2014 b\n", "a long dash"),
    ("docs/c.md", "[x](gone.md)\n", "leads nowhere"),
    ("docs/d.md", "[x](b.md#gone)\n", "no heading"),
    ("docs/diagnostics.md", "# Diagnostics\n", "no section on R0101"),
    ("docs/diagnostics.md", "## R0101\n\n## R0102\n", "R0102 is not in"),
    ("docs/schemas/b.json", "{", "docs/schemas/b.json"),
    ("docs/schemas/b.json", "{}", "no `title`"),
]


def run(files):
    with tempfile.TemporaryDirectory() as folder:
        for name, text in files.items():
            path = Path(folder, name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return subprocess.run([sys.executable, CHECK, folder], capture_output=True, text=True, check=False)


class Planted(unittest.TestCase):
    def test_a_tree_in_order_passes(self):
        result = run(GOOD)
        self.assertEqual((result.returncode, result.stdout), (0, "the house is in order\n"))

    def test_every_fault_is_named(self):
        for name, text, complaint in FAULTS:
            with self.subTest(name=name, complaint=complaint):
                result = run({**GOOD, name: text})
                self.assertEqual(result.returncode, 1)
                self.assertIn(complaint, result.stdout)


if __name__ == "__main__":
    unittest.main()

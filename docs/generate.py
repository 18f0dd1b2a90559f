#!/usr/bin/env python3
"""Writes what follows from engine/order/fields.def: docs/fields.md and docs/schemas/order.schema.json, and from
grammar/frontend/tokens.def: docs/editors/meniscus-rule.tmLanguage.json, and from grammar/pages: docs/diagnostics.md.

usage: generate.py ROOT [--check]     --check writes nothing; exit status 1 when a file is not as it would be written
"""
import json
import re
import sys
from pathlib import Path

import code_pages
import editor_grammar

ROW = re.compile(r'FIELD\((\w+), "([^"]+)", (\w+), "([^"]*)",\s*"([^"]*)"\)')
GROUP = re.compile(r"^// (.+)$")
HEAD_LINES = "FIELD("

# Kind -> how people say it, an example, its JSON Schema.
QUANTITY = {"anyOf": [{"type": ["string", "null"]}, {"$ref": "#/$defs/quantity"}]}
TEXT = {"type": ["string", "null"]}
DATE = {"type": ["string", "null"], "description": "ISO 8601: a year and a month, a day, or a day and a time"}
COUNT = {"anyOf": [{"type": ["integer", "null"], "minimum": 0}, {"type": "string"}]}
WORDS = {"anyOf": [{"type": "array", "items": {"type": "string"}}, {"type": ["string", "null"]}]}


def items(name):
    return {"anyOf": [{"type": "array", "items": {"$ref": f"#/$defs/{name}"}}, {"type": "null"}]}


KINDS = {
    "Id": ("id", "`A-102`", {"type": ["string", "integer", "null"]}),
    "Code": ("code", "`testosterone-cypionate`", TEXT),
    "Word": ("word", "`subcutaneous`", TEXT),
    "Text": ("text", "", TEXT),
    "Quantity": ("quantity", "`0.25 mL`", QUANTITY),
    "Amount": ("amount: mass, biological units, volume or moles", "`50 mg`, `20 units`", QUANTITY),
    "Strength": ("strength", "`200 mg/mL`, `100 mg/5 mL`, `1 % w/v`, `1:1000`, `U-100`", QUANTITY),
    "AmountPerBodyMass": ("amount per body mass", "`1 mg/kg`", QUANTITY),
    "Count": ("count", "`12`", COUNT),
    "Gauge": ("gauge", "`25 G`", {"type": ["string", "integer", "null"]}),
    "Date": ("date", "`2026-03-02`, `2026-03-02T09:14:00+01:00`", DATE),
    "MonthEnd": ("date; a month runs to its end", "`2027-01`", DATE),
    "YesNo": ("yes or no", "`yes`", {"type": ["boolean", "string", "null"]}),
    "Words": ("list of words", "`sesame-oil`", WORDS),
    "Components": ("list of components", "", items("component")),
    "Steps": ("list of steps", "", items("step")),
    "Sites": ("list of sites", "", items("place")),
}


def part(*names):
    return {"type": "object", "properties": {name: QUANTITY for name in names}}


def text_part(*names):
    return {name: TEXT for name in names}


DEFS = {
    "quantity": {
        "type": "object",
        "properties": {"value": {"type": ["number", "string"]}, "unit": {"type": "string"}},
        "required": ["value"],
    },
    "component": {
        "type": "object",
        "properties": {**text_part("substance"), **part("dose", "strength", "volume")["properties"]},
    },
    "step": part("dose", "volume", "every", "lasts"),
    "place": {"type": "object", "properties": text_part("site", "side")},
}


def read_fields(root):
    """Rows of the table as (group, id, name, kind, detail, meaning)."""
    group, rows = "", []
    for line in (root / "engine/order/fields.def").read_text(encoding="utf-8").splitlines():
        match = ROW.match(line)
        if match:
            rows.append((group, *match.groups()))
        elif GROUP.match(line):
            group = GROUP.match(line).group(1)
        elif line.startswith(HEAD_LINES):
            raise SystemExit(f"not understood: {line}")
    return rows


def holds(kind, detail):
    text = KINDS[kind][0]
    if kind == "Quantity":
        return f"{text}: {detail}"
    return f"{text} of `{detail}.csv`" if detail else text


def fields_page(rows):
    lines = ["# Fields", "",
             "Every field of an order: its name in JSON (nested at the dots), in CSV (the column) and in rules. All but",
             "`order.id` are optional. A missing field is unknown; `null`, `[]` or HL7 `\"\"` is known to be none;",
             "of what no injection is without (patient, medicine, dose, route and the like) it is unknown all the same.",
             "", "This page comes from `engine/order/fields.def` (`./dev docs`)."]
    group = None
    for row_group, _, name, kind, detail, meaning in rows:
        if row_group != group:
            group = row_group
            lines += ["", f"## {group[0].upper()}{group[1:]}", "", "| field | meaning | kind |", "| --- | --- | --- |"]
        lines.append(f"| `{name}` | {meaning} | {holds(kind, detail)} |")
    lines += ["", "## Kinds", "", "| kind | written |", "| --- | --- |"]
    lines += [f"| {text} | {example} |" for text, example, _ in KINDS.values() if example]
    return "\n".join(lines) + "\n"


def order_schema(rows):
    properties = {}
    for _, _, name, kind, _, meaning in rows:
        *parents, leaf = name.split(".")
        place = properties
        for parent in parents:
            place = place.setdefault(parent, {"type": ["object", "null"], "properties": {}})["properties"]
        place[leaf] = {**KINDS[kind][2], "description": meaning}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "https://meniscus.example/schemas/order.schema.json",
        "title": "An injection order",
        "description": "One order as JSON, or one line of JSON Lines. What is no member here is not read. "
                       "From engine/order/fields.def.",
        "type": "object",
        "properties": properties,
        "$defs": DEFS,
    }


def main():
    root = Path(sys.argv[1]).resolve()
    rows = read_fields(root)
    written = {
        root / "docs/fields.md": fields_page(rows),
        root / "docs/diagnostics.md": code_pages.diagnostics_page(root),
        root / "docs/schemas/order.schema.json":
            json.dumps(order_schema(rows), indent=2, ensure_ascii=False) + "\n",
        root / "docs/editors/meniscus-rule.tmLanguage.json":
            json.dumps(editor_grammar.grammar(root), indent=2, ensure_ascii=False) + "\n",
    }
    stale = [path for path, text in written.items()
             if not path.exists() or path.read_text(encoding="utf-8") != text]
    if "--check" not in sys.argv:
        for path in stale:
            path.parent.mkdir(exist_ok=True)
            path.write_text(written[path], encoding="utf-8")
        return 0
    for path in stale:
        print(f"{path.relative_to(root)} is not what its table says; run ./dev docs")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())

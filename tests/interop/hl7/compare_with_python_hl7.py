#!/usr/bin/env python3
"""Compares what Meniscus read from HL7 v2 messages with python3-hl7, a general-purpose parser.

For every message and every order (ORC group) the other parser gives the raw texts of the dose, its
unit, the route, the site, the timing and the ids.  Each must have reached a field of the matching
lane, as a value or as a doubt that keeps the text, or its lane must say why it is no injection order.

usage: compare_with_python_hl7.py HL7_DUMP RULES FIXTURES
"""
import json
import pathlib
import re
import subprocess
import sys

import hl7

DETAIL = {"RXE": (2, 3, 4, 5), "RXO": (1, 2, 3, 4), "RXG": (4, 5, 6, 7), "RXA": (5, 6, None, 7)}


def read_text(path):
    text = path.read_bytes().decode("utf-8-sig", "replace")
    text = re.sub(r"\r\n?|\n", "\r", text).strip("\r")
    # Two slips that the other parser does not repair: a doubled escape, and a lost segment end.
    text = text.replace("MSH|^~\\\\&", "MSH|^~\\&", 1)
    return re.sub(r"\|OBX\|(\d+)\|CE", r"|\rOBX|\1|CE", text)


def field(segment, number):
    """The raw text of a field; `` when it is not there."""
    try:
        return str(segment[number]).strip()
    except IndexError:
        return ""


def component(text, number):
    parts = text.split("~")[0].split("^")
    return parts[number - 1].strip() if number <= len(parts) else ""


def shifted(segment):
    if str(segment[0]) != "RXO":
        return False
    return re.fullmatch(r"\d{1,2}", field(segment, 1)) and "^" in field(segment, 2)


def orders_of(message):
    """One dictionary of raw texts for each order or given injection, in order of the message."""
    orders, group = [], []
    for segment in list(message) + [None]:
        name = None if segment is None else str(segment[0])
        if name in ("ORC", None):
            orders += facts(group)
            group = []
        if segment is not None:
            group.append(segment)
    return orders


def facts(group):
    named = {}
    for segment in group:
        named.setdefault(str(segment[0]), []).append(segment)
    given = named.get("RXA", [])
    details = given or named.get("RXG") or named.get("RXE") or named.get("RXO")
    if not details:
        return []
    orc = named.get("ORC", [None])[0]
    found = []
    for detail in details:
        code, low, high, units = DETAIL[str(detail[0])]
        dose = field(detail, low)
        if dose in ("", '""') and high:
            dose = field(detail, high)
        routes = named.get("RXR", [])
        at = group.index(detail)
        after = [s for s in group[at:] if str(s[0]) == "RXR"]
        route = (after or routes or [None])[0]
        found.append({
            "shifted": bool(shifted(detail)),
            "placer": component(field(orc, 2), 1) if orc is not None else "",
            "filler": component(field(orc, 3), 1) if orc is not None else "",
            "code": component(field(detail, code), 1),
            "name": component(field(detail, code), 2),
            "dose": "" if dose == "999" else dose,
            "unit": field(detail, units),
            "route": field(route, 1) if route is not None else "",
            "site": field(route, 2) if route is not None else "",
            "given": component(field(detail, 3), 1) if str(detail[0]) == "RXA" else "",
        })
    return found


def unescape(text):
    for letter, character in (("F", "|"), ("S", "^"), ("T", "&"), ("R", "~"), ("E", "\\")):
        text = text.replace(f"\\{letter}\\", character)
    return text


class Comparison:
    def __init__(self):
        self.checked = 0
        self.faults = []

    def expect(self, where, what, raw, lane, names):
        """`raw` stands in one of the lane's fields, or in a doubt about one."""
        raw = unescape(raw)
        if not raw or raw == '""':
            return
        self.checked += 1
        texts = [lane.get("fields", {}).get(n, {}).get("written", "") for n in names]
        texts += [lane.get("doubts", {}).get(n, {}).get("written", "") for n in names]
        if not any(raw == t or raw in t for t in texts):
            self.faults.append(f"{where}: {what} `{raw}` was lost: {texts}")

    def compare(self, where, order, lane):
        self.expect(where, "placer number", order["placer"], lane, ["order.id"])
        self.expect(where, "filler number", order["filler"], lane, ["order.filler"])
        if order["shifted"]:
            self.checked += 1
            if "dose" not in lane.get("doubts", {}):
                self.faults.append(f"{where}: shifted fields were not noticed")
            return
        self.expect(where, "name", order["name"] or order["code"], lane,
                    ["substance.name", "substance.code"])
        self.expect(where, "given at", order["given"], lane, ["order.given"])
        if lane["kind"] == "outside":
            if not lane["reason"]:
                self.faults.append(f"{where}: outside without a reason")
            return
        self.expect(where, "dose", order["dose"], lane, ["dose"])
        if order["dose"] and "dose" not in lane.get("doubts", {}):
            self.unit(where, order, lane)
        self.coded(where, "route", order["route"], lane, ["route"])
        self.coded(where, "site", order["site"], lane, ["site"])

    def unit(self, where, order, lane):
        written = lane["fields"]["dose"]["written"].removeprefix(order["dose"]).strip().lower()
        parts = [p.lower() for p in order["unit"].split("^") if p]
        # What is written is shown in the words of Meniscus: international units are its units.
        spelled = {"ui": ("[iu]", "units"), "[iu]": ("units",), "iu": ("units",), "unt": ("unit", "units"),
                   "unit": ("units",), "cc": ("ml",), "gm": ("g",)}
        self.checked += 1
        if not any(written in (p, *spelled.get(p, ())) for p in parts):
            self.faults.append(f"{where}: unit `{order['unit']}` was read as `{written}`")

    def coded(self, where, what, raw, lane, names):
        parts = [p for p in unescape(raw).split("~")[0].split("^") if p]
        if not parts:
            return
        self.checked += 1
        written = lane.get("fields", {}).get(names[0], {}).get("written", "")
        if not any(written and written in p for p in parts):
            self.faults.append(f"{where}: {what} `{raw}` was read as `{written}`")


def main():
    dump, rules, folder = sys.argv[1:4]
    files = sorted(pathlib.Path(folder).glob("*.hl7"))
    result = subprocess.run([dump, rules, *map(str, files)], capture_output=True, check=True)
    lanes = {}
    for line in result.stdout.decode().splitlines():
        lane = json.loads(line)
        lanes.setdefault(pathlib.Path(lane["file"]).name, []).append(lane)
    comparison = Comparison()
    for path in files:
        orders = orders_of(hl7.parse(read_text(path)))
        read = lanes.get(path.name, [])
        if len(orders) != len(read):
            comparison.faults.append(f"{path.name}: {len(orders)} orders, {len(read)} were read")
            continue
        for number, (order, lane) in enumerate(zip(orders, read), 1):
            comparison.compare(f"{path.name} order {number}", order, lane)
    print(f"{len(files)} messages, {comparison.checked} facts compared, "
          f"{len(comparison.faults)} lost")
    print("\n".join(comparison.faults))
    # A comparison that compares nothing proves nothing.
    return 0 if comparison.checked > 200 and not comparison.faults else 1


if __name__ == "__main__":
    sys.exit(main())

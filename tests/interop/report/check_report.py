#!/usr/bin/env python3
"""The report of a replay in a browser of others: what it shows is what the summary says, it can be worked, it prints, and no
text of the summary runs.

Debian's chromium is driven through its DevTools protocol (browser.py); what a report shows is compared with the summary that
it was made from, by sums and shares of Python's own.  pdftotext, of poppler-utils, reads what was printed.

usage: check_report.py WRITE_REPORT       exit status 77: chromium or pdftotext is not installed
"""
import json
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import browser
import summaries

WRITE_REPORT = Path(sys.argv[1] if len(sys.argv) > 1 else "write_report").resolve()
NOT_RUN = 77

# The rows of a table as texts; heads apart.  `innerText` leaves out what is hidden.
ROWS = """(() => { const table = %s;
  const texts = (row) => [...row.cells].map((cell) => cell.textContent);
  return {head: texts(table.tHead.rows[0]), body: [...table.tBodies[0].rows].filter((row) => !row.hidden).map(texts),
          foot: table.tFoot ? texts(table.tFoot.rows[0]) : null}; })()"""
# How many colours a canvas has: a blank one has one.
COLOURS = """[...document.querySelectorAll("canvas")].map((canvas) => {
  const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  const colours = new Set();
  for (let at = 0; at < data.length; at += 4) colours.add(data[at] * 65536 + data[at + 1] * 256 + data[at + 2]);
  return colours.size; })"""
OPEN = 'document.querySelectorAll("main details[open]").length'
PRESS = 'document.querySelector(%s).click()'


def number(text):
    return int(text.replace(",", ""))


def share(part, whole):
    """To one decimal, half up, as the report promises it."""
    if not whole or part is None:
        return ""
    tenths = (Decimal(part) * 1000 / Decimal(whole)).quantize(Decimal(1), ROUND_HALF_UP)
    if tenths == 0 and part:
        return "under 0.1 %"
    if tenths == 1000 and part != whole:
        return "over 99.9 %"
    return f"{tenths / 10:f}".removesuffix(".0") + " %"


def shown(value):
    return "" if value is None else f"{value:,}"


def seen(text):
    """As the report shows characters that draw nothing or turn the direction of writing."""
    unseen = "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]"
    return re.sub(unseen, lambda sign: f"[U+{ord(sign.group()):04X}]", text)


def months_of(days):
    names = "January February March April May June July August September October November December".split()
    return [f"{names[int(day[5:7]) - 1]} {day[:4]}" for day in days]


class Report(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.browser = browser.Browser()

    @classmethod
    def tearDownClass(cls):
        cls.browser.__exit__()
        cls.folder.cleanup()

    def write(self, name, text):
        source, target = (Path(self.folder.name, name + ending) for ending in (".json", ".html"))
        source.write_text(text, encoding="utf-8")
        subprocess.run([WRITE_REPORT, source, target], check=True, timeout=60)
        return target.as_uri()

    def open(self, name, anchor=""):
        """The summary of that name, its report open and quiet."""
        summary = summaries.SUMMARIES[name]()
        url = self.write(name, json.dumps(summary, ensure_ascii=False))
        self.browser.open(url + anchor)
        self.quiet(url)
        return summary

    def quiet(self, url):
        self.assertEqual(self.browser.said, [])
        self.assertEqual({asked.split("#")[0] for asked in self.browser.asked}, {url})

    def table(self, name):
        return self.browser.run(ROWS % f"document.getElementById({json.dumps(name)})")

    def table_called(self, within, caption):
        return self.browser.run(ROWS % f"""[...document.querySelectorAll({json.dumps(within + " table")})].find(
            (one) => one.caption.textContent.startsWith({json.dumps(caption)}))""")

    def open_all(self):
        self.browser.run(PRESS % '"#open-all"')
        self.assertEqual(self.browser.run('document.querySelectorAll("main details:not([open])").length'), 0)

    # What it shows

    def check_input(self, summary):
        table, given = self.table("input-table"), summary["input"]
        keys = ("judged", "recorded", "outside", "unreadable", "repeated", "merges", "warm_up")
        self.assertEqual([number(row[1]) for row in table["body"]], [given[key] for key in keys])
        self.assertEqual([row[2] for row in table["body"]], [share(given[key], given["records"]) for key in keys])
        self.assertEqual(number(table["foot"][1]), given["records"])

    def check_outcomes(self, summary):
        table, judged = self.table("outcome-table"), summary["input"]["judged"]
        self.assertEqual([row[0] for row in table["body"]], summaries.OUTCOMES)
        for place, side in enumerate(summary["sides"]):
            counts, shares = 1 + 2 * place, 2 + 2 * place
            self.assertEqual([number(row[counts]) for row in table["body"]], list(side["outcomes"].values()))
            self.assertEqual([row[shares] for row in table["body"]],
                             [share(orders, judged) for orders in side["outcomes"].values()])
            self.assertEqual(table["foot"][counts:shares + 1], [shown(side["stopped"]), share(side["stopped"], judged)])

    def check_months(self, summary):
        for side in summary["sides"]:
            if side["months"]:
                table = self.table("months-table-" + side["name"])
                self.assertEqual([row[0] for row in table["body"]], months_of(row["month"] for row in side["months"]))
                for row, given in zip(table["body"], side["months"], strict=True):
                    expected = [given["judged"], *(given["outcomes"][name] for name in summaries.OUTCOMES), given["stopped"]]
                    self.assertEqual([number(cell) for cell in row[1:-1]], expected)
                    self.assertEqual(row[-1], share(given["stopped"], given["judged"]))

    def rule_cells(self, summary, name):
        """What the row of a rule must say behind its name."""
        sides = [{rule["name"]: rule for rule in side["rules"]} for side in summary["sides"]]
        cells = []
        if len(sides) == 2:
            cells.append("both" if all(name in side for side in sides) else "before" if name in sides[0] else "after")
        for side in sides:
            rule = side.get(name, {})
            cells += [shown(rule.get("concerned")), shown(rule.get("fired")),
                      share(rule.get("fired"), rule.get("concerned")), shown(rule.get("not_assessed"))]
            if len(sides) == 1:
                cells += [shown(rule["muted"]), shown(rule["changed_after"]), share(rule["changed_after"], rule["fired"])]
        if len(sides) == 2:
            compared = {rule["name"]: rule for rule in summary["comparison"]["rules"]}[name]
            cells += [shown(compared["newly"]), shown(compared["gone"])]
        return cells

    def check_rules(self, summary):
        names = list(dict.fromkeys(rule["name"] for side in summary["sides"] for rule in side["rules"]))
        if not names:
            return
        table = self.table("rule-table")
        found = [re.sub(" (on trial|built in)$", "", row[0]) for row in table["body"]]
        self.assertEqual(found, [seen(name) for name in names])
        for row, name in zip(table["body"], names, strict=True):
            self.assertEqual(row[1:], self.rule_cells(summary, name), name)

    def check_signals(self, summary):
        given = [(seen(signal["rule"]), seen(signal["say"])) for side in summary["sides"] for signal in side["signals"]]
        if given:
            table = self.table("signal-table")
            self.assertEqual(sorted((row[1], row[-1]) for row in table["body"]), sorted(given))

    def check_comparison(self, summary):
        compared = summary.get("comparison")
        if not compared:
            self.assertFalse(self.browser.run('Boolean(document.getElementById("comparison"))'))
            return
        table = self.table("class-table")
        expected = [compared[key] for key in (*summaries.CLASSES, "same")]
        self.assertEqual([(number(row[1]), row[2]) for row in table["body"]],
                         [(orders, share(orders, compared["orders"])) for orders in expected])
        self.assertEqual(number(table["foot"][1]), compared["orders"])
        turns = {(pair["before"], pair["after"]): pair["orders"] for pair in compared["outcomes"]}
        for before, row in zip(summaries.OUTCOMES, self.table("turns-table")["body"], strict=True):
            self.assertEqual([number(cell) for cell in row[1:]],
                             [turns.get((before, after), 0) for after in summaries.OUTCOMES])
        for row, given in zip(self.table("compared-months-table")["body"], compared["months"], strict=True):
            orders, newly, gone = (given[key] for key in ("orders", "newly_stopped", "no_longer_stopped"))
            self.assertEqual(row[1:], [shown(orders), shown(newly), share(newly, orders), shown(gone), share(gone, orders),
                                       *(shown(given[key]) for key in ("graver", "milder", "other_reason"))])
        self.check_sentence(summary)

    def check_sentence(self, summary):
        compared = summary["comparison"]
        of = f"of {compared['orders']:,})"
        sentence = (f"With the new rules {compared['newly_stopped']:,} more orders are stopped "
                    f"({share(compared['newly_stopped'], compared['orders'])} {of}, and "
                    f"{compared['no_longer_stopped']:,} are no longer stopped "
                    f"({share(compared['no_longer_stopped'], compared['orders'])} {of}.")
        self.assertIn(sentence, self.browser.run('document.getElementById("short").textContent'))

    def check_history(self, summary):
        rules = summary["sides"][-1]["rules"]
        open_rules = sum(any(lack["what"] == "history before 2025-01-01" for lack in one["missing"]) for one in rules)
        said = self.browser.run('document.getElementById("short").textContent')
        self.assertEqual(f"{open_rules:,} rules look further back" in said, open_rules > 0)

    def check_numbers(self, name):
        summary = self.open(name)
        for check in (self.check_input, self.check_outcomes, self.check_months, self.check_rules, self.check_signals,
                      self.check_history, self.check_comparison):
            with self.subTest(name=name, check=check.__name__):
                check(summary)
        return summary

    def test_numbers_of_one_side(self):
        self.check_numbers("one-side")

    def test_numbers_of_two_sides(self):
        self.check_numbers("two-sides")

    def test_numbers_of_two_hundred_rules(self):
        self.check_numbers("many-rules")

    def test_halves_are_rounded_up(self):
        self.check_outcomes(self.open("halves"))
        self.assertIn("50.1 %", self.table("outcome-table")["body"][0])  # 1001 of 2000

    def test_nothing_judged_is_said(self):
        self.check_numbers("empty")
        self.assertIn("No order was judged", self.browser.run("document.body.textContent"))

    def test_a_section_of_a_rule_has_its_numbers(self):
        summary = self.open("one-side")
        self.open_all()
        for place, rule in enumerate(summary["sides"][0]["rules"], 1):
            within = f"#rule-{place}"
            keys = ("concerned", "fired", "not_assessed", "muted", "trial_found", "answered", "changed_after")
            did = self.table_called(within, "Orders, by what the rule did")
            self.assertEqual([number(row[1]) for row in did["body"]], [rule[key] for key in keys
                              if key in rule and (key != "trial_found" or rule["trial"])])
            if rule["fired_by"]:
                clauses = self.table_called(within, "Which clauses fired")
                self.assertEqual([(row[1], number(row[2]), row[3]) for row in clauses["body"]],
                                 [(one["grade"], one["orders"], share(one["orders"], rule["fired"]))
                                  for one in rule["fired_by"]])
            if rule["missing"]:
                missing = self.table_called(within, "What was missing")
                self.assertEqual([(row[0], number(row[1])) for row in missing["body"]],
                                 [(one["what"], one["orders"]) for one in rule["missing"]])
            months = self.table_called(within, "By month")
            keys = [key for key in ("concerned", "fired", "not_assessed") if key in rule["months"][0]]
            columns = [place for place, head in enumerate(months["head"]) if head.startswith(("Conc", "Fired", "Not"))]
            self.assertEqual([[number(row[column]) for column in columns] for row in months["body"]],
                             [[row[key] for key in keys] for row in rule["months"]])
        self.assertIn("it should have spoken in 1: 2 % (95 % interval: 0.4 % to 10 %)",
                      self.browser.run('document.getElementById("rule-1").textContent'))

    def test_charts_are_drawn_and_named(self):
        for name in ("one-side", "two-sides"):
            with self.subTest(name=name):
                summary = self.open(name)
                self.open_all()
                two = len(summary["sides"]) == 2
                fired = {rule["name"] for side in summary["sides"] for rule in side["rules"] if rule["fired"]}
                colours = self.browser.run(COLOURS)
                # Months of each side, the rules, the two of a comparison, and one a rule that fired.
                self.assertEqual(len(colours), len(summary["sides"]) + 1 + 2 * two + len(fired))
                self.assertGreater(min(colours), 5, colours)
                labels = self.browser.run('[...document.querySelectorAll("canvas")].map((one) => '
                                          '[one.getAttribute("role"), one.getAttribute("aria-label"), '
                                          'Boolean(one.closest("figure").querySelector("table"))])')
                for role, label, has_table in labels:
                    self.assertEqual((role, has_table), ("img", True))
                    self.assertGreater(len(label), 40)
                self.quiet(Path(self.folder.name, name + ".html").as_uri())

    # How it is worked

    def test_sorting(self):
        summary = self.open("one-side")
        fired = [rule["fired"] for rule in summary["sides"][0]["rules"]]
        heads = self.table("rule-table")["head"]
        column = heads.index("Fired")
        press = PRESS % f'"#rule-table thead th:nth-child({column + 1}) button"'
        for direction, expected in (("descending", sorted(fired, reverse=True)), ("ascending", sorted(fired))):
            self.browser.run(press)
            self.assertEqual([number(row[column]) for row in self.table("rule-table")["body"]], expected)
            sorted_by = self.browser.run('[...document.querySelectorAll("#rule-table th[aria-sort]")].map((one) => '
                                         '[one.textContent, one.getAttribute("aria-sort")])')
            self.assertEqual(sorted_by, [["Fired", direction]])
        self.browser.run(PRESS % '"#rule-table thead th:nth-child(1) button"')
        names = [row[0] for row in self.table("rule-table")["body"]]
        self.assertEqual(names, sorted(names))
        # A rule without `concerned` has no share and stands last both ways.
        share_column = next(place for place, head in enumerate(heads) if head.startswith("Share of concerned"))
        for _ in range(2):
            self.browser.run(PRESS % f'"#rule-table thead th:nth-child({share_column + 1}) button"')
            self.assertEqual(self.table("rule-table")["body"][-1][0], "doubtful-value built in")

    def test_filtering(self):
        summary = self.open("one-side")
        names = [rule["name"] for rule in summary["sides"][0]["rules"]]
        self.browser.run('document.getElementById("rule-table-filter").focus()')
        self.browser.call("Input.insertText", text="NEEDLE")
        rows = self.table("rule-table")["body"]
        self.assertEqual([re.sub(" on trial$", "", row[0]) for row in rows], [name for name in names if "needle" in name])
        said = self.browser.run('document.querySelector("output").textContent')
        self.assertEqual(said, f"{len(rows)} of {len(names)} rules shown, filtered")

    def test_a_link_opens_what_it_leads_to(self):
        self.open("two-sides", "#rule-2")
        self.assertTrue(self.browser.run('document.getElementById("rule-2").open'))
        self.assertEqual(self.browser.run(OPEN), 1)
        self.browser.run(PRESS % "'#rule-table a[href=\"#rule-3\"]'")
        self.assertTrue(self.browser.run('document.getElementById("rule-3").open'))
        self.browser.run(PRESS % '"#rule-2 > summary"')
        self.browser.run(PRESS % '"#comparison details.example > summary"')
        self.assertIn("Which of the dose, the strength and the volume is meant?",
                      self.browser.run('document.querySelector("#comparison details[open]").innerText'))

    def test_it_is_worked_by_the_keyboard(self):
        self.open("one-side")
        self.browser.run('document.querySelector("#rule-1 > summary").focus()')
        for kind in ("keyDown", "keyUp"):
            self.browser.call("Input.dispatchKeyEvent", type=kind, key="Enter", code="Enter", text="\r",
                              windowsVirtualKeyCode=13)
        self.assertTrue(self.browser.run('document.getElementById("rule-1").open'))

    # What must not happen

    def test_hostile_texts_are_texts(self):
        summary = self.check_numbers("hostile")
        self.open_all()
        self.assertEqual(self.browser.run("document.title"), "Replay of injection orders")
        self.assertEqual(self.browser.run('[document.scripts.length, document.images.length, document.querySelectorAll('
                                          '"iframe, object, embed, form, base, link").length]'), [3, 0, 0])
        self.assertEqual(self.browser.run('[...document.querySelectorAll("*")].flatMap((one) => [...one.attributes])'
                                          '.filter((one) => /^on/.test(one.name) || /^javascript:/.test(one.value)).length'), 0)
        text = self.browser.run('document.getElementById("main").textContent')
        for hostile in summaries.HOSTILE:
            self.assertTrue(seen(hostile) in text, hostile)
        self.quiet(Path(self.folder.name, "hostile.html").as_uri())
        read = self.browser.run('JSON.parse(document.getElementById("summary").textContent)')
        self.assertEqual(read, summary)

    def test_the_policy_lets_nothing_else_run(self):
        self.open("empty")
        self.browser.run("""(() => { const script = document.createElement("script");
            try { script.text = "document.title = 'RAN'"; } catch { script.append("document.title = 'RAN'"); }
            document.body.append(script);
            const image = document.createElement("img"); image.src = "other.png"; document.body.append(image); })()""")
        self.assertEqual(self.browser.run("document.title"), "Replay of injection orders")
        self.assertIn("Content Security Policy", " ".join(self.browser.said))

    def test_long_texts_do_not_widen_the_page(self):
        self.open("long-texts")
        self.open_all()
        for width in (1280, 400):
            self.browser.call("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False)
            self.assertLessEqual(self.browser.run("document.documentElement.scrollWidth"), width)

    def test_paper_is_wide_enough(self):
        """What is wider than the 680 px between the margins of A4 makes a browser shrink every page."""
        for name in ("two-sides", "long-texts"):
            self.open(name)
            self.open_all()
            self.browser.call("Emulation.setEmulatedMedia", media="print")
            self.browser.call("Emulation.setDeviceMetricsOverride", width=680, height=962, deviceScaleFactor=1, mobile=False)
            width = self.browser.run("document.documentElement.scrollWidth")
            self.browser.call("Emulation.setEmulatedMedia", media="")
            self.assertLessEqual(width, 680, name)

    def test_what_is_no_summary_is_said(self):
        for text in ("", "{", "null", "[]", '{"replay": 2}', '{"replay": 1, "input": {}}', "</script><script>x"):
            with self.subTest(text=text):
                self.browser.open(self.write("broken", text))
                self.assertRegex(self.browser.run('document.querySelector("[role=alert]").textContent'), "^The data in this file")
                self.assertEqual(self.browser.said, [])

    # On paper

    def printed(self, name):
        path = Path(self.folder.name, name + ".pdf")
        self.browser.pdf(path)
        text = subprocess.run(["pdftotext", "-layout", path, "-"], check=True, capture_output=True, timeout=120).stdout
        return re.sub(r"\s+", "", text.decode("utf-8"))

    def test_print_holds_all_sections_and_closes_them_again(self):
        summary = self.open("two-sides", "#rule-1")
        text = self.printed("two-sides")
        for side in summary["sides"]:
            for rule in side["rules"]:
                kind = "on trial" if rule["trial"] else "built in" if rule["built_in"] else ""
                head_of_section = re.sub(r"\s+", "", rule["name"] + kind + rule["title"])
                self.assertTrue(head_of_section in text, rule["name"])
        examples = sum(len(one) for one in summary["comparison"]["examples"].values())
        examples += sum(len(rule["examples"]) for side in summary["sides"] for rule in side["rules"])
        examples += sum(len(rule["examples"]) for rule in summary["comparison"]["rules"])
        self.assertEqual(text.count("Whichofthedose"), examples)
        self.assertTrue("Decisionsupportonly." in text)
        self.assertFalse("Openallsections" in text)
        self.assertEqual(self.browser.run(OPEN), 1)
        self.quiet(Path(self.folder.name, "two-sides.html").as_uri())

    def test_print_of_two_hundred_rules(self):
        summary = self.open("many-rules")
        text = self.printed("many-rules")
        for rule in summary["sides"][1]["rules"]:
            self.assertTrue(rule["name"] in text, rule["name"])
        self.assertEqual(self.browser.run(OPEN), 0)


def main():
    for program in ("chromium", "pdftotext"):
        if shutil.which(program) is None:
            print(f"NOT RUN: {program} is not installed")
            return NOT_RUN
    result = unittest.TextTestRunner(verbosity=2).run(unittest.defaultTestLoader.loadTestsFromTestCase(Report))
    return 0 if result.wasSuccessful() and result.testsRun else 1


if __name__ == "__main__":
    sys.exit(main())

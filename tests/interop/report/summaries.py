"""Summaries of replays for tests of the report: invented data of Slatemoor, the same in each run.

usage: summaries.py FOLDER       writes NAME.json for each of SUMMARIES
"""
import copy
import json
import random
import sys
from pathlib import Path

OUTCOMES = ["clear", "note", "caution", "incomplete", "clarify", "hold"]
STOPPED = OUTCOMES[3:]
MONTHS = [f"2025-{number:02}" for number in range(1, 13)]
CLASSES = ["newly_stopped", "no_longer_stopped", "graver", "milder", "other_reason"]
RULES = [
    ("dose-volume-agreement", "Dose, strength and volume agree"),
    ("site-rest", "Let a site rest"),
    ("needle-gauge", "The gauge is usual for the route and the vehicle"),
    ("needle-length", "The needle reaches the layer it is meant for"),
    ("syringe-fits", "The syringe holds and can measure the volume"),
    ("interval", "Neither too early nor too late"),
    ("weekly-dose", "Not more than the usual weekly dose"),
    ("beyond-use", "A vial in use is not too old"),
    ("frequency-missing", "How often is on the order"),
    ("unsafe-notation", "Abbreviations that published lists call error-prone"),
    ("pen-drawn", "Nothing is drawn from a pen with a syringe"),
    ("calendar", "The dates of the plan make sense"),
]


def example(number, two):
    day = f"2025-{number % 12 + 1:02}-{number % 28 + 1:02}"
    finding = {"rule": "dose-volume-agreement", "grade": "hold",
               "say": "50 mg at 200 mg/mL is 0.25 mL; the order says 0.5 mL.",
               "ask": "Which of the dose, the strength and the volume is meant?",
               "fields": [{"name": "dose", "value": "50 mg"}, {"name": "volume", "value": "0.5 mL"}]}
    one = {"order": f"A-{number}", "patient": f"patient {number % 90 + 1}", "day": day, "file": day[:7] + ".ndjson",
           "line": number}
    if two:
        return one | {"before": "clear", "after": "hold", "findings_before": [], "findings_after": [finding]}
    return one | {"outcome": "hold", "findings": [finding]}


def rule(name, title, dice, scale):
    months = []
    for month in MONTHS:
        concerned = dice.randint(700, 900)
        months.append({"month": month, "concerned": concerned, "fired": int(concerned * scale * dice.uniform(0.7, 1.3)),
                       "not_assessed": dice.randint(0, 20), "muted": dice.randint(0, 2)})
    total = {key: sum(row[key] for row in months) for key in ("concerned", "fired", "not_assessed", "muted")}
    fired = total["fired"]
    return {"name": name, "title": title, "cite": "common practice", "owner": "pharmacy lead", "built_in": False,
            "trial": False, **total,
            "fired_by": [{"clause": 1, "grade": "hold", "orders": fired // 3},
                         {"clause": 2, "grade": "clarify", "orders": fired - fired // 3},
                         {"without": 1, "grade": "note", "orders": fired // 50}] if fired else [],
            "missing": [{"what": "needle.gauge", "orders": total["not_assessed"]},
                        {"what": "history before 2025-01-01", "orders": 1}],
            "trial_found": 0, "answered": dice.randint(0, 9), "changed_after": fired // 11, "months": months,
            "examples": []}


def without_months(made, first):
    """The rule as if it had stopped firing with the month of this index."""
    for row in made["months"][first:]:
        made["fired"] -= row["fired"]
        row["fired"] = 0
    made["fired_by"] = [{"clause": 1, "grade": "caution", "orders": made["fired"]}]
    made["changed_after"] = made["fired"] // 11


def built_in(dice):
    made = rule("doubtful-value", "A value could mean two things", dice, 0.004)
    made.update(built_in=True, missing=[], not_assessed=0)
    del made["concerned"]
    for row in made["months"]:
        del row["concerned"]
    return made


def outcomes_of(judged, dice):
    rare = {name: int(judged * part * dice.uniform(0.8, 1.2)) for name, part in
            zip(OUTCOMES[1:], (0.01, 0.03, 0.06, 0.065, 0.03))}
    return {"clear": judged - sum(rare.values()), **rare}


def stopped(outcomes):
    return sum(outcomes[name] for name in STOPPED)


def side(name, dice, judged_by_month, names=tuple(RULES)):
    months = []
    for month, judged in zip(MONTHS, judged_by_month):
        outcomes = outcomes_of(judged, dice)
        months.append({"month": month, "judged": judged, "outcomes": outcomes, "stopped": stopped(outcomes)})
    outcomes = {key: sum(row["outcomes"][key] for row in months) for key in OUTCOMES}
    judged = sum(judged_by_month)
    rules = [rule(*pair, dice, 0.11 / (index + 1)) for index, pair in enumerate(names[:-1])]
    rules.append(rule(*names[-1], dice, 0))
    rules.append(built_in(dice))
    without_months(rules[1], 7)
    without_months(rules[3], 0)
    rules[3].update(trial=True, trial_found=77, fired_by=[])
    rules[0]["labels"] = {"fired_read": 50, "fired_right": 45, "ppv": [0.9, 0.79, 0.96], "silent_read": 50,
                          "silent_missed": 1, "missed_share": [0.02, 0.004, 0.1],
                          "agreement": {"both_read": 40, "same": 38, "kappa": 0.83}}
    rules[0]["examples"] = [example(number, name != "rules") for number in range(100, 105)]
    none = outcomes["clear"]
    return {"name": name, "rules_hash": "sha256:" + f"{dice.getrandbits(256):064x}", "rules_day": "2026-01-01",
            "changes": [{"what": "mute site-rest where substance.code is insulin-glargine", "because": "Local protocol 14",
                         "by": "clinical lead", "until": "2026-12-31", "over": False}],
            "outcomes": outcomes, "stopped": stopped(outcomes),
            "findings_per_order": [none, judged - none - 500, 400, 100],
            "groups_per_order": [none, judged - none - 300, 250, 50], "months": months,
            "pairs": [{"rules": [rules[0]["name"], rules[1]["name"]], "orders": 40},
                      {"rules": [rules[2]["name"], rules[3]["name"]], "orders": 21}],
            "never_assessed": [{"missing": "draw-needle.gauge", "rules": [rules[2]["name"], rules[3]["name"]]}],
            "rules": rules, "signals": signals(rules)}


def signals(rules):
    names = [one["name"] for one in rules]
    return [{"kind": "never", "rule": names[-2], "share": 0.0, "of": rules[-2]["concerned"],
             "say": f"never fired on the {rules[-2]['concerned']} orders that it concerned"},
            {"kind": "often", "rule": names[0], "share": 0.11, "of": rules[0]["concerned"],
             "say": f"fired on 11 % of the {rules[0]['concerned']} orders that it concerned"},
            {"kind": "jump", "rule": names[2], "month": "2025-06", "share": 0.21, "expected": 0.04, "of": 800,
             "say": "fired on 21 % of the 800 orders that it concerned in 2025-06; 4 % was expected"},
            {"kind": "drop", "rule": names[4], "month": "2025-03", "share": 0.002, "expected": 0.02, "of": 790,
             "say": "fired on 0.2 % of the 790 orders that it concerned in 2025-03; 2 % was expected"},
            {"kind": "stopped", "rule": names[1], "month": "2025-08", "share": 0.0, "expected": 0.05, "of": 810,
             "say": "fired on none of the 810 orders that it concerned in 2025-08; 5 % was expected"}]


def summary(sides, judged):
    rest = {"recorded": 700, "outside": 50, "unreadable": 3, "repeated": 240, "merges": 7, "warm_up": 0}
    return {"replay": 1, "made_by": "meniscus 0.9.0", "fail_at": "incomplete", "patients": "replaced",
            "settings": {"often": 0.1, "sample": 0, "seed": 1},
            "input": {"files": [month + ".ndjson" for month in MONTHS], "records": judged + sum(rest.values()),
                      "judged": judged, **rest, "undated": 2, "patients": 900, "from": "2025-01-01", "to": "2025-12-31",
                      "since": "2025-01-01"},
            "sides": sides}


def judged_months(dice):
    return [dice.randint(820, 1000) for _ in MONTHS]


def one_side():
    dice = random.Random(1)
    judged = judged_months(dice)
    return summary([side("rules", dice, judged)], sum(judged))


def two_sides(names=tuple(RULES)):
    dice = random.Random(2)
    judged = judged_months(dice)
    before = side("before", dice, judged, names[:-1])
    after = side("after", dice, judged, names)
    whole = summary([before, after], sum(judged))
    whole["comparison"] = comparison(before, after, judged, dice)
    return whole


def comparison(before, after, judged, dice):
    months = [{"month": month, "newly_stopped": dice.randint(15, 40), "no_longer_stopped": dice.randint(5, 30),
               "graver": dice.randint(0, 9), "milder": dice.randint(0, 9), "other_reason": dice.randint(20, 50),
               "orders": orders} for month, orders in zip(MONTHS, judged)]
    totals = {key: sum(row[key] for row in months) for key in CLASSES}
    kept = sum(judged) - sum(totals.values())
    turns = [("clear", "hold", totals["newly_stopped"]), ("hold", "clear", totals["no_longer_stopped"]),
             ("note", "caution", totals["graver"]), ("hold", "clarify", totals["milder"]),
             ("caution", "caution", totals["other_reason"]), ("clear", "clear", kept)]
    had, has = ({one["name"] for one in side["rules"]} for side in (before, after))
    rules = [{"name": name, "in": [label for label, names in (("before", had), ("after", has)) if name in names],
              "same": dice.randint(0, 300), "newly": dice.randint(0, 60), "gone": dice.randint(0, 30),
              "graver": dice.randint(0, 5), "milder": dice.randint(0, 5),
              "examples": [example(number, True) for number in range(200, 202)]}
             for name in [one["name"] for one in after["rules"]]]
    return {"orders": sum(judged), "same": kept, **totals,
            "outcomes": [{"before": one, "after": other, "orders": orders} for one, other, orders in turns],
            "months": months, "examples": {key: [example(300 + number, True) for number in range(3)] for key in CLASSES},
            "rules": rules}


def empty():
    """A replay that found nothing to judge."""
    nothing = summary([{"name": "rules", "rules_hash": "sha256:00", "rules_day": "2026-01-01", "changes": [],
                        "outcomes": {name: 0 for name in OUTCOMES}, "stopped": 0, "findings_per_order": [0, 0, 0, 0],
                        "groups_per_order": [0, 0, 0, 0], "months": [], "pairs": [], "never_assessed": [], "rules": [],
                        "signals": []}], 0)
    nothing["input"] = {key: 0 if isinstance(value, int) else value for key, value in nothing["input"].items()
                        if key not in ("from", "to", "since")} | {"files": []}
    return nothing


def many_rules():
    """Two hundred rules, some of them with long names and titles."""
    names = [(f"rule-number-{number:03}" + "-with-a-long-name" * (number % 7 == 0),
              f"Title {number}" + " that goes on and on" * (number % 9 == 0) * 8) for number in range(200)]
    return two_sides(tuple(names))


def halves():
    """Shares that end in a half of the last place shown."""
    whole = one_side()
    counts = (1001, 1, 3, 5, 7, 983)
    whole["input"].update(judged=sum(counts), records=sum(counts) + 1000)
    side_of = whole["sides"][0]
    side_of.update(outcomes=dict(zip(OUTCOMES, counts)), stopped=sum(counts[3:]))
    return whole


HOSTILE = ['</script><script>document.title="RAN"</script>', "<img src=x onerror=\"document.title='RAN'\">",
           "<!--<script>", "\"'`&amp;&lt;\\u003c", "\u202egnitirw\u202c \u2066x\u2069 \u200f", "]]>-->", "a\u0007\u2028b",
           "javascript:document.title='RAN'", "__proto__", "constructor"]


def spoilt(texts, names):
    """Two sides whose texts from outside are these in turn, and the names of their first rules those."""
    whole, place = two_sides(), [0]
    free = {"made_by", "rules_hash", "what", "because", "by", "missing", "title", "cite", "owner", "order", "patient",
            "file", "say", "ask", "value"}

    def spoil(value, key):
        if isinstance(value, dict):
            return {name: spoil(inner, name) for name, inner in value.items()}
        if isinstance(value, list):
            return [spoil(inner, "order" if key == "files" else key) for inner in value]
        if isinstance(value, str) and key in free:
            place[0] += 1
            return texts[place[0] % len(texts)]
        return value

    text = json.dumps(spoil(copy.deepcopy(whole), ""))
    for (name, _), new in zip(RULES, names):
        text = text.replace(json.dumps(name), json.dumps(new))
    return json.loads(text)


def hostile():
    """Every text from outside tries to be more than a text."""
    return spoilt(HOSTILE, HOSTILE)


def long_texts():
    """Texts of some thousand signs, with blanks and without; two rules with long names."""
    return spoilt(["W" * 3000, "a long text " * 300], ["n" * 300, "long-name-" * 30])


SUMMARIES = {"one-side": one_side, "two-sides": two_sides, "empty": empty, "many-rules": many_rules, "halves": halves,
             "hostile": hostile, "long-texts": long_texts}


def main():
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in SUMMARIES.items():
        (folder / f"{name}.json").write_text(json.dumps(make(), ensure_ascii=False), encoding="utf-8")


if __name__ == "__main__":
    main()

"""The TextMate grammar of rule files, from the words of grammar/frontend/tokens.def (used by generate.py).

An editor sees one line at a time, so a word is coloured wherever it stands, also where it is a name.
"""
import re

WORD = re.compile(r'^(?:WORD|ALSO)\(\w+, "([^"]+)", (\w+)\)', re.MULTILINE)
GRADES = ("note", "caution", "clarify", "hold", "clear", "incomplete", "nothing")


def phrases(root):
    """(phrase, where it counts) of every word of the language."""
    found = WORD.findall((root / "grammar/frontend/tokens.def").read_text(encoding="utf-8"))
    if not found:
        raise SystemExit("no words in grammar/frontend/tokens.def")
    return found


def one_of(words):
    """A pattern of whole words, longer ones first; a hyphen or point belongs to a name."""
    longest_first = sorted(set(words), key=lambda word: (-len(word), word))
    choices = "|".join(re.escape(word).replace(r"\ ", r"\s+").replace(r"\-", "-") for word in longest_first)
    return rf"(?<![\w.-])(?:{choices})(?![\w-]|\.\w)"


def grammar(root):
    words = phrases(root)
    items = [phrase for phrase, place in words if place == "Item"]
    parts = [phrase for phrase, place in words if place == "Part"]
    others = [phrase for phrase, place in words if place not in ("Item", "Part")]
    scoped = [
        ("comment.line.number-sign.meniscus-rule", "#.*$"),
        ("keyword.declaration.meniscus-rule", r"^\s*" + one_of(items)),
        ("keyword.other.meniscus-rule", one_of(parts)),
        ("constant.language.grade.meniscus-rule", one_of(GRADES)),
        ("keyword.operator.word.meniscus-rule", one_of(others)),
        ("constant.numeric.date.meniscus-rule", r"(?<![\w.-])\d{4}-\d{2}-\d{2}(?![\w-])"),
        ("constant.numeric.meniscus-rule",
         r"(?<![\w.-])\d+(?:\.\d+)?(?:/\d+)?(?:\s+(?:%|[A-Za-z]+(?:/(?:\d+(?:\.\d+)?\s+)?[A-Za-z]+)*))?"),
        ("variable.other.field.meniscus-rule", r"(?<![\w.-])[A-Za-z][\w-]*(?:\.[A-Za-z][\w-]*)+"),
        ("keyword.operator.meniscus-rule", r"<=|>=|[<>=+*/()-]"),
    ]
    for _, pattern in scoped:
        re.compile(pattern)
    text = {
        "name": "string.quoted.double.meniscus-rule", "begin": '"', "end": '"|$',
        "patterns": [
            {"name": "constant.character.escape.meniscus-rule", "match": r'\\["\\]|\{\{|\}\}'},
            {"name": "meta.embedded.meniscus-rule", "begin": r"\{", "end": r"\}|(?=\")",
             "patterns": [{"include": "#code"}]},
        ],
    }
    code = [{"name": name, "match": pattern} for name, pattern in scoped[1:]]
    return {
        "name": "Meniscus rule",
        "scopeName": "source.meniscus-rule",
        "fileTypes": ["rule"],
        "comment": "From grammar/frontend/tokens.def by ./dev docs",
        "patterns": [{"name": scoped[0][0], "match": scoped[0][1]}, {"include": "#text"}, {"include": "#code"}],
        "repository": {"text": text, "code": {"patterns": code}},
    }

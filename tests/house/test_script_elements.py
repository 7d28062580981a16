"""What a script asks of its page by id and kind is in a template of that page, and every script has strict types."""

from __future__ import annotations

import json
import re
from pathlib import Path

from tests.house.source import ROOT, SOURCE

PAGES = SOURCE / "web" / "pages"
ASKED = re.compile(r'\belement\("([^"]+)", HTML(\w+?)Element\)')
ASKED_BY_ID = re.compile(r'\$\("([^"]+)"\)')
TAGS = {"TextArea": "textarea", "Paragraph": "p"}


def tags_of(folder: Path) -> dict[str, str]:
    """The tag of every element with an id in the templates of one folder."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.html")))
    return {name: tag for tag, name in re.findall(r'<(\w+)\b[^>]*?\sid="([^"{]+)"', text)}


def pages_with(script: Path) -> list[Path]:
    """The folders whose templates may hold what it asks for: its own, the shell, and those that import it."""
    if script.is_relative_to(PAGES / "shell"):
        return [one for one in sorted(PAGES.iterdir()) if one.is_dir()]
    line = f'"./{script.name}"'
    users = {
        PAGES / path.relative_to(PAGES).parts[0] for path in PAGES.rglob("*.js") if line in path.read_text("utf-8")
    }
    return sorted(users | {PAGES / "shell", PAGES / script.relative_to(PAGES).parts[0]})


def test_every_element_that_a_script_asks_for_is_in_a_template_of_its_page() -> None:
    asked = 0
    wrong: list[str] = []
    for path in sorted(PAGES.rglob("*.js")):
        known = [tags_of(one) for one in pages_with(path)]
        for name, kind in ASKED.findall(path.read_text(encoding="utf-8")):
            asked += 1
            if not any(tags.get(name) == TAGS.get(kind, kind.lower()) for tags in known):
                wrong.append(f"{path.name}: {name} as {kind}")
        for name in ASKED_BY_ID.findall(path.read_text(encoding="utf-8")):
            asked += 1
            if not any(name in tags for tags in known):
                wrong.append(f"{path.name}: {name}")
    assert asked > 120
    assert wrong == []


def test_every_script_is_checked_strictly() -> None:
    """Only the service worker is left out, which has a configuration of its own that extends the other."""
    configuration = json.loads(re.sub(r"^//.*$", "", (ROOT / "tsconfig.json").read_text("utf-8"), flags=re.MULTILINE))
    assert configuration["compilerOptions"]["strict"] is True
    assert False not in configuration["compilerOptions"].values()
    assert configuration["exclude"] == ["src/steelyard/web/pages/shell/sw.js"]
    assert "src/steelyard/web/pages/**/*.js" in configuration["include"]
    unchecked = re.compile(r"@ts-|\{any\}|: any\b|\bany\)")
    found = {
        f"{path.name}: {line.strip()}"
        for path in sorted(PAGES.rglob("*.js"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if "/**" in line and unchecked.search(line)
    }
    # a path of a template leads wherever the answer of its question does
    assert found == {"asking.js: /** @type {(data: any, path?: string) => any} */"}

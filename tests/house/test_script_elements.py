"""What a script asks of its page by id and kind is in a template of that page."""

from __future__ import annotations

import re
from pathlib import Path

from tests.house.source import SOURCE

PAGES = SOURCE / "web" / "pages"
ASKED = re.compile(r'\belement\("([^"]+)", HTML(\w+?)Element\)')
TAGS = {"TextArea": "textarea", "Paragraph": "p"}


def tags_of(folder: Path) -> dict[str, str]:
    """The tag of every element with an id in the templates of one folder."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(folder.rglob("*.html")))
    return {name: tag for tag, name in re.findall(r'<(\w+)\b[^>]*?\sid="([^"{]+)"', text)}


def pages_with(script: Path) -> list[Path]:
    """The folders whose templates may hold what a script asks for: its own, and those with a script that imports it."""
    if script.is_relative_to(PAGES / "shell"):
        return [one for one in sorted(PAGES.iterdir()) if one.is_dir()]
    line = f'"./{script.name}"'
    users = {
        PAGES / path.relative_to(PAGES).parts[0] for path in PAGES.rglob("*.js") if line in path.read_text("utf-8")
    }
    return sorted(users | {PAGES / script.relative_to(PAGES).parts[0]})


def test_every_element_that_a_script_asks_for_is_in_a_template_of_its_page() -> None:
    asked = 0
    wrong: list[str] = []
    for path in sorted(PAGES.rglob("*.js")):
        known = [tags_of(one) for one in pages_with(path)]
        for name, kind in ASKED.findall(path.read_text(encoding="utf-8")):
            asked += 1
            if not any(tags.get(name) == TAGS.get(kind, kind.lower()) for tags in known):
                wrong.append(f"{path.name}: {name} as {kind}")
    assert asked > 20
    assert wrong == []

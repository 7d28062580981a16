"""An SVG logo cleaned: shapes and colours pass; what runs, loads or needs a font is refused by its name.

Source of the names: Scalable Vector Graphics 2 (W3C, 2018), chapters 5, 9, 10, 13 and 14.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

_SVG, _LINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
_SHAPES = frozenset(
    {"svg", "g", "defs", "symbol", "use", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
    | {"clipPath", "mask", "pattern", "linearGradient", "radialGradient", "stop", "style"}
)
_PASSED_OVER = frozenset({"title", "desc", "metadata"})
_WHY = {
    "a script": "script handler",
    "a page inside it": "foreignObject",
    "a picture inside it": "image feImage",
    "letters that need a font; turn them into paths": "text tspan textPath font font-face glyph",
    "a link": "a",
    "a motion": "animate animateMotion animateTransform set",
    "a filter; save it without effects": "filter",
}
_LENGTH = re.compile(r"\s*([0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?)\s*(?:px|pt|pc|mm|cm|in|Q)?\s*$")
_OUTSIDE = re.compile(r"url\s*\(\s*['\"]?\s*[^\s'\"#]", re.IGNORECASE)
_DECLARED = re.compile(r"^\s*<\?xml[^>]*\?>")
_DEEPEST, _COPIES = 50, 1000


class LogoError(ValueError):
    """A file that cannot be used as a logo; the message says why and what would be right."""


def clean_svg(data: bytes) -> tuple[bytes, float]:
    """The drawing with only shapes and colours, and its width over its height.

    Raises
    ------
    LogoError: it is no SVG, has no size, or holds a script, a font, a picture or anything from outside.
    """
    try:
        text = data.decode("utf-8-sig")
        if "<!ENTITY" in text or re.search(r"<!DOCTYPE[^>]*\[", text):
            raise LogoError("is an SVG that declares names of its own, which can load anything; save it as plain SVG")
        root = ET.fromstring(_DECLARED.sub("", text))  # noqa: S314 - entities are refused above, the size is bounded
    except (ET.ParseError, UnicodeDecodeError):
        raise LogoError("is not a whole SVG; save it again as plain SVG") from None
    if root.tag not in (f"{{{_SVG}}}svg", "svg"):
        raise LogoError("is not SVG; save it again as plain SVG")
    kept = _cleaned(root, 0)
    _refuse_repeats(kept)
    aspect = _aspect(kept)
    ET.register_namespace("", _SVG)
    return ET.tostring(kept, encoding="utf-8"), aspect


def _cleaned(node: ET.Element, depth: int) -> ET.Element:
    """The element without what belongs to a program that made it."""
    if depth > _DEEPEST:
        raise LogoError(f"has shapes in more than {_DEEPEST} groups inside one another; save it as plain SVG")
    _, name = _parts(node.tag)
    kept = ET.Element(f"{{{_SVG}}}{name}")
    for attribute, value in node.attrib.items():
        _keep(kept, attribute, value)
    kept.text = node.text if name == "style" else None
    if name == "style":
        _refuse_outside(kept.text or "", "a style that loads something", more="@\\")
    for child in node:
        space, local = _parts(child.tag)
        if space not in ("", _SVG) or local in _PASSED_OVER:
            continue  # what a drawing program keeps for itself
        if local not in _SHAPES:
            raise LogoError(f"has {_why(local)}; a logo is made of shapes and colours")
        kept.append(_cleaned(child, depth + 1))
    return kept


def _refuse_repeats(root: ET.Element) -> None:
    """Refuse copies of copies, each level of which multiplies the shapes that a viewer has to draw."""
    copies = [node.get("href", "") for node in root.iter(f"{{{_SVG}}}use")]
    if len(copies) > _COPIES:
        raise LogoError(f"has more than {_COPIES} copies of shapes; save it as plain SVG")
    holders = {f"#{node.get('id')}" for node in root.iter() if any(True for _ in node.iter(f"{{{_SVG}}}use"))}
    if holders & set(copies):
        raise LogoError("has copies of shapes that hold copies; save it as plain SVG")


def _keep(kept: ET.Element, attribute: str, value: str) -> None:
    """Take over one attribute, unless it belongs to another program; refuse it where it runs or loads something."""
    space, local = _parts(attribute)
    if local.lower().startswith("on"):
        raise LogoError(f"has a script ({local}); a logo is made of shapes and colours")
    if local == "href" and space in ("", _LINK):
        if not value.strip().startswith("#"):
            raise LogoError("has a link to something outside; a logo is one file")
        kept.set("href", value.strip())
    elif not space and local not in ("base", "src"):
        _refuse_outside(value, f"a link to something outside ({local})", more="\\" if local == "style" else "")
        kept.set(local, value)


def _refuse_outside(text: str, what: str, *, more: str = "") -> None:
    """Refuse a text that loads something, or that has one of the characters ``more``."""
    if _OUTSIDE.search(text) or any(letter in text for letter in more):
        raise LogoError(f"has {what}; a logo is one file of shapes and colours")


def _why(local: str) -> str:
    return next((words for words, names in _WHY.items() if local in names.split()), f"<{local}>")


def _parts(tag: object) -> tuple[str, str]:
    """Name space and name; a comment has neither."""
    if not isinstance(tag, str):
        return "comment", ""
    space, brace, local = tag.rpartition("}")
    return (space.removeprefix("{"), local) if brace else ("", tag)


def _aspect(root: ET.Element) -> float:
    """Width over height; a drawing without a view box gets the one that its size means."""
    box = [_number(part) for part in re.split(r"[\s,]+", root.get("viewBox", "").strip())]
    if len(box) != 4 or None in box:
        sides = [_number(root.get(name, "")) for name in ("width", "height")]
        if None in sides:
            raise LogoError("is an SVG without a size; give it a viewBox")
        box = [0.0, 0.0, *sides]
        root.set("viewBox", " ".join(f"{side:g}" for side in box if side is not None))
    wide, high = box[2] or 0.0, box[3] or 0.0
    if not (0.0 < wide < 1e6 and 0.0 < high < 1e6):
        raise LogoError("is an SVG without a size; give it a viewBox")
    for name in ("width", "height", "x", "y"):
        root.attrib.pop(name, None)
    root.set("width", f"{wide:g}")
    root.set("height", f"{high:g}")
    return wide / high


def _number(text: str) -> float | None:
    found = _LENGTH.match(text.removeprefix("-"))
    if found is None:
        return None
    return -float(found[1]) if text.startswith("-") else float(found[1])

"""Lines of the keys of a TOML text, from the syntax tree of a parser that keeps positions.

The values come from elsewhere; the parser is loaded only when there is a fault to place, and may be absent.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from steelyard.dayfile.fault import KeyPath

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tree_sitter import Node, Tree

_DEEPEST = 64  # steps of a path that are followed, twice what a file may have: longer ones would fill the memory
_HEADERS = ("table", "table_array_element")
_KEYS = ("bare_key", "quoted_key", "dotted_key")


def key_lines(text: str) -> dict[KeyPath, int] | None:
    """The lines, from 1, of the keys, tables and members of lists in a valid text.

    What stands on the line of the table or list around it is left out. None where the parser is absent or does not
    follow the text. A table stands at its own header, else at the first line that names it.
    """
    tree = _tree(text)
    if tree is None or tree.root_node.has_error:
        return None
    walk = _Walk()
    todo: list[tuple[Node, KeyPath]] = [(tree.root_node, ())]
    try:
        while todo:
            node, path = todo.pop()
            todo.extend(reversed(list(walk.enter(node, path))))
    except ValueError:  # a key with an escape that is no letter
        return None
    return walk.lines


class _Walk:
    """The lines found so far, from the top of a text down."""

    def __init__(self) -> None:
        self.lines: dict[KeyPath, int] = {}
        self._members: dict[KeyPath, int] = {}  # of each list of tables that has headers

    def enter(self, node: Node, path: KeyPath) -> Iterator[tuple[Node, KeyPath]]:
        """Note where ``node`` stands; the nodes inside it, each with the path it belongs to."""
        if len(path) > _DEEPEST:
            return
        inner = [child for child in node.named_children if child.type != "comment"]
        if node.type in _HEADERS:
            path = self._header(inner.pop(0), listed=node.type == "table_array_element")
        elif node.type == "pair":
            path, inner = self._pair(inner[0], path), inner[1:]
        elif node.type == "array":
            for number, item in enumerate(inner):
                if item.start_point.row != node.start_point.row:
                    self.lines[(*path, number)] = item.start_point.row + 1
                yield item, (*path, number)
            return
        yield from ((child, path) for child in inner)

    def _pair(self, key: Node, path: KeyPath) -> KeyPath:
        line = key.start_point.row + 1
        for part in _parts(key):
            path = (*path, part)
            self.lines.setdefault(path, line)
        return path

    def _header(self, key: Node, *, listed: bool) -> KeyPath:
        """The path of the table that a header opens."""
        line = key.start_point.row + 1
        path: KeyPath = ()
        parts = _parts(key)
        for part in parts[:-1]:
            path = (*path, part)
            self.lines.setdefault(path, line)
            if path in self._members:
                path = (*path, self._members[path] - 1)
        path = (*path, parts[-1])
        if not listed:
            self.lines[path] = line
            return path
        self.lines.setdefault(path, line)
        number = self._members.get(path, 0)
        self._members[path] = number + 1
        path = (*path, number)
        self.lines[path] = line
        return path


def statement_line(text: str, end: int) -> int | None:
    """The line, from 1, of the key whose statement ends at the letter ``end``, or of the header that stands there.

    What follows the line of ``end`` is not looked at and need not be sound. None where the parser is absent.
    """
    newline = text.find("\n", end)
    tree = _tree(text if newline < 0 else text[:newline])
    if tree is None:
        return None
    stop = len(text[:end].encode())
    cursor = tree.walk()  # downwards: each step up would begin at the root again
    line = None
    while cursor.goto_first_child_for_byte(max(stop - 1, 0)) is not None:
        node = cursor.node
        if node is None:
            break
        line = node.start_point.row + 1
        if node.type == "pair" and node.end_byte == stop:
            break
    return line


def _tree(text: str) -> Tree | None:
    try:
        import tree_sitter
        import tree_sitter_toml
    except ImportError:
        return None
    return tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language())).parse(text.encode())


def _parts(key: Node) -> tuple[str, ...]:
    """The first parts of a key as texts; a dotted key is the key before its last dot, then its last part."""
    parts: list[Node] = []
    while key.type == "dotted_key":
        key, last = (child for child in key.named_children if child.type in _KEYS)
        parts.append(last)
    return tuple(_plain(part) for part in (key, *reversed(parts[-_DEEPEST:])))


def _plain(part: Node) -> str:
    written = b"" if part.text is None else part.text
    text = written.decode()
    if part.type == "bare_key":
        return text
    if "\\" not in text:
        return text[1:-1]
    import tomllib  # few keys need it

    return tomllib.loads(f"key = {text}")["key"]

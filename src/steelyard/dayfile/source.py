"""The text behind a weigh day: decoded, parsed as TOML, and where each key stands in it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable
from typing import Any, cast

from steelyard.dayfile.contents import Limit
from steelyard.dayfile.fault import (
    DayFileError,
    Fault,
    KeyPath,
    quoted,
    show_line,
    show_message,
    show_path,
    written_float,
)
from steelyard.dayfile.syntax import key_lines, plain_tables, statement_line
from steelyard.units import EitherNumberError, NumberError, read_number

LARGEST = 8_000_000
"""The most bytes a weigh-day file may have; a full day has some ten thousand."""

DAY_FILE = Limit("a weigh-day file", LARGEST)

# Patterns for what is wrong are compiled where something is: a sound day does without.
_LOCATION = r" \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$"
_UNQUOTED = r"=\s*[+-]?[\d.]+\s*[A-Za-z%]"
_COMMA = r"=\s*([+-]?[0-9][0-9.,_]*,[0-9][0-9.,_]*)\s*(?:#|$)"
_HEADER = r"(?m)^[ \t]*(?P<open>\[\[?)(?P<keys>[^\[\]\n]*)\]\]?[ \t]*(?:#[^\n]*)?$"
_HEADER_KEY = r"""[ \t]*(?:"(?P<double>[^"\\]*)"|'(?P<single>[^']*)'|(?P<bare>[A-Za-z0-9_-]+))[ \t]*(?:\.|$)"""
# The parser's time grows with the square of the length of a dotted key; no key of a weigh day has more than six parts.
_PART = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_ENDLESS_KEY = rf"(?m)(?:^[ \t]*(?:\[\[?[ \t]*)?|[{{,][ \t]*){_PART}(?:[ \t]*\.[ \t]*{_PART}){{32}}"
_STATEMENT = rf"[ \t]*(?P<open>\[\[?)?[ \t]*(?P<keys>{_PART}(?:[ \t]*\.[ \t]*{_PART})*)[ \t]*(?(open)$|=)"
_NAMED = r"^(?:Cannot (?:declare|\w+(?: immutable)? namespace)|Duplicate inline table key) (.*?)(?: twice)?$"
# What a text is made of where its values are of no interest: texts and comments, brackets, and whole numbers so long
# that the language reads none of that length.
_MARKS = (
    r"""(?s:\"{3}(?:[^\\]|\\.)*?"{3,5}|'{3}.*?'{3,5}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|\#[^\n]*)"""
    r"""|(?P<open>[\[{])|(?P<close>[]}])|(?P<long>(?<![\w.])[+-]?[0-9][0-9_]{4300,}+(?![\w.]|[ \t]*=))"""
)
_MOST_LINES = 200  # of one value, looked through for its key
_LONGEST_PLACED = 1_000_000  # characters: the positions of a longer text fill the memory
_SHORT = 20_000  # characters: too few for a dotted key to take long
_DEEPEST = 32  # levels of tables and lists, far within what the rest of the program can follow


# What the parser's complaints mean to someone who wrote the line by hand.
_ADVICE = {
    "Illegal character '\\n'": "a text ends with a quote on the line where it began",
    "Unterminated string": "a text is not closed; it ends with the quotes that began it",
    "Invalid value": "no value stands here as TOML writes one; a text goes into quotes",
    "Unclosed array": "a list is not closed before this; it ends with ] and has commas between its members",
    "Unclosed inline table": "a table in braces is not closed; it ends with } on its line, with commas between",
    "Invalid statement": "a line is a [table], a key = value, or a comment after #",
    "Expected '=' after a key in a key/value pair": "after a key comes = and a value",
    "Invalid initial character for a key part": "a key is missing, or has a letter that needs quotes",
    "Expected newline or end of document after a statement": "something stands after the end of the value",
}


def decode(data: bytes, file: str) -> str:
    """The text of the bytes.

    Raises
    ------
    DayFileError: not UTF-8, or not text at all.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refusal(file, "is UTF-16 text; save it as UTF-8")
    if b"\x00" in data:
        raise _refusal(file, "is a binary file; it must be TOML text in UTF-8")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = f"0x{data[error.start]:02X}"
        raise _refusal(file, f"the byte {byte} is not UTF-8; save the file as UTF-8", line=line) from None


def encode(text: str, file: str) -> bytes:
    """The bytes of a text.

    Raises
    ------
    DayFileError: it holds half a character, as no file can.
    """
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        line = text.count("\n", 0, error.start) + 1
        raise _refusal(file, "holds half a character, which no UTF-8 file can", line=line) from None


def parse(text: str, file: str) -> dict[str, Any]:
    """The TOML tables of the text.

    Raises
    ------
    DayFileError: no valid TOML; the first error of syntax, with its line.
    """
    plain = plain_tables(text)
    if plain is not None:
        return plain
    if len(text) > _SHORT:
        _refuse_endless_key(text, file)
    import tomllib  # few texts need it

    try:
        tree = tomllib.loads(text, parse_float=written_float)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_refusal(text, file, str(error)) from None
    except RecursionError:
        raise _refusal(file, _NESTED, line=_deep_line(text)) from None
    except ValueError:
        # the one other complaint that the parser passes on: the language reads no integer of that length
        raise _long_number_refusal(text, file) from None
    deep = _deep_path(tree)
    if deep is not None:
        _refuse_endless_key(text, file)
        raise _refusal(file, _NESTED, line=_deep_line(text) or KeyLines(text).of(deep))
    return tree


_NESTED = "is nested too deeply; no value here stands deeper than six levels"


def _long_number_refusal(text: str, file: str) -> DayFileError:
    """The refusal of a whole number that has more digits than the language reads."""
    for mark in re.finditer(_MARKS, text):
        if mark["long"] is not None:
            digits = sum(letter.isdecimal() for letter in mark["long"])
            message = f"is a number of {digits:,} digits; write one of a few digits"
            return _refusal(file, message, line=_line_at(text, mark.start()), value=show_line(mark["long"]))
    return _refusal(file, "holds a number of thousands of digits; write one of a few digits")


def _deep_line(text: str) -> int | None:
    """The line of the first bracket that opens too deep a level; None where brackets alone do not go so deep."""
    depth = 0
    for mark in re.finditer(_MARKS, text):
        depth += (mark["open"] is not None) - (mark["close"] is not None)
        if depth > _DEEPEST:
            return _line_at(text, mark.start())
    return None


def _line_at(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1


def _refuse_endless_key(text: str, file: str) -> None:
    endless = re.search(_ENDLESS_KEY, text)
    if endless is not None:
        message = "a dotted key of more than 32 parts; no key here has more than six"
        raise _refusal(file, message, line=_line_at(text, endless.start()))


def _deep_path(tree: dict[str, Any]) -> KeyPath | None:
    """The path to a table or list that stands too deep; None where there is none."""
    level: list[tuple[KeyPath, Any]] = [((), tree)]
    for _ in range(_DEEPEST):
        level = [
            ((*path, key), child)
            for path, node in level
            for key, child in _members(node)
            if isinstance(child, dict | list)
        ]
    return level[0][0] if level else None


def _members(node: Any) -> Iterable[tuple[str | int, Any]]:
    return cast(dict[str, Any], node).items() if isinstance(node, dict) else enumerate(cast(list[Any], node))


def _refusal(file: str, message: str, *, line: int | None = None, value: str = "") -> DayFileError:
    return DayFileError(file, (Fault(line, "", value, message),))


def _syntax_refusal(text: str, file: str, complaint: str) -> DayFileError:
    match = re.search(_LOCATION, complaint)
    lines = text.split("\n")
    line = int(match["line"]) if match is not None and match["line"] is not None else len(lines)
    what = re.sub(_LOCATION, "", complaint)
    twice = what.startswith(
        ("Cannot overwrite", "Cannot declare", "Cannot mutate", "Cannot redefine", "Duplicate inline")
    )
    key = _doubled(text, complaint, what) if twice else ""
    if twice:
        line = _line_of_duplicate(text, complaint) or line
    content = lines[line - 1].strip() if 0 < line <= len(lines) else ""
    if twice:
        message = show_message(f"{key} stands twice; keep one of the two")
    elif re.search(_UNQUOTED, content):
        message = 'is not valid TOML; a value with a unit goes into quotes, as in x = "176 in"'
    elif (number := re.search(_COMMA, content)) is not None:
        message = f"is not valid TOML; {_with_comma(number[1])}"
    else:
        message = f"is not valid TOML: {_ADVICE.get(what, what[:1].lower() + what[1:])}"
    return _refusal(file, message, line=line, value=show_line(content))


def _with_comma(number: str) -> str:
    """The right spelling of a number that has a comma and no quotes."""
    try:
        written = f"{read_number(number):.15g}"
    except EitherNumberError as error:
        written = " or ".join(error.readings)
    except NumberError:
        return "a number without quotes has a decimal point and no commas"
    return f"a number without quotes has no commas, write {written} for {number}"


def _doubled(text: str, complaint: str, what: str) -> str:
    """The key or table that stands twice, as words; the parser names it, or stopped just behind it."""
    names = re.match(_NAMED, what)
    if names is not None:
        path = ast.literal_eval(names[1])
        word = "table" if what.startswith("Cannot declare") else "key"
        return f"the {word} {show_path((path,) if isinstance(path, str) else path)}"
    keys = _key_before(*_stop(text, complaint))
    return "this key or table" if keys is None else f"the key {show_path(keys)}"


def _line_of_duplicate(text: str, complaint: str) -> int | None:
    """The line where the second of two equal keys begins: the parser stopped behind its value, however long."""
    if len(text) > _LONGEST_PLACED:
        return None
    return statement_line(*_stop(text, complaint))


def _stop(text: str, complaint: str) -> tuple[str, int]:
    """The text as the parser counts it, and the letter at which it stopped."""
    text = text.replace("\r\n", "\n")
    match = re.search(_LOCATION, complaint)
    if match is None or match["line"] is None:
        return text, len(text)
    starts = [0, *(found.end() for found in re.finditer("\n", text))]
    return text, starts[int(match["line"]) - 1] + int(match["column"]) - 1


def _key_before(text: str, end: int) -> KeyPath | None:
    """The key of the statement that ends at ``end``: the nearest one above that reads with all that follows it."""
    begin = end
    for _ in range(_MOST_LINES):
        begin = text.rfind("\n", 0, begin)
        statement = text[begin + 1 : end]
        found = re.match(_STATEMENT, statement)
        if found is not None and (found["open"] is not None or _reads(statement)):
            return _parts(found["keys"])
        if begin < 0:
            break
    return None


def _parts(keys: str) -> KeyPath | None:
    """The parts of a key as it is written; None where it is none."""
    import tomllib

    try:
        node: Any = tomllib.loads(f"{keys} = 0")
    except (ValueError, RecursionError):
        return None
    parts: list[str] = []
    while isinstance(node, dict):
        ((part, node),) = cast(dict[str, Any], node).items()
        parts.append(part)
    return tuple(parts)


def _reads(statement: str) -> bool:
    import tomllib

    try:
        tomllib.loads(statement)
    except (ValueError, RecursionError):
        return False
    return True


class KeyLines:
    """The position of each key of a sound text. Made only when there is a fault to place."""

    def __init__(self, text: str) -> None:
        lines = key_lines(text) if len(text) <= _LONGEST_PLACED else None
        self._lines = _headers(text) if lines is None else lines

    def of(self, path: KeyPath) -> int | None:
        """The line of the value at ``path``, else of what encloses it; None where neither is known."""
        for end in range(len(path), 0, -1):
            line = self._lines.get(path[:end])
            if line is not None:
                return line
        return None


def _headers(text: str) -> dict[KeyPath, int]:
    """The lines of ``[table]`` and ``[[table]]`` headers by path, the first where several open the same one."""
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    line, position = 1, 0
    for match in re.finditer(_HEADER, text):
        line += text.count("\n", position, match.start())
        position = match.start()
        keys = [
            next(part for part in found.groups() if part is not None)
            for found in re.finditer(_HEADER_KEY, match["keys"])
        ]
        path: KeyPath = ()
        for number, key in enumerate(keys):
            path = (*path, key)
            lines.setdefault(path, line)
            if number == len(keys) - 1 and match["open"] == "[[":
                counts[path] = counts.get(path, 0) + 1
            if path in counts:
                path = (*path, counts[path] - 1)
                lines.setdefault(path, line)
    return lines


def show_file(file: str) -> str:
    """A file's name on one line, whatever letters it has."""
    return file if file and file.isprintable() else quoted(file)

"""The head of a drawing from above: title, state and basis, date and site, a logo, and the line on contradictions."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from steelyard.model import WeighDay
from steelyard.questions.above import DrawnRig
from steelyard.report.drawings.above.scene import DASH, FINE, FIRM, NOTE, SMALL, TITLE, Scene
from steelyard.report.drawings.above.values import Reader
from steelyard.report.drawings.sheet.canvas import tag_width
from steelyard.report.drawings.sheet.type import broken, fitted, text_width
from steelyard.report.tables.contested import suspects_titled
from steelyard.report.words.names import CONTESTED

_STATE = 20.0
_HIGH = 86.0
_NOTES = 330.0  # width of date and site
_LOGO = (170.0, 60.0)
_LINE = 19.0
_TITLES = (26.0, 24.0, 22.0, 20.0)


@dataclass(frozen=True)
class Head:
    """The head on a sheet of any shape; on a compact one the words are broken and date and site follow below."""

    scene: Scene
    title: str

    @property
    def height(self) -> float:
        """From the margin to the end of its last line."""
        if not self.scene.sheet.compact:
            return _HIGH
        lines = len(self._title) * (self._size + 4.0) + len(self._state) * 22.0 + (_LINE if self._below else 0.0)
        return max(lines + 6.0, _LOGO[1] if self.scene.sheet.logo else 0.0)

    def draw(self) -> None:
        """Draw it below the upper margin."""
        scene = self.scene
        right = scene.width - scene.margin
        if scene.sheet.logo is not None:
            taken = scene.sheet.logo.place(
                scene.canvas, right=right, top=scene.margin, wide=self._logo_width, high=_LOGO[1]
            )
            right -= taken + 24.0
        if scene.sheet.compact:
            self._compact(right)
        else:
            self._wide(right)

    def _wide(self, right: float) -> None:
        scene, canvas, soft = self.scene, self.scene.canvas, self.scene.palette.soft
        wide = 0.0
        for place, note in enumerate(_notes(scene.reader.findings.day)):
            shown = fitted(note, NOTE, _NOTES)
            wide = max(wide, text_width(shown, NOTE))
            canvas.text(right, scene.margin + (26 if place == 0 else 54), shown, NOTE, anchor="end", fill=soft)
        room = right - scene.margin - wide - 40
        title = fitted(self.title, TITLE, room, bold=True)
        canvas.text(scene.margin, scene.margin + 28, title, TITLE, bold=True)
        y = scene.margin + 60
        after = scene.margin + _basis(scene, y) + 14
        words = heading(scene.reader, scene.rig)
        canvas.text(after, y + 1, fitted(words, _STATE, room - (after - scene.margin)), _STATE)

    def _compact(self, right: float) -> None:
        scene, canvas = self.scene, self.scene.canvas
        y = scene.margin
        for line in self._title:
            y += self._size + 4.0
            canvas.text(scene.margin, y - 6.0, line, self._size, bold=True)
        after = scene.margin + tag_width(str(scene.reader.basis), SMALL) + 10.0
        for place, line in enumerate(self._state):
            y += 22.0
            if place == 0:
                _basis(scene, y - 4.0)
            canvas.text(after if place == 0 else scene.margin, y - 4.0, line, 17.0)
        notes = _notes(scene.reader.findings.day)
        if self._below:
            room = right - scene.margin
            canvas.text(scene.margin, y + 15.0, fitted(", ".join(notes), SMALL, room), SMALL, fill=scene.palette.soft)
            return
        for place, note in enumerate(notes):
            base = scene.margin + 20.0 + place * _LINE
            canvas.text(right, base, fitted(note, SMALL, _NOTES), SMALL, anchor="end", fill=scene.palette.soft)

    @property
    def _logo_width(self) -> float:
        return min(_LOGO[0], 0.25 * self.scene.width)

    @property
    def _room(self) -> float:
        """Width for the title."""
        scene = self.scene
        logo = 0.0 if scene.sheet.logo is None else self._logo_width + 24.0
        return scene.width - 2 * scene.margin - logo

    @property
    def _below(self) -> bool:
        """Whether date and site have a line of their own below the state."""
        notes = _notes(self.scene.reader.findings.day)
        return bool(notes) and self._room < 640.0

    @property
    def _words_room(self) -> float:
        """Width for title and state beside date and site."""
        if self._below:
            return self._room
        notes = [min(text_width(note, SMALL), _NOTES) for note in _notes(self.scene.reader.findings.day)]
        return self._room - (max(notes) + 24.0 if notes else 0.0)

    @cached_property
    def _title(self) -> list[str]:
        return broken(self.title, self._size, self._words_room, bold=True, most=2)

    @cached_property
    def _size(self) -> float:
        """Height of the title's letters: as large as one line allows, else as two lines do."""
        fits = [size for size in _TITLES if text_width(self.title, size, bold=True) <= self._words_room]
        return fits[0] if fits else _TITLES[-1]

    @cached_property
    def _state(self) -> list[str]:
        first = tag_width(str(self.scene.reader.basis), SMALL) + 10.0
        room = self._words_room
        return broken(heading(self.scene.reader, self.scene.rig), 17.0, room, most=2, first=room - first)


def _notes(day: WeighDay) -> list[str]:
    date = "" if day.record.date is None else day.record.date.isoformat()
    return [text for text in (date, day.site.name) if text]


def _basis(scene: Scene, y: float) -> float:
    """Whether the figures are measured or predicted, as a word on ink or in a broken frame. Returns its width."""
    word, size = str(scene.reader.basis), SMALL
    width = tag_width(word, size)
    if not scene.predicted:
        scene.canvas.tag(scene.margin + width / 2, y, word, size)
        return width
    scene.canvas.add(
        "rect",
        x=scene.margin,
        y=y - size * 1.02,
        width=width,
        height=size * 1.4,
        rx=2.0,
        fill="none",
        stroke=scene.palette.ink,
        stroke_width=FINE,
        stroke_dasharray=DASH,
    )
    scene.canvas.text(scene.margin + width / 2, y, word, size, bold=True, anchor="middle")
    return width


def _told(scene: Scene) -> bool:
    return scene.sheet.notice and scene.reader.contradicted


def notice_height(scene: Scene) -> float:
    """Height of the framed lines on contradictions; nothing where the readings agree."""
    return 21.0 + _LINE * len(_notice_lines(scene)) if _told(scene) else 0.0


def draw_notice(scene: Scene, top: float) -> None:
    """Framed lines over the drawing: which readings of the day contradict one another."""
    if not _told(scene):
        return
    lines = _notice_lines(scene)
    scene.canvas.add(
        "rect",
        x=scene.margin,
        y=top,
        width=scene.width - 2 * scene.margin,
        height=11.0 + _LINE * len(lines),
        rx=2.0,
        fill="none",
        stroke=scene.palette.ink,
        stroke_width=FIRM,
    )
    for place, line in enumerate(lines):
        scene.canvas.text(scene.margin + 12, top + 21 + place * _LINE, line, NOTE, bold=True)


def _notice_lines(scene: Scene) -> list[str]:
    room = scene.width - 2 * scene.margin - 24
    words = notice(scene.reader)
    if scene.sheet.compact and text_width(words, NOTE, bold=True) > room:
        words = f"{words.partition('.')[0]}."
    return broken(words, NOTE, room, bold=True, most=2)


def notice(reader: Reader) -> str:
    """Which readings contradict one another, in a sentence."""
    if reader.contested:
        return f"{CONTESTED} contested: readings contradict one another. {_look_at(reader)}"
    return f"Readings of this day contradict one another. {_look_at(reader)} No figure here hangs on it."


def _look_at(reader: Reader) -> str:
    places = suspects_titled(reader.findings)
    return f"Look at {places}." if places else "No single reading stands out."


def _change(reader: Reader, before: str) -> str:
    day = reader.findings.day
    return f"change from {day.state_title(before)} to {day.state_title(reader.state)}"


def heading(reader: Reader, rig: DrawnRig) -> str:
    """``hitched, weight distribution on``, or ``change from solo to hitched``."""
    if reader.against is not None:
        return _change(reader, reader.against)
    on = any(coupling.distributing for coupling in rig.couplings)
    return reader.findings.day.state_title(reader.state) + (", weight distribution on" if on else "")


def heading_plain(reader: Reader) -> str:
    """The state or the change, without its couplings."""
    if reader.against is not None:
        return _change(reader, reader.against)
    return f"state {reader.findings.day.state_title(reader.state)}"

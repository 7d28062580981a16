"""The rig from above, true to scale, with the load of every wheel, axle, side and coupling.

The look is that of the balance whose name the program bears: beams with notches, weights hung on them at their arms.
What matters is told twice, by form and by word: fill heights, hatching, dashes, signs; never by hue.
"""

from __future__ import annotations

from steelyard.findings import Findings
from steelyard.questions.above import rig_of
from steelyard.report.drawings.above.composition import Composition, composed
from steelyard.report.drawings.above.fit import fitted_into
from steelyard.report.drawings.above.left import left_box
from steelyard.report.drawings.above.paper import PaperSheet, on_screen
from steelyard.report.drawings.above.values import Reader
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.shape import shape_of


def above_svg(
    findings: Findings,
    state: str,
    *,
    against: str | None = None,
    theme: Theme = "light",
    title: str | None = None,
    shape: str | None = None,
    logo: Logo | None = None,
) -> str:
    """The rig of one state from above, or what changed since another, as SVG.

    Parameters
    ----------
    findings: of the weigh day.
    state: what is drawn.
    against: draw the change from this state to ``state``; the two may be named in any order.
    theme: ``light``, ``dark``, or ``transparent`` to lay over a picture.
    title: at the head; None takes the day's own.
    shape: a name of ``SHAPES``; None for as high as the drawing needs. logo: for the upper right corner.

    Returns
    -------
    An SVG document; the same input gives the same text.

    Raises
    ------
    KeyError: the day has no such state.
    ValueError: the state has no vehicle, there is no such shape, or the rig does not fit on it in letters one can read.
    """
    sheet = PaperSheet(PALETTES[theme], logo=logo)
    if shape is None:
        return draw(findings, state, against=against, sheet=sheet, title=title)
    reader, words = _reader(findings, state, against), _title(findings, title)
    rig = rig_of(findings.day, findings.day.states[state])
    made = fitted_into(shape_of(shape), sheet, reader, rig, words)
    if made is None:
        raise ValueError(
            f"the rig in {findings.day.state_title(state)} does not fit on {shape} in letters that can be read; "
            "choose another shape, or none"
        )
    return made.document()


def above_screen_svg(
    findings: Findings, state: str, *, against: str | None = None, theme: Theme = "light", narrow: bool = False
) -> str:
    """The rig alone with its figures, for a page that says the rest: no head, plates or legend; else ``above_svg``.

    Parameters
    ----------
    narrow: for a screen as wide as a phone, where a figure is to be read at half its size.

    Raises
    ------
    KeyError: the day has no such state.
    ValueError: the state has no vehicle.
    """
    reader, words = _reader(findings, state, against), _title(findings, None)
    rig = rig_of(findings.day, findings.day.states[state])
    tried: list[Composition] = []
    for sheet in on_screen(PALETTES[theme], narrow=narrow):
        tried.append(composed(reader, rig, sheet, words, left_box(reader)))
        if tried[-1].scene.width <= sheet.width:
            break
    return tried[-1].document()


def draw(findings: Findings, state: str, *, against: str | None, sheet: PaperSheet, title: str | None = None) -> str:
    """The drawing on any sheet; otherwise as ``above_svg``.

    Raises
    ------
    KeyError: the day has no such state.
    ValueError: the state has no vehicle.
    """
    reader = _reader(findings, state, against)
    rig = rig_of(findings.day, findings.day.states[state])
    return composed(reader, rig, sheet, _title(findings, title), left_box(reader)).document()


def _reader(findings: Findings, state: str, against: str | None) -> Reader:
    reader = Reader(findings, state, against=against)
    if not findings.day.states[state].vehicles:
        raise ValueError(f"state {state!r} has no vehicle to draw")
    return reader


def _title(findings: Findings, title: str | None) -> str:
    return title or findings.day.title or "Weigh day"

"""How much trailer, in words: the table over shares, the corners, the trailers of the day, the coupling's place."""

from __future__ import annotations

import numpy as np

from steelyard.findings import worst_first
from steelyard.model import VerdictId
from steelyard.questions.trailer import HitchedTrailer, TrailerAnswer
from steelyard.report.tables.contested import LEAST, contested_lines
from steelyard.report.tables.verdicts import limit_name, summary
from steelyard.report.words.grid import Grid, listed, rule, wrapped
from steelyard.report.words.names import PLUS_MINUS, shown
from steelyard.requirements import NOT_LEGAL_ADVICE, Ahead
from steelyard.units import Dimension, format_number

_BINDS = 33
"""Characters of a line that the name of the limit takes in the table, beside the other three columns."""

_SHARES = (0.05, 0.08, 0.10, 0.12, 0.15, 0.20, 0.25, 0.30)


def trailer_text(answer: TrailerAnswer) -> str:
    """Everything a person wants to read of the answer, at most 80 columns, ending in a line end."""
    lines = [rule(f"trailer behind {answer.vehicle} at {answer.at}", f"from {answer.state}"), ""]
    wrong = answer.result.limits.contested
    lines += [*contested_lines(wrong), "", *wrapped(f"Each figure is {LEAST}."), ""] if wrong else []
    lines += [*wrapped(missed_line(answer) or _load(answer)), *([] if answer.result.missed else _allowed(answer))]
    words = window_words(answer)
    lines += ["", *wrapped(f"{words[:1].upper()}{words[1:]}.")] if words else []
    if not answer.result.missed:
        lines += ["", *wrapped(moved_line(answer))]
    if answer.result.limits.not_judged:
        lines += ["", *wrapped(not_judged_line(answer))]
    for given in answer.given:
        lines += ["", *_given(answer, given)]
    lines += ["", PLUS_MINUS] if answer.given else []
    if answer.day.rules.sets:
        lines += ["", *paper_lines(answer)]
    return "\n".join(lines) + "\n"


def _allowed(answer: TrailerAnswer) -> list[str]:
    """The table over shares, the largest of all, and the corners."""
    lines = ["", *_table(answer), "", *wrapped(largest_line(answer))]
    corners = answer.result.corners
    if corners:
        lines += ["", "Corners:"]
    for corner in corners:
        before, after = (limit_label(answer, place) for place in (corner.before, corner.after))
        text = f"{share_text(corner.share)}, {mass_text(answer, corner.mass)}: {before} gives way to {after}"
        lines += wrapped(text, first="- ")
    return lines


def not_judged_line(answer: TrailerAnswer) -> str:
    """Which limits nobody can judge, because the readings leave them open."""
    rules = {rule.id: rule.title for rule_set in answer.day.rules.sets for rule in rule_set.rules}
    ids = {name: rules.get(VerdictId.parse(name).requirement) for name in answer.result.limits.not_judged}
    open_ = [name for name, title in ids.items() if title is None]
    titles = list(dict.fromkeys(title for title in ids.values() if title is not None))
    said = [f"Not judged, because not determined: {listed(open_)}."] if open_ else []
    if titles:
        said.append(f"Not judged before the axles of the trailer are known: {listed(titles)}.")
    return " ".join(said)


def missed_line(answer: TrailerAnswer) -> str:
    """Why no trailer is allowed at all; empty where one is."""
    result = answer.result
    if not result.missed:
        return ""
    names = listed([limit_label(answer, place) for place in result.missed])
    are = "is" if len(result.missed) == 1 else "are"
    it = "it is" if len(result.missed) == 1 else "they are"
    return (
        f"No trailer is allowed: {names} {are} not kept at 95 % in {answer.state}, without any trailer. Change the "
        f"load of {answer.vehicle} until {it}, or weigh again where it is too close to call."
    )


def largest_line(answer: TrailerAnswer) -> str:
    """The largest gross of all, where it is in the table and in the drawing."""
    mass, low, high = answer.result.largest
    at = share_text(low) if share_text(low) == share_text(high) else f"{share_text(low)} to {share_text(high)}"
    if not np.isfinite(mass):
        return f"Nothing bounds the trailer at {at} on the coupling."
    return f"The largest of all: {mass_text(answer, mass)}, with {at} of it on the coupling."


def limit_label(answer: TrailerAnswer, place: int) -> str:
    """A limit in words, with the vehicle's id for its name."""
    label = answer.result.limits.labels[place]
    name, _, rest = label.partition(": ")
    if rest and name == answer.day.vehicles[answer.vehicle].title:
        return f"{answer.vehicle} {rest}"
    return rest if rest and name.startswith("the trailer") else label


def mass_text(answer: TrailerAnswer, kilograms: float) -> str:
    """``9,480 lb``, rounded down to what a person would say: three figures and a half."""
    units = answer.day.units
    if not np.isfinite(kilograms):
        return "any mass"
    value = units.show(kilograms, Dimension.MASS)
    step = 10.0 if value >= 1000.0 else 1.0
    return f"{format_number(np.floor(value / step + 1e-5) * step)} {units.mass}"


def share_text(share: float) -> str:
    """``12.5 %``."""
    return f"{format_number(100.0 * share, 1).removesuffix('.0')} %"


def window_words(answer: TrailerAnswer) -> str:
    """Usual shares on this kind of coupling; empty where none are known."""
    limits = answer.result.limits
    kind = answer.day.vehicles[answer.vehicle].couplings[answer.at].type.value.replace("_", " ")
    if limits.low is None and limits.high is None:
        return ""
    if limits.low is not None and limits.high is not None:
        ends = f"{share_text(limits.low).removesuffix(' %')} to {share_text(limits.high)}"
    elif limits.low is not None:
        ends = f"at least {share_text(limits.low)}"
    else:
        ends = f"at most {share_text(limits.high or 0.0)}"
    return f"usual on a {kind}: {ends} ({limits.source})"


def moved_line(answer: TrailerAnswer) -> str:
    """Effect of about an inch on the towing vehicle's own limits and on the largest trailer."""
    units = answer.day.units
    forward, here, rearward = answer.moved
    step = f"{format_number(units.show(rearward.by, Dimension.LENGTH), 3).rstrip('0').rstrip('.')} {units.length}"
    nothing = 0.5 * units.factor(Dimension.MASS)
    if np.isfinite(here.load) and max(abs(moved.load - here.load) for moved in (forward, rearward)) < nothing:
        own = (
            f"The vehicle's own limits allow {mass_text(answer, here.load)} on the coupling, "
            f"and {step} further forward or rearward changes nothing."
        )
    elif np.isfinite(here.load):
        own = (
            f"The vehicle's own limits allow {mass_text(answer, here.load)} on the coupling where it stands, "
            f"{_change(answer, forward.load - here.load)} with it {step} further forward and "
            f"{_change(answer, rearward.load - here.load)} {step} further rearward."
        )
    else:
        own = "The vehicle's own limits bound no load on the coupling."
    share = share_text(here.share)
    if not np.isfinite(here.most):
        return f"{own} Nothing bounds the trailer at {share}."
    changes = [moved.most - here.most for moved in (forward, rearward)]
    if max(map(abs, changes)) < nothing:
        return f"{own} The largest trailer at {share}, {mass_text(answer, here.most)}, does not depend on it."
    first, second = (_change(answer, change) for change in changes)
    return f"{own} The largest trailer at {share} is {mass_text(answer, here.most)}, and {first} or {second}."


def _change(answer: TrailerAnswer, kilograms: float) -> str:
    units = answer.day.units
    value = units.show(abs(kilograms), Dimension.MASS)
    return f"{format_number(value)} {units.mass} {'more' if kilograms >= 0.0 else 'less'}"


def _load(answer: TrailerAnswer) -> str:
    result = answer.result
    if result.load_binds < 0:
        return "No limit bounds the load on the coupling."
    name = limit_label(answer, result.load_binds)
    return f"At most {mass_text(answer, result.load)} on the coupling at 95 %; what binds: {name}."


def told_shares(answer: TrailerAnswer) -> tuple[int, ...]:
    """Which shares of the answer the table has: round ones, the usual one, every corner, and those of the largest."""
    result = answer.result
    wanted = [*_SHARES, answer.moved[1].share, *result.largest[1:], *(corner.share for corner in result.corners)]
    places = {int(np.abs(result.shares - share).argmin()) for share in wanted}
    exact = {int(np.abs(result.shares - corner.share).argmin()) for corner in result.corners}
    words: dict[str, int] = {}
    for place in sorted(places, key=lambda place: (place not in exact, place)):
        words.setdefault(share_text(float(result.shares[place])), place)
    return tuple(sorted(words.values()))


def _table(answer: TrailerAnswer) -> list[str]:
    result, unit = answer.result, answer.day.units.mass
    grid = Grid(("share on the coupling", f"at 95 %, {unit}", f"best, {unit}", "what binds"), left=frozenset({3}))
    for place in told_shares(answer):
        binds = int(result.binds[place])
        most, best = (mass_text(answer, float(masses[place])) for masses in (result.most, result.best))
        name = limit_label(answer, binds) if binds >= 0 else "nothing"
        share = share_text(float(result.shares[place]))
        first, *more = wrapped(name, width=_BINDS)
        grid.add(share, *(text.removesuffix(f" {unit}") for text in (most, best)), first)
        for line in more:
            grid.add("", "", "", line)
    return ["Largest gross trailer mass with every limit kept:", "", *grid.render()]


def paper_lines(answer: TrailerAnswer) -> list[str]:
    """From which permissible mass of the trailer a chosen rule answers otherwise, a licence above all."""
    if not answer.papers:
        return wrapped("No chosen rule of the road compares the papers of a trailer here.")
    lines = wrapped("By the permissible mass in the trailer's papers, whatever it weighs:")
    rules = dict.fromkeys((step.rule_set.id, step.rule.id, step.braked) for step in answer.papers)
    for rule_set, name, braked in rules:
        steps = [one for one in answer.papers if (one.rule_set.id, one.rule.id, one.braked) == (rule_set, name, braked)]
        brakes = {None: "", True: ", with brakes", False: ", without brakes"}[braked]
        told = "; ".join(_step_words(answer, step, last=step is steps[-1] and len(steps) > 1) for step in steps)
        lines += wrapped(f"{steps[0].rule.title}{brakes}: {told} ({rule_set}: {steps[0].rule.cite}).", first="- ")
    return [*lines, *wrapped(NOT_LEGAL_ADVICE)]


def _step_words(answer: TrailerAnswer, step: Ahead, *, last: bool) -> str:
    """``up to 2,050 kg B96, which the driver does not hold``."""
    heavy = "above that" if last else "any mass"
    mass = heavy if step.up_to is None else f"up to {mass_text(answer, step.up_to)}"
    if not step.answer:
        return f"{mass} {_MET[step.met]}"
    held = "" if step.met is not False else ", which the driver does not hold"
    return f"{mass} {step.answer}{held}"


_MET = {None: "not said", True: "allowed", False: "not allowed"}


def _given(answer: TrailerAnswer, given: HitchedTrailer) -> list[str]:
    units = answer.day.units
    title = answer.day.vehicles[given.trailer].title
    gross, share = shown(given.gross, units), shown(given.share, units)
    if gross is None or share is None:
        return []
    text = f"{title} ({given.trailer}) as weighed, hitched here: {gross.spread}, {share.spread} of it on the coupling"
    lines = wrapped(f"{text}; {summary(given.findings.verdicts) or 'no limits'}.", rest="  ")
    worst = [verdict for verdict in worst_first(given.findings.verdicts) if verdict.probability is not None]
    named = [limit_name(verdict, answer.day) for verdict in worst if (verdict.probability or 0.0) < 0.95]
    return lines + wrapped(f"Not within: {'; '.join(named)}.", first="  ") if named else lines

"""How a draft was taken, in words: what a reader must know of it before its figures are read as others are."""

from __future__ import annotations

from steelyard.findings import raised_words
from steelyard.model import Draft, WeighDay


def circumstances(day: WeighDay, draft: Draft) -> tuple[str, ...]:
    """Circumstances of a draft other than level ground and a new placement; empty without any."""
    words = _placed_with(day, draft)
    words += ["facing the other way"] if draft.reversed else []
    words += ["wheels without a pad on the ground"] if draft.on_ground else []
    on_blocks = ", ".join(str(wheel) for wheel in draft.blocks)
    words += [f"{on_blocks} on blocks as high as the pads"] if on_blocks else []
    if draft.raised:
        springs = ", suspension blocked" if draft.blocked else ""
        words += [f"{raised_words(day, draft)}{springs}: for the height of the centre of gravity alone"]
    return tuple(words)


def _placed_with(day: WeighDay, draft: Draft) -> list[str]:
    """The drafts between which neither the rig nor a pad was moved."""
    if draft.placement is None:
        return []
    others = [f"{one.number}" for one in day.drafts if one.placement == draft.placement and one.number != draft.number]
    return [f"same placement as draft {', '.join(others)}"] if others else []

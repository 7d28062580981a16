"""The judgement, case by case: who sealed, what differs, and what must never be called genuine."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from steelyard import __version__
from steelyard.seals.authenticate.answer import SealedPart, SealJudgement, SealsShape
from steelyard.seals.authenticate.pieces import Carrier, FoundSeal, GivenDay, GivenFindings, Origin
from steelyard.seals.authenticate.plain import plain
from steelyard.seals.authenticate.reading import read_bytes, read_text
from tests.cli.days import NURSERY
from tests.seals.a_seal import MORTEN, NOW, OLIVE, SEALED_AT, content, judged, knows, sealed_day

if TYPE_CHECKING:
    from steelyard.seals.sealing import Seal

CORRECTED = (
    NURSERY
    + """
[[corrections]]
draft = 3
place = "beds/1L"
value = 565
reason = "a digit was read wrongly"
"""
)
OTHER = NURSERY.replace("720", "730").replace("Nursery van with", "Nursery van without")

CODE_OF_ANOTHER = "the code in photo.jpg is not that of this ticket: it carries seal 1,"


def of_file(seal: Seal, file: str = "day.seal") -> FoundSeal:
    return FoundSeal(Origin(file), Carrier.FILE, seal.data)


def of_code(seal: Seal, file: str = "photo.jpg", head: str | None = None) -> FoundSeal:
    words = seal.text.partition(":")[0] if head is None else head
    return FoundSeal(Origin(file), Carrier.CODE, seal.data, words)


def findings(text: str = NURSERY, **changes: Any) -> GivenFindings:
    return GivenFindings(Origin("day.json"), {**content(text).findings, **changes})


def day(text: str = NURSERY) -> GivenDay:
    return GivenDay(Origin("day.toml"), text.encode())


def changed(text: str, finding: str, **values: Any) -> list[dict[str, Any]]:
    """The findings of a day, one of them with other values."""
    return [{**item, **(values if item["id"] == finding else {})} for item in content(text).findings["findings"]]


def words(answer: SealsShape) -> list[str]:
    return [difference.words for seal in answer.seals for difference in seal.differences]


def parts(answer: SealsShape) -> set[SealedPart]:
    return {difference.part for seal in answer.seals for difference in seal.differences}


def test_everything_as_sealed_is_genuine() -> None:
    answer = judged(of_file(sealed_day(NURSERY)), findings(), day(), weigh=True)
    assert answer.judgement is SealJudgement.GENUINE
    assert answer.seals[0].compared == (
        "day.json are the sealed findings, to the last sign",
        "day.toml is the sealed day file, to the byte",
        "weighed again here, the day gives the sealed findings, to the last digit",
    )
    assert not answer.seals[0].on_paper


def test_a_code_alone_is_genuine_and_its_figures_are_for_the_reader() -> None:
    answer = judged(*read_text(sealed_day(NURSERY).text, "--text"))
    assert answer.judgement is SealJudgement.GENUINE
    assert answer.seals[0].on_paper
    sealed = answer.seals[0].sealed
    assert sealed is not None
    gross = next(item for item in sealed.figures if item.id == "empty/van/gross")
    assert (gross.what, gross.value) == ("gross mass of van, empty", 2658.0)  # the file's own figure, from findings


@pytest.mark.parametrize(
    ("standing", "wanted"),
    [
        (knows(), SealJudgement.UNKNOWN_KEY),
        (knows(MORTEN), SealJudgement.UNKNOWN_KEY),
        (knows(OLIVE, revoked=(OLIVE,)), SealJudgement.REVOKED_KEY),
    ],
    ids=["nobody", "another", "revoked"],
)
def test_a_key_that_is_not_good_is_never_genuine(standing: Any, wanted: SealJudgement) -> None:
    assert judged(of_file(sealed_day(NURSERY)), findings(), standing=standing).judgement is wanted


@pytest.mark.parametrize(
    ("change", "wanted"),
    [
        (
            {"findings": changed(NURSERY, "coupled/van/axle/2", value=1270.5)},
            ["axle 2 of van, coupled: 1,270.5 kg here, 1,370.5 kg sealed", "the findings are not the sealed ones"],
        ),
        (
            {"title": "Nursery van, empty"},
            [
                'the title: "Nursery van, empty" here, "Nursery van with the seedling trailer" sealed',
                "the findings are not the sealed ones",
            ],
        ),
    ],
    ids=["figure", "title"],
)
def test_what_was_changed_in_findings_is_told_one_by_one(change: dict[str, Any], wanted: list[str]) -> None:
    answer = judged(of_file(sealed_day(NURSERY)), findings(**change))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert words(answer) == wanted


def test_a_doubt_a_verdict_and_a_caution_that_were_changed_are_told() -> None:
    seal = of_file(sealed_day(NURSERY))
    u = next(item["u"] for item in content(NURSERY).findings["findings"] if item["id"] == "empty/van/gross")
    answer = judged(seal, findings(findings=changed(NURSERY, "empty/van/gross", u=u / 2)))
    assert words(answer)[0] == "gross mass of van, empty: 2,658.0 kg, u 4.2 here, 2,658.0 kg, u 8.4 sealed"
    verdicts = [{**item, "verdict": "within"} for item in content(NURSERY).findings["verdicts"]]
    answer = judged(seal, findings(verdicts=verdicts))
    assert words(answer)[:2] == [
        "limits: 18 within here, 17 within and 1 outside sealed",
        "the limit coupled/coupling/share:window_low: within here, outside sealed",
    ]
    answer = judged(seal, findings(cautions=[]))
    assert [item.part for item in answer.seals[0].differences] == [SealedPart.FINDINGS]
    assert "every sealed figure agrees, and something else in them was changed" in words(answer)[0]


def test_a_figure_that_is_gone_or_was_added_is_told() -> None:
    seal = of_file(sealed_day(NURSERY))
    less = [item for item in content(NURSERY).findings["findings"] if item["id"] != "empty/van/gross"]
    assert words(judged(seal, findings(findings=less)))[0] == (
        "gross mass of van, empty: nothing here, 2,658.0 kg sealed"
    )
    more = [*content(NURSERY).findings["findings"]]
    more.append({**more[0], "id": "empty/ghost/gross"})
    assert any(
        "gross mass of ghost, empty" in one and "nothing sealed" in one
        for one in words(judged(seal, findings(findings=more)))
    )


@pytest.mark.parametrize(
    "spoilt", [{"findings": 3}, {"findings": [3]}, {"units": None}, {"verdicts": {}}, {"title": 5}]
)
def test_findings_of_another_form_are_different_and_no_fault(spoilt: dict[str, Any]) -> None:
    answer = judged(of_file(sealed_day(NURSERY)), findings(**spoilt))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert SealedPart.FINDINGS in parts(answer)


def test_a_day_file_with_another_comment_has_its_readings() -> None:
    answer = judged(of_file(sealed_day(NURSERY)), day(NURSERY + "# another comment\n"), weigh=True)
    assert answer.judgement is SealJudgement.DIFFERENT
    assert words(answer) == ["the day file is not the sealed one to the byte; its readings are"]
    assert answer.seals[0].compared == ("weighed again here, the day gives the sealed findings, to the last digit",)


def test_a_day_with_another_reading_is_told_figure_by_figure() -> None:
    answer = judged(of_file(sealed_day(NURSERY)), day(OTHER), weigh=True)
    assert words(answer)[0] == "neither the day file nor its readings are the sealed ones"
    assert "weighed again, wheel 1L of van, empty: 722.9 kg here, 717.8 kg sealed" in words(answer)


def test_a_day_corrected_after_the_seal_says_before_which_correction() -> None:
    once = judged(of_file(sealed_day(NURSERY)), day(CORRECTED))
    assert words(once) == ["sealed before correction 1 of draft 3; everything before is as sealed"]
    twice = CORRECTED + CORRECTED.rpartition("\n[[")[1] + CORRECTED.rpartition("\n[[")[2].replace("565", "570")
    assert words(judged(of_file(sealed_day(CORRECTED)), day(twice))) == [
        "sealed before correction 2 of draft 3; everything before is as sealed"
    ]
    assert once.judgement is SealJudgement.DIFFERENT


def test_a_draft_taken_after_the_seal_is_named() -> None:
    more = NURSERY + '\n[[drafts]]\nstate = "empty"\nreadings = { "van/1L" = ["a", 725] }\n'
    number = NURSERY.count("[[drafts]]") + 1
    assert words(judged(of_file(sealed_day(NURSERY)), day(more))) == [
        f"sealed before draft {number} was taken; everything before is as sealed"
    ]


def test_a_seal_by_another_version_says_what_agrees(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("steelyard.seals.sealing.__version__", "0.0.1")
    sealed_day.cache_clear()
    seal = sealed_day(NURSERY, OLIVE, 1, None, SEALED_AT + 1)
    answer = judged(of_file(seal), day(), weigh=True)
    assert answer.judgement is SealJudgement.GENUINE
    # the digest of these findings is the same, for no arithmetic changed; with another digest only the figures count
    answer = judged(of_file(replace_findings(seal)), day(), weigh=True)
    assert answer.judgement is SealJudgement.GENUINE
    assert answer.seals[0].compared[1].startswith("weighed again here, the day gives every sealed figure, to its last")
    assert answer.seals[0].notes == (f"the day was sealed with version 0.0.1, and this is {__version__}",)


def replace_findings(seal: Seal) -> Seal:
    """The same seal over findings that have another digest."""
    from steelyard.seals.cose import signed
    from steelyard.seals.record import to_bytes
    from steelyard.seals.sealing import Seal
    from tests.seals.a_seal import Weigher

    record = replace(seal.record, findings=bytes(32))
    return Seal(record, signed(to_bytes(record), record.public, Weigher(OLIVE).sign))


def test_a_sealed_figure_that_its_own_day_does_not_give_is_found() -> None:
    """A weigher who seals figures of their own making over an honest day file."""
    from steelyard.seals.cose import signed
    from steelyard.seals.record import to_bytes
    from steelyard.seals.sealing import Seal
    from tests.seals.a_seal import Weigher

    record = sealed_day(OTHER).record
    record = replace(record, day_file=sealed_day(NURSERY).record.day_file, readings=sealed_day(NURSERY).record.readings)
    seal = Seal(record, signed(to_bytes(record), record.public, Weigher(OLIVE).sign))
    answer = judged(of_file(seal), day(), weigh=True)
    assert answer.judgement is SealJudgement.DIFFERENT
    assert "weighed again, wheel 1L of van, empty: 717.8 kg here, 722.9 kg sealed" in words(answer)


def test_another_tickets_code_differs() -> None:
    answer = judged(of_file(sealed_day(NURSERY)), findings(), of_code(sealed_day(OTHER)))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert words(answer) == [f'{CODE_OF_ANOTHER} "Nursery van without the seedling trailer"']
    same = judged(of_file(sealed_day(NURSERY)), findings(), of_code(sealed_day(NURSERY)))
    assert same.judgement is SealJudgement.GENUINE
    assert "the code on the paper carries the same seal as the ticket" in same.seals[0].compared


def test_words_before_the_code_that_nobody_sealed_differ() -> None:
    answer = judged(of_code(sealed_day(NURSERY), head="NURSERY VAN 1200 KG NO 1"))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert words(answer)[0].startswith('the words before the code: "NURSERY VAN 1200 KG NO 1" here, "NURSERY VAN WITH')


def chain(count: int, step: int = 60) -> list[Seal]:
    """So many seals, each naming the one before."""
    found: list[Seal] = []
    for number in range(1, count + 1):
        previous = found[-1].digest if found else None
        found.append(sealed_day(NURSERY, OLIVE, number, previous, SEALED_AT + step * number))
    return found


def given(*seals: Seal) -> list[FoundSeal]:
    return [of_file(seal, f"{number}.seal") for number, seal in enumerate(seals)]


def test_seals_that_follow_one_another_are_genuine_and_a_gap_is_named() -> None:
    seals = chain(5)
    whole = judged(*given(*seals))
    assert (whole.judgement, whole.series) == (SealJudgement.GENUINE, ())
    gap = judged(*given(seals[0], seals[3], seals[4]))
    assert gap.series == ("seals 2 to 3 of this key are not among those given; ask the weigher for them",)
    assert gap.judgement is SealJudgement.GENUINE


def test_two_seals_of_one_number_are_not_genuine() -> None:
    one, other = chain(1)[0], sealed_day(OTHER)
    answer = judged(*given(one, other))
    assert [item.judgement for item in answer.seals] == [SealJudgement.DIFFERENT] * 2
    assert answer.series[0].startswith("this key made two different seals with the number 1")


def test_a_seal_that_names_another_one_before_it_is_not_genuine() -> None:
    seals = chain(2)
    answer = judged(*given(sealed_day(OTHER), seals[1]))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert answer.series[0] == "seal 2 names another seal before it than the seal 1 given here"


def test_a_clock_that_jumped_back_is_named() -> None:
    answer = judged(*given(*chain(2, step=-60)))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert "the weigher's clock jumped" in answer.series[0]


def test_seals_of_two_weighers_say_nothing_of_one_another() -> None:
    answer = judged(*given(sealed_day(NURSERY), sealed_day(OTHER, MORTEN)), standing=knows(OLIVE, MORTEN))
    assert (answer.judgement, answer.series) == (SealJudgement.GENUINE, ())


@pytest.mark.parametrize("at", [NOW + 2 * 86_400, 2**40 - 1])
def test_a_time_still_to_come_is_not_genuine(at: int) -> None:
    answer = judged(of_file(sealed_day(NURSERY, OLIVE, 1, None, at)))
    assert answer.judgement is SealJudgement.DIFFERENT
    assert parts(answer) == {SealedPart.TIME}


def test_findings_without_a_seal_and_files_of_two_seals() -> None:
    alone = judged(findings())
    assert (alone.judgement, alone.seals[0].reason) == (SealJudgement.NO_SEAL, "no seal was given with these findings")
    # two seals: each finds its own by the digest
    other = GivenFindings(Origin("b.json"), content(OTHER).findings)
    number_two = sealed_day(OTHER, OLIVE, 2, sealed_day(NURSERY).digest, SEALED_AT + 60)
    answer = judged(of_file(sealed_day(NURSERY)), of_file(number_two, "b.seal"), other, findings())
    assert answer.judgement is SealJudgement.GENUINE
    assert [len(item.compared) for item in answer.seals] == [1, 1]
    stray = judged(of_file(sealed_day(NURSERY)), of_file(number_two, "b.seal"), findings(CORRECTED, title="x"))
    assert stray.judgement in {SealJudgement.NO_SEAL, SealJudgement.DIFFERENT}


def test_texts_of_strangers_are_shown_as_plain_text() -> None:
    hostile = "x\x1b[2J\x07\u202egenuine\u2066\u200b\r\ngenuine: yes\u2028z" + "a\u0301\u0301\u0301\u0301\u0301"
    shown = plain(hostile)
    assert not [letter for letter in shown if not letter.isprintable()]
    assert shown.startswith("x\N{REPLACEMENT CHARACTER}[2J")
    assert shown.count("\u0301") == 2
    assert len(plain("x" * 10**6)) == 160


def test_a_key_twice_in_json_is_refused() -> None:
    """Otherwise one reader sees the first value and this program checks the last."""
    text = json.dumps(content(NURSERY).findings)
    twice = text.replace('"title":', '"title": "Another day", "title":', 1)
    with pytest.raises(ValueError, match="the key 'title' stands there twice"):
        read_bytes(twice.encode(), "day.json")


def with_rules(rules: tuple[tuple[str, str], ...]) -> Seal:
    """The seal of the day as if it chose other rule sets."""
    from steelyard.seals.cose import signed
    from steelyard.seals.record import to_bytes
    from steelyard.seals.sealing import Seal
    from tests.seals.a_seal import Weigher

    record = replace(sealed_day(NURSERY).record, rules=rules)
    return Seal(record, signed(to_bytes(record), record.public, Weigher(OLIVE).sign))


def test_a_rule_set_of_the_weighers_own_is_asked_for() -> None:
    answer = judged(of_file(with_rules((("club", "2026"),))), day(), weigh=True)
    assert answer.judgement is SealJudgement.GENUINE
    assert answer.seals[0].notes == (
        "the day was sealed with the rule set club; give its file with --rules to compare the limits too",
    )


def test_a_day_too_large_to_be_weighed_again_is_compared_by_its_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("steelyard.seals.authenticate.judge._LARGEST_WEIGHED", 100)
    answer = judged(of_file(sealed_day(NURSERY)), day(), weigh=True)
    assert answer.seals[0].compared == ("day.toml is the sealed day file, to the byte",)
    assert answer.seals[0].notes == (
        "day.toml is too large to be weighed again here, which would take long; its bytes were compared",
    )


@pytest.mark.parametrize("p", [True, -0.1, 1.5, 10**400, "0.4", [0.4]])
def test_a_probability_that_is_none_makes_findings_of_another_form(p: Any) -> None:
    consistency = {**content(NURSERY).findings["consistency"], "p": p}
    answer = judged(of_file(sealed_day(NURSERY)), findings(consistency=consistency))
    assert words(answer)[0] == "these findings are not in the form that the program writes"

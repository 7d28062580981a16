"""Sources: what is found where, in which order, without holding it; and where days are cut into parts."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from steelyard.batch import cutting
from steelyard.batch import sources as room
from steelyard.batch.cutting import cut, part_days
from steelyard.batch.layout import DayText
from steelyard.batch.options import BatchOptions
from steelyard.batch.part import part_job, weigh_part
from steelyard.batch.sources import Bunch, NoDaysError, Sources
from steelyard.batch.stored import DayTextError, StoredDays, read_stored
from steelyard.store import open_store
from tests.cli.days import NURSERY, write


def found(folder: Path, *names: str) -> list[DayText]:
    """The days of some sources, and that their count agrees."""
    sources = Sources([str(folder / name) for name in names], folder / "out")
    days = [day for bunch in sources.bunches() for day in bunch.days]
    assert sources.count() == len(days)
    return days


def parquet(path: Path, *, rows: int = 4, group: int = 2, **columns: list[object]) -> Path:
    import pyarrow
    from pyarrow import parquet as library

    told = {"toml": [NURSERY.replace("Nursery", f"N{n}") for n in range(rows)], **columns}
    library.write_table(pyarrow.table(told), path, row_group_size=group)
    return path


def test_folders_are_read_in_order_of_names_with_what_lies_below(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "_AT_ONCE", 2)  # names held at a time
    for name in ("b/z.toml", "b/a.toml", "a.toml", "c.toml", "d.toml", "e.toml", "note.txt", "b/c.toml/x.toml"):
        (tmp_path / name).parent.mkdir(exist_ok=True, parents=True)
        write(tmp_path, name)
    (tmp_path / "out").mkdir()
    write(tmp_path, "out/no.toml")
    (tmp_path / "b" / "round").symlink_to(tmp_path)
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nothing")
    days = found(tmp_path, ".")
    names = [os.path.relpath(day.source, tmp_path) for day in days]
    assert names == ["a.toml", "b/a.toml", "b/c.toml/x.toml", "b/z.toml", "c.toml", "d.toml", "e.toml", "gone.toml"]
    assert days[-1].unread == "cannot be read: No such file or directory"


def test_a_name_that_is_no_text_is_written_out(tmp_path: Path) -> None:
    (tmp_path / os.fsdecode(b"\xe4.toml")).write_text(NURSERY, encoding="utf-8")
    write(tmp_path, "line\nend.toml")
    sources = [day.source for day in found(tmp_path, ".")]
    assert sources == [f'"{tmp_path}/line\\u000Aend.toml"', f'"{tmp_path}/\\uDCE4.toml"']


def test_texts_in_parquet_come_with_their_source_and_date_or_are_named_by_the_file(tmp_path: Path) -> None:
    told = parquet(tmp_path / "told.parquet", source=["a", "b\n", None, "d"], at=["2026-05-01", None, None, "x"])
    days = found(tmp_path, "told.parquet")
    assert [day.source for day in days] == ["a", '"b\\u000A"', f"{told}#3", "d"]
    assert [day.at for day in days] == ["2026-05-01", None, None, "x"]
    raw = parquet(tmp_path / "raw.parquet", rows=2, toml=[NURSERY.encode() + b"# \xe4", None])
    first, second = found(tmp_path, "raw.parquet")
    assert (first.source, first.text[-1], second.unread) == (f"{raw}#1", "\udce4", "has no text in the column 'toml'")


def test_a_worker_reads_its_rows_itself_and_says_so_when_they_changed(tmp_path: Path) -> None:
    path = parquet(tmp_path / "days.parquet", rows=7, group=3)
    all_of_them = found(tmp_path, "days.parquet")
    sources = Sources([str(path)], tmp_path / "out")
    jobs = list(cut(sources.bunches(), 2, tmp_path / "out", BatchOptions()))
    assert [job.days for job in jobs] == [StoredDays(str(path), first, min(2, 7 - first)) for first in (0, 2, 4, 6)]
    read = [day for job in jobs if isinstance(job.days, StoredDays) for day in read_stored(job.days)]
    assert read == all_of_them
    plain = part_job(all_of_them[2:4], tmp_path / "plain", BatchOptions())
    assert weigh_part(jobs[1]).tables == weigh_part(plain).tables
    parquet(path, rows=3)
    with pytest.raises(DayTextError, match=r"days\.parquet: was changed while its days were weighed"):
        read_stored(StoredDays(str(path), 2, 2))
    path.unlink()
    with pytest.raises(DayTextError, match=r"days\.parquet: cannot be read: "):
        read_stored(StoredDays(str(path), 0, 2))


def test_a_file_that_holds_no_texts_is_one_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parquet(tmp_path / "none.parquet").write_bytes(b"PAR1 and nothing")
    import pyarrow
    from pyarrow import parquet as library

    library.write_table(pyarrow.table({"value": [1.0]}), tmp_path / "other.parquet")
    library.write_table(pyarrow.table({"toml": [1.0]}), tmp_path / "zahlen.parquet")
    days = found(tmp_path, ".")
    assert [Path(day.source).name for day in days] == ["none.parquet", "other.parquet", "zahlen.parquet"]
    columns = "the columns source, at and toml, of which only toml must be there"
    assert [day.unread for day in days] == [
        "cannot be read: it is damaged or no Parquet file",
        f"has no column 'toml'; a Parquet file of weigh days has {columns}",
        f"has double among its texts; of weigh days {columns} are texts",
    ]
    monkeypatch.setattr(room, "_LARGE_GROUP", 1)
    parquet(tmp_path / "large.parquet")
    (bunch,) = Sources([str(tmp_path / "large.parquet")], tmp_path / "out").bunches()
    assert (bunch.stored, len(list(bunch.days))) == (None, 4)


def test_a_store_is_read_and_left_as_it_was(tmp_path: Path) -> None:
    with open_store(tmp_path / "yard") as store:
        ids = [store.add_day(NURSERY.replace("Nursery", name)) for name in ("a", "b")]
    before = (tmp_path / "yard").read_bytes()
    write(tmp_path, "c.toml")
    days = found(tmp_path, "yard", "c.toml")
    assert [day.source for day in days] == [*ids, str(tmp_path / "c.toml")]
    assert "b van with" in days[1].text
    assert (tmp_path / "yard").read_bytes() == before


def bunch(numbers: list[int]) -> Bunch:
    return Bunch(iter([DayText(f"days/{number}.toml", "") for number in numbers]))


def parts(numbers: list[int], size: int) -> list[str]:
    return [job.name for job in cut([bunch(numbers)], size, Path("out"), BatchOptions())]


def test_one_day_more_makes_one_part_new(tmp_path: Path) -> None:
    del tmp_path
    numbers = list(range(3000))
    before = parts(numbers, 50)
    sizes = [len(job) for job in cut([bunch(numbers)], 50, Path("out"), BatchOptions())]
    assert sum(sizes) == 3000
    assert min(sizes[:-1]) >= 25
    assert max(sizes) <= 75
    assert 40 < sum(sizes) / len(sizes) < 55
    after = parts([*numbers[:1000], 9999, *numbers[1000:]], 50)
    assert len(set(after) - set(before)) <= 3
    assert parts(numbers, 50) == before


@pytest.mark.parametrize(("days", "jobs", "size"), [(10**6, 2, 500), (1000, 2, 125), (3, 2, 31), (10_000, 64, 31)])
def test_a_few_days_make_smaller_parts_so_that_all_have_work(days: int, jobs: int, size: int) -> None:
    assert part_days(days, jobs) == size


def test_days_with_much_text_make_smaller_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cutting, "_MOST_TEXT", 100)
    days = [DayText(f"{number}.toml", "#" * (10 if number < 20 else 60)) for number in range(24)]
    sizes = [len(job) for job in cut([Bunch(iter(days))], 500, Path("out"), BatchOptions())]
    assert sizes == [10, 10, 2, 2]


def test_a_folder_that_goes_while_it_is_read_is_said(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    sources = Sources([str(tmp_path / "in")], tmp_path / "out")
    (tmp_path / "in").rmdir()
    with pytest.raises(NoDaysError, match="in: there is no such file or folder"):
        Sources([str(tmp_path / "in")], tmp_path / "out")
    assert [day.unread for bunch in sources.bunches() for day in bunch.days] == [
        "cannot be read: No such file or directory"
    ]

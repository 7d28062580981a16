"""Fill a folder of answers: parts that are whole are not done again, and what new ones replace is taken away."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from steelyard import __version__
from steelyard.batch.cutting import cut, part_days
from steelyard.batch.engine import Engine
from steelyard.batch.folder import agree, held, in_words, keep_only, tell
from steelyard.batch.manifest import add_line, is_whole, read_manifest
from steelyard.batch.options import BatchOptions
from steelyard.batch.part import PartDone, PartJob
from steelyard.batch.replaced import EarlierParts, kept_of, unnamed
from steelyard.batch.sources import Sources

Seen = Callable[[PartDone, bool], None]
"""Is told each part that is whole, and whether it was so before."""


def _unseen(done: PartDone, before: bool) -> None:
    del done, before


@dataclass(frozen=True, slots=True)
class Filled:
    """A folder that was filled.

    Attributes
    ----------
    parts, days, faulty, broken: of the days that were asked for. done, done_faulty: days that were weighed now, and how
    many of them have no answers.
    others: days of earlier runs that were not asked for, and whose answers stay.
    lost: days of earlier runs that were not asked for, and whose answers lay in a damaged part.
    unread: lines of the manifest that named no part when the run began, in words; empty where there were none.
    """

    parts: int
    days: int
    faulty: int
    broken: int
    done: int
    done_faulty: int
    others: int
    lost: int
    unread: str = ""

    @property
    def before(self) -> int:
        """Days that an earlier run answered."""
        return self.days - self.done - self.before_faulty

    @property
    def before_faulty(self) -> int:
        """Days that an earlier run found faulty."""
        return self.faulty - self.done_faulty


def fill(
    sources: Sources,
    folder: Path,
    options: BatchOptions,
    engine: Engine,
    *,
    days: int,
    jobs: int,
    size: int | None = None,
    seen: Seen = _unseen,
) -> Filled:
    """Answer all days of the sources.

    Parameters
    ----------
    days: how many there are. jobs: how many parts the engine does at a time. size: of a part in days; by itself, None.

    Raises
    ------
    AnswersFolderError: the folder cannot be written, is being filled by another program, or has other options. What is
    whole by then stays.
    NoDaysError, StoreError, MissingExtraError: a source cannot be read, or no longer. NoWorkersError: nobody does it.
    """
    with held(folder):
        parts = agree(folder, options, size) or part_days(days, jobs)
        tell(folder, options, parts, finished=False)
        run = _Run(folder, options, seen)
        for done in engine.run(run.jobs(cut(sources.bunches(), parts, folder, options))):
            run.note(done)
        others = run.tidy()
        tell(folder, options, parts, finished=True)
        return run.filled(others)


class _Run:
    """One run over the days: the parts that were whole before and those that became so."""

    def __init__(self, folder: Path, options: BatchOptions, seen: Seen) -> None:
        self._folder, self._options, self._seen = folder, options, seen
        self._manifest = read_manifest(folder)
        self._before = {line.name: line for line in self._manifest.parts if line.program == __version__}
        self._whole: dict[str, PartDone] = {}
        self._done = self._done_faulty = 0

    def jobs(self, all_jobs: Iterator[PartJob]) -> Iterator[PartJob]:
        """The jobs whose parts are not whole."""
        for job in all_jobs:
            line = self._before.get(job.name)
            if line is not None and is_whole(self._folder, line, to_the_byte=True):
                self._whole[line.name] = line
                self._seen(line, True)
            else:
                yield job

    def note(self, done: PartDone) -> None:
        """Write the line of a part that is whole now."""
        with in_words(self._folder):
            add_line(self._folder, done)
        self._whole[done.name] = done
        self._done += done.days
        self._done_faulty += done.faulty
        self._seen(done, False)

    def tidy(self) -> EarlierParts:
        """Take away the answers of earlier runs to the same days; those to other days stay."""
        earlier = [line for name, line in self._before.items() if name not in self._whole]
        if self._manifest.unread:  # the tables of the parts that these lines named lie there, and nothing names them
            earlier += unnamed(self._folder, {*self._before, *self._whole})
        with in_words(self._folder):
            found = kept_of(self._folder, earlier, list(self._whole.values())) if earlier else EarlierParts([], 0)
        keep_only(self._folder, [*found.kept, *self._whole.values()])
        return found

    def filled(self, others: EarlierParts) -> Filled:
        """The sums."""
        lines = self._whole.values()
        return Filled(
            parts=len(lines),
            days=sum(line.days for line in lines),
            faulty=sum(line.faulty for line in lines),
            broken=sum(line.broken for line in lines),
            done=self._done,
            done_faulty=self._done_faulty,
            others=sum(line.days for line in others.kept),
            lost=others.lost,
            unread=self._manifest.unread_words(self._folder),
        )

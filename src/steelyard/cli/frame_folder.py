"""The folder of an overlay: whole files only, each picture once, and a name for each frame that shows it."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from steelyard.report.overlay.schedule import FRAME, FrameRun

PICTURES, FRAMES = "pictures", "frames"


class FolderError(ValueError):
    """A folder that cannot take the frames; nothing in it was touched."""


class FrameFolder:
    """A new or empty folder that takes pictures, frames and lists.

    A file is written under a name of its own and renamed when it is whole, so that an interruption leaves whole files
    only. A frame is a hard link to its picture: a second name for the same file, which takes no room on the disk.

    Attributes
    ----------
    linked: whether frames have names of their own; False once the disk has refused hard links.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self.linked = True
        self._copies: dict[str, Path] = {}

    def refuse_full(self) -> None:
        """See that the folder is new or empty.

        Raises
        ------
        FolderError: it is not, or it is no folder.
        OSError: it cannot be looked into.
        """
        if self._path.exists() and not self._path.is_dir():
            raise FolderError("is a file; give the name of a new folder")
        if self._path.is_dir() and any(self._path.iterdir()):
            raise FolderError("is not empty; give the name of a new folder, for nothing in it is overwritten")

    def write(self, name: str, content: bytes) -> None:
        """Write a file of this name, which may lie in a folder within.

        Raises
        ------
        OSError: it cannot be written.
        """
        path = self._path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished = path.with_name(f".{path.name}.part")
        try:
            unfinished.write_bytes(content)
            os.replace(unfinished, path)  # noqa: PTH105 - also replaces on Windows
        finally:
            unfinished.unlink(missing_ok=True)

    def picture(self, number: int, content: bytes) -> str:
        """Write the picture of this number, from 1, and return its name within the folder.

        Raises
        ------
        OSError: it cannot be written.
        """
        name = f"{PICTURES}/picture-{number:04}.png"
        self.write(name, content)
        self._copies[name] = self._path / name
        return name

    def frames(self, run: FrameRun, picture: str) -> None:
        """Name the frames of a run, each a hard link to ``picture``, unless the disk has none.

        A file can have so many names only (65,000 on many disks): the frame after these is a copy that takes more.

        Raises
        ------
        OSError: the disk is full or cannot be written.
        """
        if not self.linked:
            return
        (self._path / FRAMES).mkdir(parents=True, exist_ok=True)
        for number in range(run.first, run.first + run.count):
            frame = self._path / FRAMES / FRAME.format(number)
            try:
                os.link(self._copies[picture], frame)
            except OSError as error:
                if error.errno == errno.EMLINK:
                    self.write(f"{FRAMES}/{frame.name}", self._copies[picture].read_bytes())
                    self._copies[picture] = frame
                elif error.errno in _NO_LINKS and number == 0:
                    self.linked = False
                    (self._path / FRAMES).rmdir()
                    return
                else:
                    raise


_NO_LINKS = frozenset({errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EINVAL, errno.EACCES})
"""How disks without hard links refuse them."""

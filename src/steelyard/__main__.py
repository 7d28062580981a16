"""``python -m steelyard``: the command line without an installed script."""

from __future__ import annotations

from steelyard.cli import main

if __name__ == "__main__":
    main()

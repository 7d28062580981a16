"""``make drawings``: write the drawings that are kept anew, and name those that changed."""

from __future__ import annotations

from tests.released.drawn import DRAWINGS, DRAWN, differences


def main() -> None:
    """Write each drawing whose marks moved; remove what nothing draws any more."""
    DRAWINGS.mkdir(exist_ok=True)
    for path in set(DRAWINGS.iterdir()) - {DRAWINGS / f"{name}.svg" for name in DRAWN}:
        path.unlink()
        print(path.name, "removed")
    for name, draw in DRAWN.items():
        path = DRAWINGS / f"{name}.svg"
        fresh = draw()
        if differences(path.read_text(encoding="utf-8") if path.exists() else "", fresh):
            path.write_text(fresh, encoding="utf-8")
            print(path.name)


if __name__ == "__main__":
    main()

"""The page: one HTML file that checks seals from disk, without a network, in any browser.

Its scripts do what ``authenticate`` does, in the same words; ``scripts/judge.js`` is the place to begin, and
``making.py`` joins all of it into one file. The reader of codes under ``reader`` is a library, made by its ``make.sh``.
"""

from steelyard.seals.page.making import check_page

__all__ = ["check_page"]

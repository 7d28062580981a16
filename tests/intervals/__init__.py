"""Intervals put to the test: simulated weigh days, and how narrow an honest interval could be at best.

best.py      the best linear unbiased estimate of every finding, from the declared priors alone
engine.py    the product's findings of a simulated day
study.py     many days of a kind: coverage, width, suspects; `python -m tests.intervals.study --help`
"""

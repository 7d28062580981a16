"""Batch: many weigh days answered in parts, on one machine or several, and read back as tables.

Owns the layout of a folder of answers, the function that turns one part of days into one part of answers, and the
engines that run it. Prints nothing and draws nothing; each file is a door of its own. Begin at ``layout.py``. Read
``simulation`` next.
"""

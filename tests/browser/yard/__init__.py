"""Whole flows in a real browser, against a real server in a process of its own."""

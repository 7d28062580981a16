"""The history of a day as text."""

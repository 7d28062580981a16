"""Texts about many days. Each file is a door of its own."""

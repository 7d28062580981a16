"""Texts about keys and seals. Each file is a door of its own."""

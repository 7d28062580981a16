"""The interface for programs: one file for each part, with its routes."""

"""Text for a person and rows for a spreadsheet: a section, or the answer to a question, in each file."""

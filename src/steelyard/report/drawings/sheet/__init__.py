"""What every drawing is put on: the sheet, the faces, the colours, and the way to pixels."""

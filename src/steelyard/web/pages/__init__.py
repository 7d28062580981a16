"""The pages for people: one folder for each, with what it shows and how it is drawn."""

"""The commands of the program, each in a file of its own."""

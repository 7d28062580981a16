"""The load map as a drawing."""

"""Several days side by side, all solved together."""

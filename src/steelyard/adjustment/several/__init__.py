"""Several weigh days solved together, by what they share: spans, standards, springs, taped lengths, equal masses."""

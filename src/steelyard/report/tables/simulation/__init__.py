"""Tables of simulated days: how often their answers hold the truth."""

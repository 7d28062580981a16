"""HTTP: addresses and who may use them, sessions and pairing, errors, the description, and the server itself."""

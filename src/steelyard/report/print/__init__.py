"""Printed documents: the ticket of a weigh day and the record of a verification."""

"""Everybody can read and reach every page of the station."""

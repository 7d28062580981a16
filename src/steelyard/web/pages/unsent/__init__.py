"""A day that was begun without the station, on a device alone, and how it arrives."""

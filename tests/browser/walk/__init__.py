"""The whole job by taps alone: from a new station to a printed ticket, and the same with a station that dies."""

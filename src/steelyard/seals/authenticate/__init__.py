"""The check of a seal: what was given is read, told apart and put together, and then judged against what is sealed.

Begin at ``judge.py``. Nothing in here prints, and nothing needs a network.
"""

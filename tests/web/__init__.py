"""Tests of the web room: in the process through a test client, and against real servers in processes of their own."""

"""Tidewater Courier: an invented program, the two machines it runs on, and their captures.

Everything here makes footage whose frame timing is known exactly: for the
demonstration, for tests and for the accuracy bench.
"""

"""The errors a user can meet, each with the exit status it leads to.

Every message is one line of the form
``<thing> must <rule>, got <value>; <what to do>``.
"""


class PacerailError(Exception):
    """Root of all errors that pacerail raises on purpose."""

    exit_code = 1


class UsageError(PacerailError, ValueError):
    """The request itself cannot be carried out, whatever the files hold."""

    exit_code = 2


class InputError(PacerailError, ValueError):
    """A file that was given cannot be used: a capture, a record, a style."""


class OutputError(PacerailError, OSError):
    """A file cannot be written where it was asked for."""

"""The only glue across stages: each module is one job, from a file to a file.

A job loads only the stages it needs, tells what it does through a `Watcher`, and leaves
printing to whoever called it.
"""

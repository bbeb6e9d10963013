"""The command line, called as a script calls it."""

"""The command line: the only code that prints, reads the environment, or chooses an exit code."""

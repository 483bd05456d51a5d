"""The version of the tool, as every report names it."""

VERSION = "0.1.0"

"""The type of a validated record's content."""

from typing import Any, TypeAlias

Settings: TypeAlias = dict[str, Any]
"""A validated record, or one object inside it. A missing member means *unknown*."""

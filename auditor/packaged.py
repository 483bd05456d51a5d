"""Files that come with the tool: where they lie.

The package is installed as files in a folder, so its own place leads to them;
``importlib.resources`` takes several milliseconds at start to say the same.
"""

from pathlib import Path
from typing import Final

_PACKAGE: Final = Path(__file__).parent


def packaged(*names: str) -> Path:
    """Return the path of a file or folder inside the package, by its names below it."""
    return _PACKAGE.joinpath(*names)

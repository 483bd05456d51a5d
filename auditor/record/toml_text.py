"""Bytes → a TOML document, or one fault with its line. Knows no meaning of any document."""

from typing import Any

import tomli

from auditor.errors import Fault, InputError


def parse_toml(text: bytes, file: str) -> dict[str, Any]:
    """Return the document of a TOML file.

    Raises:
        InputError: with one fault, if the text is not UTF-8, not TOML, or too deep to be read.

    Source: TOML v1.0.0.
    """
    try:
        return tomli.loads(text.decode("utf-8"))
    except UnicodeDecodeError as error:
        line = text.count(b"\n", 0, error.start) + 1
        fault = Fault(file, "", line, 0, "the text is not UTF-8", "Save the file as UTF-8.")
        raise InputError([fault]) from error
    except tomli.TOMLDecodeError as error:
        raise InputError([_syntax_fault(str(error), text, file)]) from error
    except (RecursionError, ValueError) as error:  # brackets too deep, or a number too long
        fault = Fault(file, "", 1, 0, "too deep or too long for TOML", "Write it flatter and shorter.")
        raise InputError([fault]) from error


def _syntax_fault(message: str, text: bytes, file: str) -> Fault:
    problem, _, place = message.partition(" (at ")
    line = int(place.split()[1].rstrip(",")) if place.startswith("line") else text.count(b"\n") + 1
    return Fault(file, "", line, 0, f"not TOML: {problem}", "Mend the syntax at this line.")

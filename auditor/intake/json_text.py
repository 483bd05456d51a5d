"""JSON bytes → a value, or every fault of the text with its place. Knows no format that is JSON."""

from typing import Any

import orjson

from auditor.errors import Fault, InputError
from auditor.record.limits import DEFAULT, Limits
from auditor.record.pointer import join
from auditor.record.position import JsonFaultError, decoded, survey
from auditor.record.reading import may_have_doubles

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_AGAIN = "Capture the file again."


def read_json_text(text: bytes, file: str, limits: Limits = DEFAULT) -> Any:  # noqa: ANN401 - any JSON value
    """Return the value of a JSON text (UTF-8, with or without byte order mark).

    Raises:
        InputError: with every fault of the text: not JSON, a member that stands twice, brackets
            that nest deeper than the limits allow.
    """
    bare = text.removeprefix(_BYTE_ORDER_MARK)
    try:
        value = orjson.loads(bare)
    except orjson.JSONDecodeError:
        value = None
    if value is None or _is_doubtful(bare, value, limits):
        faults = _faults(text, file, limits)
        if faults:
            raise InputError(faults)
        value = orjson.loads(bare)
    return value


def _is_doubtful(text: bytes, value: Any, limits: Limits) -> bool:  # noqa: ANN401 - any JSON value
    """Tell whether a member may have been dropped, or brackets nest too deep."""
    return _nests_deeper(value, limits.depth) or may_have_doubles(text, orjson.dumps(value))


def _nests_deeper(value: Any, depth: int) -> bool:  # noqa: ANN401 - any JSON value
    level = [value] if isinstance(value, (dict, list)) else []
    for _ in range(depth):
        inner = (child for part in level for child in (part.values() if isinstance(part, dict) else part))
        level = [child for child in inner if isinstance(child, (dict, list))]
        if not level:
            return False
    return bool(level)


def _faults(text: bytes, file: str, limits: Limits) -> list[Fault]:
    try:
        seen = survey(decoded(text), limits.depth)
    except JsonFaultError as error:
        return [Fault(file, "", *error.place, error.problem, error.remedy)]
    faults = [
        Fault(file, join(one.path), *one.again, "this member stands twice", _AGAIN) for one in seen.doubled
    ]
    if seen.deep_place is not None:
        problem = f"brackets nest deeper than {limits.depth} levels"
        faults.append(Fault(file, "", *seen.deep_place, problem, _AGAIN))
    return faults

"""Object identifiers of the UPS-MIB that somebody may write; holds no facts.

Only instances are named (a scalar ends in 0), since it is instances that access control is
asked for. Source: RFC 1628 section 4.
"""

from typing import Final, TypeAlias

Oid: TypeAlias = tuple[int, ...]
"""An object identifier, sub-identifier by sub-identifier."""

_UPS_OBJECTS: Final[Oid] = (1, 3, 6, 1, 2, 1, 33, 1)


def _scalars(group: int, objects: tuple[int, ...]) -> frozenset[Oid]:
    return frozenset((*_UPS_OBJECTS, group, number, 0) for number in objects)


TEST: Final = _scalars(7, (1, 2))
"""upsTestId and upsTestSpinLock: start a test of the battery, or end it."""

CONTROL: Final = _scalars(8, (1, 2, 3, 4, 5))
"""upsShutdownType, upsShutdownAfterDelay, upsStartupAfterDelay, upsRebootWithDuration,
upsAutoRestart: switch the output."""

CONFIG: Final = _scalars(9, (1, 2, 3, 4, 7, 8, 9, 10))
"""What may be written of upsConfig: nominal values, low battery time, transfer points."""

ENTERPRISES: Final[Oid] = (1, 3, 6, 1, 4, 1)
"""Below it stand the objects of makers' own MIBs. Source: RFC 2578 section 2."""

OBJECTS: Final = frozenset({_UPS_OBJECTS})
"""upsObjects: everything that the MIB tells of the equipment."""

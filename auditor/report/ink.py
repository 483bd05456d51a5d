"""Colour for terminals: the Okabe-Ito palette, and only beside a word that says the same."""

from collections.abc import Mapping
from enum import Enum

from auditor.dataclass import dataclass
from auditor.scoring.band import Band

# Source: M. Okabe, K. Ito, Color Universal Design (2008): colours that people who see colour
# differently can tell apart. The numbers are the nearest of the 216 colours of terminals.
PALETTE: Mapping[str, tuple[str, int]] = {
    "orange": ("E69F00", 178),
    "sky blue": ("56B4E9", 74),
    "bluish green": ("009E73", 35),
    "yellow": ("F0E442", 221),
    "vermilion": ("D55E00", 166),
}


class Style(Enum):
    """How a piece of text looks; black on a colour can be read on dark and light terminals."""

    CRITICAL = f"1;38;5;16;48;5;{PALETTE['vermilion'][1]}"
    HIGH = f"38;5;16;48;5;{PALETTE['orange'][1]}"
    MEDIUM = f"38;5;16;48;5;{PALETTE['yellow'][1]}"
    LOW = f"38;5;16;48;5;{PALETTE['sky blue'][1]}"
    GOOD = f"38;5;16;48;5;{PALETTE['bluish green'][1]}"
    STRONG = "1"
    FAINT = "2"
    USUAL = ""


OF_BAND: Mapping[str, Style] = {
    Band.CRITICAL.value: Style.CRITICAL,
    Band.HIGH.value: Style.HIGH,
    Band.MEDIUM.value: Style.MEDIUM,
    Band.LOW.value: Style.LOW,
    Band.NONE.value: Style.USUAL,
}


@dataclass(frozen=True, slots=True)
class Ink:
    """Colours text, or leaves it alone where no colour is wanted."""

    colour: bool

    def __call__(self, text: str, style: Style) -> str:
        """Return the text in a style.

        Source: ECMA-48 section 8.3.117 (SGR); 38;5 and 48;5 are common practice.
        """
        return f"\x1b[{style.value}m{text}\x1b[0m" if self.colour and style.value and text else text

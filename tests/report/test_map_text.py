"""The report on a map, for the terminal."""

import re

import pytest

from auditor.intake.mapping.checking import check_map
from auditor.report.layout import width_of
from auditor.report.map_text import NOT_SHOWN, map_text
from auditor.report.writer import Look
from tests.intake.mapping.samples import FAMILIES, MAPS, family_map, made, setting


def text_of(family: str, file: str, look: Look) -> str:
    """Return the report on the map of a family and one of its exports."""
    text = (MAPS / family / file).read_bytes()
    return map_text(check_map(family_map(family), text, file), look)


@pytest.mark.parametrize(("family", "file"), FAMILIES)
@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(family: str, file: str, width: int) -> None:
    """Whatever the columns, down to sixty."""
    lines = text_of(family, file, Look(width)).splitlines()
    assert max(map(width_of, lines)) <= width


def test_it_tells_every_kind_of_end_of_a_setting() -> None:
    """Taken, not converted with line and why, silent, not in the sample with the map's line, unmapped."""
    text = text_of("card-family-c", "mkt-hub-row-9.json", Look(120))
    assert "94 taken · 14 not converted · 5 say nothing · 23 not in this sample · 3 unmapped" in text
    assert "line 132: /logins/local/guest/is: no word that the map or the schema knows (words)" in text
    assert "line 29: /lan/ports/0/tag" in text
    assert "line 195: /services/rest_api/enabled" in text
    assert "\n  /logins/rules/seats/web" in text


@pytest.mark.parametrize(("family", "file"), FAMILIES)
def test_no_secret_is_in_it(family: str, file: str) -> None:
    """Secrets are said to be taken, and no more."""
    text = text_of(family, file, Look(400))
    secrets = ("hilltop-7", "quarry-9", "$6$", "ridge-4", "copper-lantern", "slow-river", "8d2f4b", "1f2e3d")
    assert [secret for secret in secrets if secret in text] == []
    assert (NOT_SHOWN in text) == (file != "rsv-ups-valves.txt")  # which has none but masked ones


def test_hostile_names_and_values_can_not_act() -> None:
    """Escape sequences and marks of direction are made visible."""
    chosen = made("json", setting("/card/name", place="/x"))
    report = check_map(chosen, b'{"x": "a\\u001b[2Jb", "\\u202ey": 1}', "s\x1b.json")
    text = map_text(report, Look(80))
    assert not {"\x1b", "\u202e"} & set(text)
    assert "a␛[2Jb" in text


def test_colour_is_only_added() -> None:
    """Without its sequences the coloured text is the plain one."""
    plain = text_of("card-family-b", "rsv-ups-pumps.txt", Look(80))
    coloured = text_of("card-family-b", "rsv-ups-pumps.txt", Look(80, colour=True))
    assert coloured != plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain

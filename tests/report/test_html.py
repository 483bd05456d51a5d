"""The HTML report: whole, inert, one file, every number on it right; tests/browser looks at it."""

import hashlib
import io
import itertools
import re
from base64 import b64encode
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

import pytest
from lxml import html

from auditor.fleet.estate import EstateSummary, EstateSums
from auditor.fleet.reach_sums import ReachSums
from auditor.report.html.asset import asset
from auditor.report.html.findings import explained_rules, sections_of
from auditor.report.html.first_things import easiest_of, things_of
from auditor.report.html.page import make_html
from auditor.report.html.wording import sources
from auditor.report.mend_care import FoundTogether, care_of
from auditor.report.plain import plain
from auditor.report.writer import Look, Run
from auditor.rules.rule import Visit
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import (
    FAULTS,
    SECRET,
    assess_cards,
    bare_card,
    estate,
    golden,
    good_card,
    make_run,
    poor_card,
    reach_card,
    reach_in,
    render,
    render_estate,
    sum_up,
    worst_card,
)

# Controls but the line feeds of the page itself, marks of direction, and what hides.
_ACTING = "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\U000e0041]"
SECTIONS = (
    "verdict", "reach", "first", "reading", "cautions", "picture", "groups", "findings", "order", "cards",
    "undecided", "controls", "sums", "tailored", "unusable",
)  # fmt: skip


@cache
def _text() -> str:
    return render_estate(make_html).decode("utf-8")


def _page(text: str | None = None) -> html.HtmlElement:
    return html.document_fromstring(text or _text())


def _words(node: html.HtmlElement) -> str:
    return " ".join(" ".join(node.itertext()).split())


def _section(name: str, text: str | None = None) -> str:
    return _words(_page(text).get_element_by_id(name))


def _render(run: Run, cards: list[dict[str, Any]]) -> str:
    return render(make_html, run, assess_cards(run, cards), faults=()).decode("utf-8")


def _written(run: Run, summary: EstateSummary) -> str:
    stream = io.BytesIO()
    writer = make_html(run, stream, Look())
    for assessment in summary.worst_cards:
        writer.add(assessment)
    writer.finish(summary)
    return stream.getvalue().decode("utf-8")


def _sums(run: Run, found: Iterable[CardAssessment], *, hold_at: Band, detailed: int = 500) -> EstateSummary:
    sums = EstateSums(run.program, hold_at, detailed=detailed, reach=ReachSums())
    for assessment in found:
        sums.add(assessment)
    return sums.summary()


def test_the_page_is_the_golden_one() -> None:
    """The page of the small estate is, byte for byte, the one that was read and found good."""
    text = render_estate(make_html)
    assert text == golden("report.html", text)


def test_only_finish_writes() -> None:
    """Adding cards writes nothing: all of the page comes from the sums."""
    run, stream = make_run(), io.BytesIO()
    writer = make_html(run, stream, Look())
    for assessment in estate(run):
        writer.add(assessment)
    assert stream.getvalue() == b""


def test_sections_stand_in_their_order() -> None:
    """The verdict comes first, then how to read it, the cautions, and the rest."""
    found = _page().xpath("//main/section/@id")
    assert tuple(found) == SECTIONS


def test_ids_are_unique_and_every_link_has_its_target() -> None:
    """No id stands twice, and every link leads to one."""
    page = _page()
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    assert {href.removeprefix("#") for href in page.xpath("//a/@href")} <= set(ids)


def test_the_policy_allows_its_own_style_and_script_alone() -> None:
    """The hashes of the policy are those of the one style and the one script; nothing else may act."""
    page = _page()
    (policy,) = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    hashes = {
        kind: b64encode(hashlib.sha256(page.xpath(f"//{kind}")[0].text.encode()).digest()).decode()
        for kind in ("style", "script")
    }
    assert policy == (
        f"default-src 'none'; style-src 'sha256-{hashes['style']}'; script-src 'sha256-{hashes['script']}'; "
        "base-uri 'none'; form-action 'none'"
    )
    assert (len(page.xpath("//style")), len(page.xpath("//script"))) == (1, 1)


def test_nothing_can_be_fetched_or_act() -> None:
    """No address of another place, no style or handler in an attribute, nothing embedded."""
    page = _page()
    assert (
        page.xpath("//@src | //@style | //@action | //@srcset | //link | //iframe | //img | //object") == []
    )
    assert [name for node in page.iter() for name in node.attrib if name.startswith("on")] == []
    assert all(href.startswith("#") for href in page.xpath("//@href"))
    assert "http://" not in _text()
    assert "https://" not in _text()


def test_the_verdict_says_what_holds() -> None:
    """Held at high: how many findings, on how many cards, and the sums beside it."""
    run = make_run()
    whole = sum_up(run, estate(run)).whole
    verdict = _section("verdict")
    assert verdict.startswith("Held at high 3 findings at high or above, on 2 of 4 cards.")
    assert f"{whole.score.percent:.1f} %" in verdict
    assert f"{whole.score.points:.1f} of {whole.score.maximum:.1f} points" in verdict
    assert f"{whole.coverage_percent:.1f} %" in verdict
    assert "1 record could not be used, and was not audited. Which, and why ." in verdict


def test_a_flawless_estate_is_released() -> None:
    """Without findings the page says so, in words and in its title."""
    text = _render(make_run(), [good_card()])
    assert _section("verdict", text).startswith("Released No finding at high or above on the card.")
    assert "<title>Released:" in text


def test_lesser_findings_do_not_hold() -> None:
    """Findings below the band are counted beside the release."""
    run = make_run()
    found = assess_cards(run, [bare_card()])
    text = _written(run, _sums(run, found, hold_at=Band.CRITICAL))
    assert "Released No finding at critical on the card" in _section("verdict", text)
    assert "1 lesser finding below." in _section("verdict", text)


def test_first_things_are_the_worst_kinds_with_their_mend() -> None:
    """At most five kinds of finding, worst first, each with its cards and one line of mending."""
    things = _page().xpath("//section[@id='first']/ol/li")
    scores = [Decimal(re.findall(r"\d+\.\d", _words(thing))[0]) for thing in things]
    assert 3 <= len(things) <= 5
    assert scores == sorted(scores, reverse=True)
    (telnet,) = (said for said in map(_words, things) if "Telnet" in said)
    assert "Telnet is enabled on 1 card Mend: Switch telnet off and use SSH." in telnet
    assert "This can cut off the way in" in telnet


@pytest.mark.parametrize(
    ("visit", "is_easy"),
    [
        (Visit(), True),
        (Visit(restart=True), False),
        (Visit(cuts_access=True), False),
        (Visit(output_risk=True), False),
        (Visit(after=("log-too-short",)), False),
        (Visit(after=("usb-open",)), True),
        (None, False),
    ],
)
def test_only_a_mend_without_care_is_an_easy_first_step(visit: Visit | None, is_easy: bool) -> None:
    """A restart, a risk, or a mend that comes first makes a mend not easy; so does not knowing."""
    run = make_run()
    summary = sum_up(run, estate(run))
    rules = explained_rules(run, summary.whole, FoundTogether(()))
    telnet = replace(rules["telnet-enabled"].rule, visit=visit)
    together = FoundTogether([telnet])
    for card in summary.worst_cards:
        together.add(card)
    changed = replace(rules["telnet-enabled"], rule=telnet, visit=care_of(telnet, together))
    known = {**rules, "telnet-enabled": changed}
    things = things_of(sections_of(summary.worst_cards, known))
    (thing,) = (thing for thing in things if thing.explained.rule.id == "telnet-enabled")
    assert thing.is_easy is is_easy
    assert easiest_of(things) == (thing if is_easy else None)


def test_without_an_easy_first_step_the_page_says_so() -> None:
    """No mend of the sample is known to be harmless; the page does not pretend otherwise."""
    assert "No mend here is known to be a plain setting" in _section("first")
    assert "The cautions hold for every step" in _section("first")


def test_an_estate_without_findings_has_nothing_to_mend() -> None:
    """Where nothing is found, the first things say so."""
    assert "Nothing to mend" in _section("first", _render(make_run(), [good_card()]))


def test_an_unknown_finding_asks_to_capture_before_it_asks_to_mend() -> None:
    """What nobody captured is marked not known wherever it stands, and names the setting to capture."""
    text = _render(make_run(), [bare_card()])
    page = _page(text)
    (thing,) = page.xpath("//section[@id='first']/ol/li")
    assert "not known in 1 result Capture: /access_policy/session_timeout_s" in _words(thing)
    (row,) = page.xpath("//tbody[@data-u]")
    assert "not known capture /access_policy/session_timeout_s" in _words(row)
    findings, tasks = _section("findings", text), _section("cards", text)
    assert "Not known, capture: /access_policy/session_timeout_s" in findings
    assert "Capture first /access_policy/session_timeout_s . Mend, if it then fails" in findings
    assert "Sessions stay open too long not known capture: /access_policy/session_timeout_s" in tasks
    assert "1 finding not known" in _section("picture", text)
    assert "1 of the 1 finding is not known to fail" in _section("verdict", text)


def test_what_fails_is_not_called_unknown() -> None:
    """A page of fails alone marks none of its findings as not known."""
    page = _page(_render(make_run(), [worst_card()]))
    marked = page.xpath("//*[contains(@class, 'chip unknown')]/ancestor::section[1]/@id")
    assert page.xpath("//tbody[@data-c]") != []
    assert set(marked) == {"reading"}


def test_print_has_a_row_for_every_finding_with_the_number_of_its_rule() -> None:
    """The table for paper lists each finding once, in the order of the screen, by the number of its rule."""
    page = _page()
    rows = [_words(row) for row in page.xpath("//table[contains(@class, 'listed')]/tbody/tr")]
    screen = [_words(row) for row in page.xpath("//section[@id='findings']//tbody[@data-c]/tr[1]/th/a")]
    heads = page.xpath("//section[@id='findings']//summary[span[@class='paper']]")
    numbered = {_words(head.find("code")): _words(head.find("span")) for head in heads}
    assert len(rows) == len(screen) > 0
    for row, card in zip(rows, screen, strict=True):
        number, rule = re.findall(r"(\d+) ([a-z-]+) ", row.split(card)[0])[-1]
        assert numbered[rule] == number
        assert f" {card} " in row


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (("NIST SP 800-53r5 AC-2", "NIST SP 800-53r5 IA-5"), "NIST SP 800-53r5 AC-2, IA-5"),
        (("RFC 8996 section 4", "common practice"), "RFC 8996 section 4; common practice"),
        (("RFC 1350 section 7 (from memory)",), "RFC 1350 section 7 (from memory)"),
    ],
)  # fmt: skip
def test_places_of_one_document_stand_together(texts: tuple[str, ...], said: str) -> None:
    """Sources keep their order; only the document's name is not said again."""
    assert sources(texts) == said


def test_an_empty_estate_has_no_verdict() -> None:
    """Where nothing was audited, nothing is released."""
    run = make_run()
    text = _written(run, sum_up(run, ()))
    assert _section("verdict", text).startswith("Nothing audited 1 record could not be used")


def test_every_finding_is_there_with_its_evidence() -> None:
    """Each finding stands under its rule with card, label, setting, what was found and expected."""
    listed = [_words(row) for row in _page().xpath("//section[@id='findings']//tbody[@data-c]")]
    findings = [(a.card.id, finding) for a in estate(make_run()) for finding in a.findings]
    assert len(listed) == len(findings)
    for card, finding in findings:
        wanted = [card, finding.label, f"{finding.severity.score}", finding.message]
        for evidence in finding.evidence:
            wanted += [evidence.pointer, evidence.observed, evidence.expected]
        assert any(all(part in row for part in wanted) for row in listed), finding


def test_each_rule_is_explained_once() -> None:
    """Why, mend, verify and sources stand once on the page, however many findings there are."""
    run = make_run()
    findings = _section("findings")
    for rule in {f.rule for a in estate(run) for f in a.findings}:
        for said in (rule.why, rule.mend.text, rule.verify, rule.vector_because):
            assert findings.count(said) == 1


def test_every_severity_links_to_its_steps() -> None:
    """The vector of each finding is worked out, step by step, where its severity links to."""
    page = _page()
    for finding in (f for a in estate(make_run()) for f in a.findings):
        vector, kind = finding.severity.vector, finding.severity.steps[-1].name.lower()
        workings = page.xpath("//details[@class='working']")
        (working,) = [w for w in workings if w.xpath("summary/*/text()")[1:] == [vector, kind]]
        assert page.xpath(f"//section[@id='findings']//td/a[@href='#{working.get('id')}']/text()")
        said = _words(working)
        assert all(step.formula in said for step in finding.severity.steps)
        assert said.endswith(f"= {finding.severity.score}")


def test_points_lost_lead_to_the_score() -> None:
    """On every card, the maximum less the points lost is the points, to the last decimal shown."""
    page = _page()
    for number, card in enumerate(_worst_first(make_run())):
        table = page.get_element_by_id(f"c{number}").xpath(".//table[@class='tasks']")
        lost = [
            Decimal(str(cell).split()[0])
            for t in table
            for cell in t.xpath("./tbody/tr/td[last()]/text()[1]")
        ]
        assert sum(lost) == pytest.approx(
            Decimal(str(card.score.maximum - card.score.points)), abs=Decimal("0.05")
        )


def _worst_first(run: Run) -> tuple[CardAssessment, ...]:
    return sum_up(run, estate(run)).worst_cards


def test_the_picture_covers_every_card_and_family_in_words() -> None:
    """The picture is a table: a row a card, a cell a family, each with its words beside its colour."""
    page = _page()
    families = page.xpath(
        "//*[local-name()='svg'][@role='table'][1]/*[@role='row'][1]/*[@role='columnheader']"
    )
    rows = page.xpath("//*[@role='row'][@data-c]")
    assert len(rows) == 4
    for row in rows:
        titles = row.xpath("./*[@role='cell']/*[local-name()='title']/text()")
        assert len(titles) == len(families) - 1
    worst = next(row for row in rows if "south-pdu-01" in _words(row))
    assert "services: critical, 1 finding in 1 result" in _words(worst)


def test_undecided_results_say_what_to_capture() -> None:
    """A setting that nobody captured is named, with the card that lacks it."""
    undecided = _section("undecided")
    assert "/log/capacity_events" in undecided
    assert "spare-7" in undecided


def test_controls_count_the_results_of_their_rules() -> None:
    """A control adds up its rules; one that no rule in force serves is left out."""
    controls = _section("controls")
    assert "CM-1 Least functions" in controls
    assert "Telnet is enabled (1)" in controls
    assert "AC-1 Access is limited" in controls
    assert "ZZ-9" not in controls


def test_tailoring_is_told() -> None:
    """Changed parameters stand beside the ruleset's value, rules set aside beside their reason."""
    tailored = _section("tailored")
    assert "session_timeout_maximum_s 600 s 900 s" in tailored
    assert "The USB port takes anything usb-open" in tailored
    assert "the key book is with the guard" in tailored
    assert "lab CDP:L/AR:L" in tailored


def test_an_untailored_run_says_so() -> None:
    """Without a site's file there is nothing tailored, and the page says that."""
    text = _render(make_run(site=""), [good_card()])
    assert "Nothing: parameters, rules and what a load adds are as the rulesets" in _section("tailored", text)


def test_unusable_records_show_every_fault() -> None:
    """Each fault has its file, place, problem and remedy."""
    unusable = _section("unusable")
    for fault in FAULTS:
        assert fault.file in unusable
        assert fault.problem in unusable
        assert fault.remedy in unusable


def test_another_model_stands_beside_the_flat_one() -> None:
    """Where another scoring model was asked for, each card shows it, and the page names it."""
    text = _render(make_run(model=Model.ABSOLUTE), [good_card(), poor_card()])
    assert "Model absolute" in _section("cards", text)
    assert "the absolute model was asked for too" in _section("tailored", text)


def test_a_large_estate_says_what_is_not_shown_and_still_sums_all() -> None:
    """Where only the worst are shown in full, the page says so, and its sites cover every card."""
    run = make_run()
    other = poor_card()
    other["card"]["id"] = "north-ups-03"
    found = assess_cards(run, [good_card(), poor_card(), worst_card(), other])
    text = _written(run, _sums(run, found, hold_at=Band.HIGH, detailed=2))
    verdict, picture = _section("verdict", text), _section("picture", text)
    assert "This estate has 4 cards. The 2 worst cards are shown in full" in verdict
    assert all(output in verdict for output in ("json", "ndjson", "csv"))
    assert "Every site, all cards pooled" in picture
    assert all(site in picture for site in ("North", "South"))
    assert "Only on cards that are not shown in full" in _section("findings", text)
    assert "Telnet is enabled telnet-enabled services 1 card" in _section("findings", text)


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_hostile_text_is_inert(payload: str) -> None:
    """Markup, template signs, controls and marks of direction in every text of a record do nothing."""
    run = make_run()
    text = render(make_html, run, assess_hostile(run, payload), faults=()).decode("utf-8")
    page = _page(text)
    assert (len(page.xpath("//script")), len(page.xpath("//style"))) == (1, 1)
    assert page.xpath("//img | //b/script | //@onerror | //@src | //a[not(starts-with(@href, '#'))]") == []
    assert not re.search(_ACTING, text)
    assert plain(payload[:128]) in "".join(page.get_element_by_id("cards").itertext())
    assert SECRET not in text


def test_hostile_text_of_a_site_is_inert() -> None:
    """What a site writes in its own file is no more trusted than a record."""
    site = '[site]\noperator = "<b>&\\u202E{{ 7*7 }}</b>"\n[deselect]\nusb-open = "<i onclick=x>"\n'
    text = _render(make_run(site=site), [good_card()])
    page = _page(text)
    assert _words(page.xpath("//h1")[0]) == "<b>&[U+202E]{{ 7*7 }}</b>"
    assert page.xpath("//h1/* | //@onclick") == []
    assert not re.search(_ACTING, text)


def test_no_secret_is_on_the_page() -> None:
    """A clear secret of a record appears nowhere."""
    assert SECRET not in _text()


def test_equal_estates_give_equal_pages() -> None:
    """The page depends on nothing but run and sums."""
    assert render_estate(make_html) == render_estate(make_html)


def _tokens(theme: str) -> dict[str, str]:
    """Return the colours of a theme; what it does not set is as in the light one."""
    roots = re.findall(r":root \{(.*?)\}", asset("style.css"), re.DOTALL)
    light, dark, paper = (dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})", root)) for root in roots)
    return light | {"light": {}, "dark": dark, "print": paper}[theme]


def _contrast(one: str, other: str) -> float:
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
def test_text_has_the_contrast_of_level_aa(theme: str) -> None:
    """Every colour of text on every ground that it may stand on: at least 4.5 to 1.

    Source: WCAG 2.2, success criterion 1.4.3 and the definition of relative luminance.
    """
    colour = _tokens(theme)
    pairs = [*itertools.product(("ink", "quiet", "link", "care"), ("paper", "sheet", "wash"))]
    pairs += [("pass-ink", "pass"), ("top-ink", "top"), ("top-quiet", "top"), ("ink", "pass")]
    weak = [pair for pair in pairs if _contrast(colour[pair[0]], colour[pair[1]]) < 4.5]
    signs = ("critical", "high", "medium", "low", "unknown")
    assert weak == []
    assert [sign for sign in signs if _contrast("#000", colour[sign]) < 4.5] == []


def test_severities_have_the_colours_of_the_palette() -> None:
    """The colours are those of the palette that people with any colour vision can tell apart.

    Source: M. Okabe, K. Ito, Color Universal Design (2008), colour-blind barrier-free set
    (values from memory).
    """
    palette = {"#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7", "#000000"}
    light = _tokens("light")
    shown = [light[name] for name in ("critical", "high", "medium", "low", "unknown", "good", "focus")]
    assert set(shown) <= palette
    assert len(set(shown)) == len(shown)


def test_a_single_card_shows_its_ways_right_after_the_verdict() -> None:
    """The picture comes first, the table of every way beside it; no card below repeats them."""
    page = _page(_render(make_run(), [reach_card()]))
    assert page.xpath("//main/section/@id")[:3] == ["verdict", "reach", "first"]
    (section,) = page.xpath("//section[@id='reach']")
    assert len(section.xpath(".//figure//*[name()='svg']")) == 1
    assert len(page.xpath("//table[@class='waylist']")) == 1
    assert "One change closes" in _words(section)


def test_every_card_of_an_estate_has_its_ways() -> None:
    """A picture and a table a card, each way a row, told by the words of every other format."""
    run = make_run()
    cards = [reach_card(), good_card(), bare_card()]
    page = _page(_render(run, cards))
    by_name = {
        sheet.xpath(".//h3")[0].text: sheet for sheet in page.xpath("//details[starts-with(@id, 'c')]")
    }
    for assessment in assess_cards(run, cards):
        sheet = by_name[assessment.card.id]
        rows = sheet.xpath(".//table[@class='waylist']/tbody/tr")
        assert len(rows) == len(reach_in(assessment).ways)
        assert len(sheet.xpath(".//figure[contains(@class, 'ways')]")) == 1


def test_the_picture_of_ways_has_words_for_those_who_can_not_see_it() -> None:
    """It is one image with a title and a description, and says where the whole is as text."""
    page = _page(_render(make_run(), [reach_card()]))
    (picture,) = page.xpath("//figure[contains(@class, 'ways')]//*[name()='svg']")
    title, description = (page.get_element_by_id(name) for name in picture.get("aria-labelledby").split())
    assert (picture.get("role"), _words(title)) == ("img", "Ways to switch the load off: north-ups-03")
    assert _words(description).endswith("The table that follows lists every way.")


def test_ways_tell_no_from_not_known() -> None:
    """The three truths are three words; not known is set apart."""
    page = _page(_render(make_run(), [reach_card()]))
    told = {_words(cell) for cell in page.xpath("//table[@class='waylist']/tbody/tr/td[position() > 2]")}
    assert told == {"yes", "no", "not known"}
    assert {_words(cell) for cell in page.xpath("//table[@class='waylist']//td/i")} == {"not known"}


def test_an_estate_shows_first_who_can_switch() -> None:
    """Cards by their easiest way, the easiest cards with links, and the change that closes most."""
    run = make_run()
    cards = [reach_card(), good_card(), bare_card()]
    page = _page(_render(run, cards))
    (section,) = page.xpath("//section[@id='reach']")
    reach = sum_up(run, assess_cards(run, cards)).reach
    assert reach is not None
    rows = {_words(row[0]): _words(row[1]) for row in section.xpath(".//table[@class='byeasiest']/tbody/tr")}
    assert rows == {"no proof": str(reach.open), "none is sure, but some may": str(reach.unsure)}
    assert section.xpath(".//table[@class='easiest']//a")[0].text == "north-ups-03"
    changes = section.xpath(".//table[@class='changes']/tbody/tr/th/code")
    assert changes[0].text == reach.changes[0].pointer


def test_a_summary_without_reach_shows_none_of_it() -> None:
    """Where nobody worked out the ways, the page does not say that there are none."""
    run = make_run()
    sums = EstateSums(run.program, Band.HIGH)
    for assessment in estate(run):
        sums.add(assessment)
    page = _page(_written(run, sums.summary()))
    assert page.xpath("//section[@id='reach'] | //figure[contains(@class, 'ways')]") == []
    assert "no way in" not in _words(page.get_element_by_id("main"))

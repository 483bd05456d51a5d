"""The template's surroundings: text is made inert on its way out, and what the template may call."""

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup

from auditor.report import address_view, deviation_view, reach_estate, reach_view, times_view, way_words
from auditor.report.caution import CAUTIONS
from auditor.report.evidence_text import observed_text, with_expected
from auditor.report.figures import one_line
from auditor.report.html import picture, way_picture, wording
from auditor.report.html.asset import asset
from auditor.report.plain import plain
from auditor.report.reuse_view import INTRODUCTION, TITLE
from auditor.report.tailored import value_text
from auditor.report.writer import TOOL
from auditor.rules.result import Outcome
from auditor.scoring.assessment import weight_of
from auditor.scoring.ccss import base_score
from auditor.scoring.xccdf import Model

# Grouping of the sums, caption of its table, name of its first column, name of the unnamed group.
_GROUPINGS = (
    ("site", "By site", "Site", "site not known"),
    ("kind", "By kind of equipment", "Equipment", "kind not known"),
    ("feeds", "By what the equipment feeds", "Feeds", "load not known"),
)


def page_template(text: str) -> Template:
    """Return the compiled template of the page.

    Every text that it puts out is first made visible (``plain``), then escaped.
    """
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, finalize=_inert, trim_blocks=True, lstrip_blocks=True,
        loader=FunctionLoader(asset),
    )  # fmt: skip
    for word in (
        one_line, value_text, wording.exact, wording.moment, wording.percent, wording.points,
        wording.sentence, wording.sources, wording.tenths, wording.thousands, wording.without_parameter,
    ):  # fmt: skip
        environment.filters[word.__name__] = word
    environment.globals.update(
        tool=TOOL, groupings=_GROUPINGS, outcomes=Outcome, models=Model,
        picture=picture, signs=picture.SIGNS, stripe=picture.stripe,
        cautions=CAUTIONS, count=wording.count, weight_of=weight_of, base_score=base_score,
        shared_title=TITLE, shared_introduction=INTRODUCTION,
        addresses_title=address_view.TITLE, addresses_introduction=address_view.INTRODUCTION,
        times_title=times_view.TITLE, times_of=times_view.times_of,
        order_title=times_view.ORDER_TITLE, order_introduction=times_view.ORDER_INTRODUCTION,
        deviation_title=deviation_view.TITLE, deviation_introduction=deviation_view.INTRODUCTION,
        reach_title=reach_view.TITLE, none_easier=reach_view.NONE_EASIER, reach_of=reach_view.reach_of,
        reach_estate_title=reach_estate.TITLE, reach_places=reach_estate.PLACES,
        changes_title=reach_estate.CHANGES_TITLE, changes_note=reach_estate.CHANGES_NOTE,
        way_picture=way_picture.way_picture, geometry=way_picture, way_words=way_words,
        observed_text=observed_text, with_expected=with_expected,
        accepted_text=deviation_view.accepted_text, accepted_score_of=deviation_view.accepted_score_of,
    )  # fmt: skip
    return environment.from_string(text)


def _inert(value: object) -> object:
    return plain(value) if isinstance(value, str) and not isinstance(value, Markup) else value

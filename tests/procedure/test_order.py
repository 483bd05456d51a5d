"""What comes before what: the graph against its definition, pair by pair."""

from hypothesis import given
from hypothesis import strategies as st

from auditor.procedure.order import circular, graph_of
from auditor.procedure.step import Step
from auditor.rules.rule import Rule, Visit
from auditor.scoring.assessment import Finding
from auditor.scoring.band import Band
from auditor.scoring.ccss import base_score
from tests.rules.matrix import program

RULES = program({}).rules[:6]
WORDS = ("clock", "https", "ssh")
_VISITS = st.builds(
    Visit,
    after=st.lists(st.sampled_from([rule.id for rule in RULES]), max_size=2, unique=True).map(tuple),
    needs=st.lists(st.sampled_from(WORDS), max_size=2, unique=True).map(tuple),
    provides=st.lists(st.sampled_from(WORDS), max_size=2, unique=True).map(tuple),
    is_last=st.booleans(),
)


def _finding(rule: Rule) -> Finding:
    return Finding(rule, None, "", "", (), "", base_score(rule.vector), Band.LOW)  # type: ignore[arg-type]


@st.composite
def steps(draw: st.DrawFn) -> list[Step]:
    """Draw steps of some rules, some of them about members of one list."""
    return [
        Step(
            rule.id, rule.id, member, (_finding(rule),),
            visit=draw(_VISITS), is_ordered=draw(st.sampled_from([True, True, False])),
        )
        for rule in RULES
        for member in [draw(st.sampled_from([(), ("accounts", "0"), ("accounts", "1")]))]
    ]  # fmt: skip


def comes_before(one: Step, other: Step) -> bool:
    """Return whether a step comes before another, as the docstring of the graph defines it."""
    if one.id == other.id:
        return False
    members = one.member and other.member and one.member != other.member
    named = not members and bool(one.rule_ids & set(other.visit.after))
    ready = bool(set(one.visit.provides) & set(other.visit.needs))
    last = other.visit.is_last and not one.visit.is_last and one.is_ordered
    return named or ready or last or (one.is_ordered and not other.is_ordered)


@given(steps())
def test_the_graph_is_what_its_definition_says_of_each_pair(drawn: list[Step]) -> None:
    """It is made by index; this compares every step with every other."""
    before = graph_of(drawn).before
    assert {later.id: {one.id for one in drawn if comes_before(one, later)} for later in drawn} == before


@given(steps())
def test_a_circle_is_found_if_and_only_if_somebody_waits_for_himself(drawn: list[Step]) -> None:
    """Seen by following all that comes before each."""
    graph = graph_of(drawn)
    waiting_for_itself = {name for name in graph.steps if name in graph.all_before(name)}
    assert waiting_for_itself <= set(circular(graph))
    assert bool(waiting_for_itself) == bool(circular(graph))

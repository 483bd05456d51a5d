"""Facts on how much is known: of the results of other rules, not of the card."""

from auditor.facts.fact import Context, Settings, fact


@fact(
    reads=("/capture",),
    unit="%",
    source="coverage as defined in the README: decided results as a share of the applicable ones",
)
def coverage_percent(record: Settings, context: Context) -> float | None:  # noqa: ARG001 - one shape for facts
    """Share of the applicable results that are decided (pass or fail), 0 to 100."""
    return context.coverage_percent

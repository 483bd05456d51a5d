"""Options that several commands have, each said once; what is one command's own stands with it."""

from typing import Annotated, TypeAlias

import typer

_MOST_MINUTES = 10_000

Rulesets: TypeAlias = Annotated[
    list[str] | None,
    typer.Option("--ruleset", help="Ruleset: a shipped name, or a TOML file. Repeatable."),
]

Site: TypeAlias = Annotated[
    str | None, typer.Option("--site", help="The site's own choices (witnessmark.toml).")
]

Deviations: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--deviations", help="Deviations that somebody answers for (TOML). Else the file that the site names."
    ),
]

Findings: TypeAlias = Annotated[
    str | None,
    typer.Option("--findings", help="Result of an audit (JSON): mend only its findings.", metavar="RESULT"),
]

Window: TypeAlias = Annotated[
    int | None,
    typer.Option("--window", help="Minutes of one visit: more goes to later ones.", min=1, max=_MOST_MINUTES),
]

RestartMinutes: TypeAlias = Annotated[
    int,
    typer.Option("--restart-minutes", help="Minutes for which a restart blinds monitoring.", min=0, max=480),
]

OwnAddress: TypeAlias = Annotated[
    str, typer.Option("--from", help="Address that you work from: it stays let in.", metavar="ADDRESS")
]

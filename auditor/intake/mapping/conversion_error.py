"""Why a text of a source could not become a value."""


class ConversionError(ValueError):
    """A text could not be converted; ``why`` never holds the text."""

    def __init__(self, why: str) -> None:
        """Keep all arguments in ``args``."""
        super().__init__(why)
        self.why = why

"""What is said of a text that is no amount, and of anything else that is refused plainly."""


class PlainError(ValueError):
    """A refusal in one plain sentence, kept as template and values so that it can be translated."""

    def __init__(self, template: str, **values: str) -> None:
        self.template = template
        self.values = values
        super().__init__(template.format(**values))


class UnitError(PlainError):
    """A text that is not an amount, or not one of the kind that is needed."""

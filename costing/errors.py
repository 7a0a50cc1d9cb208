"""What can be wrong with a job, a rate card or a price."""


class CostError(ValueError):
    """A quantity, a rate or a price cannot be worked out.

    Parameters
    ----------
    text : str
        One English sentence: what is wrong, where, and what to do.
    field : str
        Dotted name of the value at fault, such as ``"profit.pct"``; empty if none.
    code : str
        Short fixed name of the fault, for pages that say it in another language.
    **parameters
        The numbers and names used in the sentence.
    """

    def __init__(self, text: str, *, field: str = "", code: str = "", **parameters: object) -> None:
        super().__init__(text)
        self.text = text
        self.field = field
        self.code = code
        self.parameters = parameters

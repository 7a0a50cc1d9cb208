"""What can be wrong with a job, a rate card or a price."""

from typing import Self


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

    def under(self, prefix: str) -> Self:
        """Return the same fault with its field placed under another, ``prefix.field``."""
        inner = f".{self.field}" if self.field else ""
        return type(self)(self.text, field=prefix + inner, code=self.code, **self.parameters)


class JobError(CostError):
    """A value of a job is missing, of the wrong kind or out of its range."""


class CurrencyError(CostError):
    """A currency code is not one that is in use."""


class PriceError(CostError):
    """No price can pay for fee, tax and profit together."""


class BillError(CostError):
    """The pieces and the terms given do not make a bill of materials."""


class StockCostError(CostError):
    """More is taken from stock than there is, or a lot is unknown."""


class PlanError(CostError):
    """Working hours, a step or the work together cannot be put into days."""

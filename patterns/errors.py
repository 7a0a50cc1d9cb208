"""What can be wrong with a foot, a style, a piece, a hide or a file of them."""


class PatternError(ValueError):
    """Something asked of the geometry core cannot be done.

    Parameters
    ----------
    text : str
        One English sentence: what is wrong, where, and what to do.
    field : str
        Dotted name of the value at fault, such as ``"measures.ball_girth"``; empty if none.
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


class FootError(PatternError):
    """A foot's measures or tracings are missing, out of range or contradict each other."""


class StyleError(PatternError):
    """A style is unknown, its file is faulty, or a parameter is out of its range."""


class OutlineError(PatternError):
    """An outline has too few points, crosses itself or is out of size."""


class HideError(PatternError):
    """A hide's outline or a defect cannot be used."""


class LayoutError(PatternError):
    """The pieces asked for cannot be laid out as asked."""


class FileError(PatternError):
    """A file does not follow the schema it should follow."""

"""The colours of the papers: black, two accent inks, greys, and pale grounds."""

from patterns.drawing.drawing import FillKind, Ink

Colour = tuple[float, float, float]  # red, green, blue from 0 to 1

# Two accent inks beside black, both well above 4.5:1 on white; faint is for rules alone.
INKS: dict[Ink, Colour] = {
    "ink": (0.08, 0.08, 0.08),
    "quiet": (0.38, 0.37, 0.35),
    "faint": (0.72, 0.69, 0.64),
    "accent": (0.478, 0.180, 0.133),
    "second": (0.141, 0.325, 0.278),
}
FILL_COLOURS: dict[FillKind, Colour] = {
    "hide": (0.965, 0.945, 0.910),
    "defect": (0.955, 0.890, 0.865),
    "piece": (1.0, 1.0, 1.0),
    "foot": (0.955, 0.945, 0.925),
    "bar": (0.141, 0.325, 0.278),
    "here": (0.78, 0.78, 0.76),
    "grade": (0.925, 0.905, 0.870),
    "sole": (0.80, 0.765, 0.71),
    "part": (1.0, 1.0, 1.0),
}


def web_colour(colour: Colour) -> str:
    """Return a colour as SVG writes it.

    >>> web_colour((1.0, 0.0, 0.2))
    '#ff0033'
    """
    return "#" + "".join(f"{round(255 * part):02x}" for part in colour)

"""From a stored foot to its last and its pieces, kept so that the same is never made twice."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from patterns import projection
from patterns.drafting import draft as surface
from patterns.exchange.pieces_file import document_from_pieces, pieces_from_document
from patterns.foot import Foot
from patterns.pieces.piece import PieceSet
from patterns.style import Style, load_style
from workshop import bridge
from workshop.kept_results import kept
from workshop.models import FootVersion, StyleVersion

PROJECTION = "projection"  # the method of styles drawn by hand's way; all others cut the surface


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be drafted: a foot, a style with its values, and the maker's corrections."""

    foot: Foot
    foot_document: Mapping[str, Any]
    style: Style
    values: Mapping[str, float | bool]
    corrections: Mapping[str, float]

    @property
    def engine(self) -> str:
        """Return the version of what will draw it."""
        return projection.ENGINE if self.style.method == PROJECTION else surface.ENGINE

    def source(self) -> dict[str, Any]:
        """Return everything the pieces follow from, as plain values."""
        return {
            "engine": self.engine,
            "style": self.style.name,
            "file": self.style.sha256,
            "values": dict(self.values),
            "foot": dict(self.foot_document),
            "corrections": dict(self.corrections),
        }


def asked_of(
    foot: FootVersion,
    style: StyleVersion,
    options: Mapping[str, str],
    corrections: Mapping[str, float],
) -> Asked:
    """Return what a choice of records asks for.

    Raises
    ------
    PatternError
        A value is out of its range, or the foot or the style cannot be used any more.
    """
    pattern = load_style(style.style.file_name)
    return Asked(
        foot=bridge.foot_from_version(foot),
        foot_document=bridge.foot_document(foot),
        style=pattern,
        values=pattern.values({**style.values, **options}),
        corrections=corrections,
    )


def drafted(asked: Asked) -> PieceSet:
    """Return the pieces, from their file or drafted now.

    Raises
    ------
    PatternError
        This foot and this style do not go together; the error names what to change.
    """
    document = kept("pieces", asked.source(), lambda: document_from_pieces(_draft(asked)))
    return pieces_from_document(document)


def _draft(asked: Asked) -> PieceSet:
    if asked.style.method == PROJECTION:
        return projection.draft_pieces(asked.foot, asked.style, asked.values)
    return surface.draft_pieces(
        asked.foot, asked.style, asked.values, corrections=asked.corrections
    )

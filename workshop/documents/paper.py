"""Pages of text as PDF: a template, our own fonts, nothing fetched from anywhere."""

from collections.abc import Mapping
from datetime import date
from functools import cache

import pydyf
from django.template.loader import render_to_string

from patterns.drawing.fonts import Face

FONT_ADDRESS = "workshop-font:"  # as data in the page they would be read anew for each paper
_FACES: tuple[tuple[Face, str, str, str], ...] = (
    ("sans", "Workshop Sans", "400", "normal"),
    ("bold", "Workshop Sans", "700", "normal"),
    ("italic", "Workshop Sans", "400", "italic"),
    ("serif", "Workshop Serif", "400", "normal"),
)


@cache
def font_css() -> str:
    """Return the rules that name our fonts to the page, each by an address of our own."""
    return "\n".join(
        f'@font-face {{ font-family: "{family}"; font-weight: {weight}; font-style: {style};'
        f' src: url({FONT_ADDRESS}{face}) format("truetype"); }}'
        for face, family, weight, style in _FACES
    )


def paper_pdf(
    template: str,
    context: Mapping[str, object],
    *,
    made_on: date,
    document_id: bytes | None = None,
) -> bytes:
    """Return the template's page as PDF, at true scale and reading our fonts and ``data:`` alone.

    Parameters
    ----------
    template : str
        Name of a template under templates/documents/.
    context : mapping
        What the template shows; escaped there.
    made_on : date
        Written into the file as its date.
    document_id : bytes, optional
        First part of the file's /ID; a hash of the contents if left out.
    """
    # Loaded here: it takes a second, which neither a page nor a command without papers should wait.
    from weasyprint import HTML
    from weasyprint.text.fonts import FontConfiguration

    from workshop.documents.own_fonts import OwnFonts

    html = render_to_string(
        template, {**context, "font_css": font_css(), "made_on_iso": made_on.isoformat()}
    )
    page = HTML(string=html, url_fetcher=OwnFonts(FONT_ADDRESS))
    result = page.write_pdf(
        font_config=FontConfiguration(),
        pdf_identifier=document_id or True,
        pdf_tags=True,  # headings, paragraphs and tables told apart for who listens
        finisher=_finish,
    )
    assert isinstance(result, bytes)
    return result


def _finish(document: object, pdf: pydyf.PDF) -> None:
    # /PrintScaling /None asks the print dialogue not to shrink the page (ISO 32000-1, table 150).
    pdf.catalog["ViewerPreferences"] = pydyf.Dictionary(
        {"PrintScaling": "/None", "DisplayDocTitle": "true"}
    )
